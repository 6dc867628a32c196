"""What is no file to read, and how large one may be."""

import os
from pathlib import Path

import pytest

from buildlint.files.disk import LARGEST
from buildlint.files.reader import read_file
from tests.files.reading import BUILD, placed, read_bytes


def unreadable(path: Path, root: Path | None = None) -> list[tuple[str, str]]:
    found = read_file(path, "build", "x", root)
    assert found.model is None
    assert found.data == b""
    return [(fault.rule, fault.message) for fault in found.faults]


def test_a_folder_a_missing_file_and_a_dangling_link(tmp_path: Path) -> None:
    folder = tmp_path / "x.build.toml"
    folder.mkdir()
    assert unreadable(folder) == [
        ("file/unreadable", "is a folder, though named like a build file")
    ]
    ((rule, message),) = unreadable(tmp_path / "y.build.toml")
    assert rule == "file/unreadable"
    assert message.startswith("cannot be read: ")
    link = tmp_path / "z.build.toml"
    link.symlink_to(tmp_path / "nothing")
    assert unreadable(link) == [("file/unreadable", "is a link to nothing")]
    loop = tmp_path / "l.build.toml"
    loop.symlink_to(loop)
    assert [rule for rule, _ in unreadable(loop, tmp_path)] == ["file/unreadable"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_named_pipe_is_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "x.build.toml"
    os.mkfifo(pipe)
    assert unreadable(pipe) == [
        ("file/unreadable", "is not a file, though named like a build file")
    ]


def test_a_link_out_of_the_root_is_not_read(tmp_path: Path) -> None:
    outside = tmp_path / "outside.build.toml"
    outside.write_text(BUILD)
    root = tmp_path / "root"
    root.mkdir()
    inside = root / "x.build.toml"
    inside.symlink_to(outside)
    assert unreadable(inside, root) == [
        ("file/unreadable", "is a link that leads out of the repository")
    ]
    assert read_file(inside, "build", "x").model is not None
    (root / "y.build.toml").write_text(BUILD)
    (root / "z.build.toml").symlink_to("y.build.toml")
    assert read_file(root / "z.build.toml", "build", "z", root).model is not None


def test_a_file_of_a_million_bytes_is_read_and_a_larger_one_is_not(tmp_path: Path) -> None:
    filled = BUILD.encode() + b"#" * (LARGEST - len(BUILD))
    assert len(filled) == LARGEST == 1_000_000
    assert read_bytes(tmp_path, filled).faults == []
    found = read_bytes(tmp_path, filled + b"#")
    assert found.data == b""
    assert placed(found) == [
        ("file/too-large", 1, 1, 1, "has 1,000,001 bytes; a file has at most 1,000,000")
    ]
