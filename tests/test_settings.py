"""A team's own settings: what cannot be followed is refused, never judged around."""

import re
from pathlib import Path

import pytest

from buildlint.cli import main
from buildlint.errors import SettingsError
from buildlint.settings import SETTINGS, check_settings


def refusal(root: Path) -> str:
    with pytest.raises(SettingsError) as caught:
        check_settings(root)
    message = str(caught.value)
    assert message.isprintable()
    return message.removeprefix(str(root)).lstrip("/\\")


@pytest.mark.parametrize("data", [b"", b"# a comment\n", b"\xef\xbb\xbf# marked\r\n"])
def test_settings_that_ask_for_nothing_are_followed(tmp_path: Path, data: bytes) -> None:
    (tmp_path / SETTINGS).write_bytes(data)
    check_settings(tmp_path)


def test_no_settings_are_needed(tmp_path: Path) -> None:
    check_settings(tmp_path)
    (tmp_path / SETTINGS).touch()
    check_settings(tmp_path)


def test_settings_that_are_no_plain_file_are_refused(tmp_path: Path) -> None:
    (tmp_path / SETTINGS).mkdir()
    assert refusal(tmp_path) == f"{SETTINGS}:1:1: is not a file that can be read"


@pytest.mark.parametrize("target", ["nothing", "buildlint.toml", "/dev/null"])
def test_settings_behind_a_link_to_no_file_are_refused(tmp_path: Path, target: str) -> None:
    (tmp_path / SETTINGS).symlink_to(target)
    assert refusal(tmp_path) == f"{SETTINGS}:1:1: is not a file that can be read"


def test_settings_outside_the_repository_are_not_read(tmp_path: Path) -> None:
    (tmp_path / "outside.toml").write_text("secret = = 1\n")
    root = tmp_path / "team"
    root.mkdir()
    (root / SETTINGS).symlink_to("../outside.toml")
    assert refusal(root) == f"{SETTINGS}:1:1: is a link that leads out of the repository"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[rules]\n", "rules: a team's own settings cannot be followed yet"),
        ("x = 1\n[[concession]]\n", "x, concession: a team's own settings cannot be followed yet"),
        ('"\\u001b[31m" = 1\n', "\\x1b[31m: a team's own settings cannot be followed yet"),
    ],
)
def test_settings_that_ask_for_something_are_refused_by_name(
    tmp_path: Path, text: str, message: str
) -> None:
    (tmp_path / SETTINGS).write_text(text)
    assert refusal(tmp_path) == f"{SETTINGS}:1:1: {message}"


def test_broken_settings_are_refused_with_their_place(tmp_path: Path) -> None:
    (tmp_path / SETTINGS).write_text("# one\nx = = 1\n")
    assert re.fullmatch(r"buildlint\.toml:2:5: .+", refusal(tmp_path))


@pytest.mark.parametrize("data", [b"\xff\xfe", b"x = '\xe9'"], ids=["utf16", "latin"])
def test_settings_that_are_no_text_are_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / SETTINGS).write_bytes(data)
    assert refusal(tmp_path).startswith(f"{SETTINGS}:1:1: is not UTF-8 text that can be read")


@pytest.mark.parametrize("data", [b"x = " + b"[" * 100_000, b"x = " + b"9" * 9_000])
def test_settings_that_no_one_would_write_are_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / SETTINGS).write_bytes(data)
    assert "nested too deeply, or holds a number too long" in refusal(tmp_path)


def test_large_settings_are_refused_by_their_size(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / SETTINGS
    path.write_bytes(b"#" * 1_000_000)
    check_settings(tmp_path)
    path.write_bytes(b"#" * 1_000_001)

    def never(self: Path) -> bytes:
        raise AssertionError(f"{self.name} was read")

    monkeypatch.setattr(Path, "read_bytes", never)
    assert refusal(tmp_path) == f"{SETTINGS}:1:1: is larger than 1,000,000 bytes"


def test_own_rules_are_refused(tmp_path: Path) -> None:
    (tmp_path / SETTINGS).touch()
    rules = tmp_path / "rules" / "deep"
    rules.mkdir(parents=True)
    (rules / "readme.md").touch()
    check_settings(tmp_path)
    (rules / "own.toml").touch()
    assert refusal(tmp_path) == "rules: a team's own rules cannot be followed yet"


def test_a_run_with_settings_that_cannot_be_followed_judges_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / SETTINGS).write_text("[rules]\n")
    (tmp_path / "x.build.toml").write_text("")
    assert main(["inspect", str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "rules: a team's own settings cannot be followed yet" in err
