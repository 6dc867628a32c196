"""Where a report goes: to standard output, or into a file, whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Any

import pytest

from buildlint.commands.output import deliver
from buildlint.text.errors import PathError

REPORT = "1 build judged ± nothing\n"


def left_behind(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_without_a_file_it_is_printed(capsys):
    deliver(REPORT, None)
    assert capsys.readouterr() == (REPORT, "")


def test_a_new_file_holds_it_whole_and_nothing_is_printed(tmp_path, capsys):
    deliver(REPORT, str(tmp_path / "report"))
    assert capsys.readouterr() == ("", "")
    assert (tmp_path / "report").read_text(encoding="utf-8") == REPORT
    assert left_behind(tmp_path) == ["report"]


def test_a_file_that_is_there_is_replaced_and_keeps_its_rights(tmp_path):
    target = tmp_path / "report"
    target.write_text("old " * 10_000, encoding="utf-8")
    target.chmod(0o640)
    deliver(REPORT, str(target))
    assert target.read_text(encoding="utf-8") == REPORT
    if os.name != "nt":
        assert stat.S_IMODE(target.stat().st_mode) == 0o640


@pytest.mark.parametrize("where", ["nowhere/report", "notes.txt/report", "folder"])
def test_where_nothing_can_be_written_nothing_is_left(tmp_path, where):
    (tmp_path / "notes.txt").write_text("kept", encoding="utf-8")
    (tmp_path / "folder").mkdir()
    before = left_behind(tmp_path)
    with pytest.raises(OSError) as caught:
        deliver(REPORT, str(tmp_path / where))
    # the name that was asked for, not that of something in between
    assert caught.value.filename == str(tmp_path / where)
    assert left_behind(tmp_path) == before
    assert left_behind(tmp_path / "folder") == []
    assert (tmp_path / "notes.txt").read_text(encoding="utf-8") == "kept"


@pytest.mark.skipif(
    os.name == "nt" or getattr(os, "geteuid", lambda: 0)() == 0, reason="needs rights to refuse"
)
def test_a_folder_without_leave_to_write_is_left_as_it_was(tmp_path):
    locked = tmp_path / "locked"
    locked.mkdir()
    locked.chmod(0o500)
    try:
        with pytest.raises(OSError):
            deliver(REPORT, str(locked / "report"))
        assert left_behind(locked) == []
    finally:
        locked.chmod(0o700)


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_disk_that_fails_half_way_keeps_the_old_file(tmp_path, step, monkeypatch):
    target = tmp_path / "report"
    target.write_text("old", encoding="utf-8")

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, step, full)
    with pytest.raises(OSError, match="No space left on device"):
        deliver(REPORT, str(target))
    assert target.read_text(encoding="utf-8") == "old"
    assert left_behind(tmp_path) == ["report"]


def test_an_interruption_half_way_keeps_the_old_file(tmp_path, monkeypatch):
    target = tmp_path / "report"
    target.write_text("old", encoding="utf-8")

    def stopped(*_: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        deliver(REPORT, str(target))
    assert target.read_text(encoding="utf-8") == "old"
    assert left_behind(tmp_path) == ["report"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes with a name")
def test_a_pipe_is_written_to_and_not_replaced_by_a_file(tmp_path):
    """Nor is a device: a report to the null device must leave it one."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        deliver(REPORT, str(pipe))
        assert pipe.is_fifo()
        assert os.read(reader, 100) == REPORT.encode()
    finally:
        os.close(reader)


@pytest.mark.skipif(os.name == "nt", reason="needs links")
def test_a_link_is_written_through(tmp_path):
    target, link = tmp_path / "report", tmp_path / "link"
    target.write_text("old", encoding="utf-8")
    link.symlink_to(target)
    deliver(REPORT, str(link))
    assert link.is_symlink()
    assert target.read_text(encoding="utf-8") == REPORT


@pytest.mark.skipif(os.name == "nt", reason="needs rights of a file")
@pytest.mark.parametrize(("mask", "rights"), [(0o022, 0o644), (0o077, 0o600)])
def test_a_new_file_may_be_read_by_others_as_the_mask_allows(tmp_path, mask, rights):
    before = os.umask(mask)
    try:
        deliver(REPORT, str(tmp_path / "report"))
        assert os.umask(mask) == mask
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "report").stat().st_mode) == rights


@pytest.mark.parametrize(
    "name",
    ["heron.car.toml", "x.bulid.toml", "buildlint.toml", "rules/one.toml", "rules/pair/one.toml"],
)
@pytest.mark.parametrize("there", [True, False])
def test_no_file_of_the_teams_is_written_over(tmp_path, name, there):
    target = tmp_path / name
    target.parent.mkdir(parents=True, exist_ok=True)
    if there:
        target.write_text("kept", encoding="utf-8")
    with pytest.raises(PathError, match=r"^-o .* would write over a file of the team's$"):
        deliver(REPORT, str(target))
    assert target.exists() == there
    assert not there or target.read_text(encoding="utf-8") == "kept"


@pytest.mark.skipif(os.name == "nt", reason="needs links")
def test_no_link_leads_to_a_file_of_the_teams(tmp_path):
    target, link = tmp_path / "heron.car.toml", tmp_path / "report"
    target.write_text("kept", encoding="utf-8")
    link.symlink_to(target)
    with pytest.raises(PathError):
        deliver(REPORT, str(link))
    assert target.read_text(encoding="utf-8") == "kept"


def test_a_report_beside_the_rules_is_no_rule(tmp_path):
    (tmp_path / "rules").mkdir()
    deliver(REPORT, str(tmp_path / "rules" / "report.txt"))
    assert left_behind(tmp_path / "rules") == ["report.txt"]


def test_the_name_of_a_file_cannot_steer_a_terminal(tmp_path):
    with pytest.raises(PathError) as caught:
        deliver(REPORT, str(tmp_path / "\x1b[31m.car.toml"))
    assert str(caught.value).isprintable()
