"""What a stranger's files may not do: steer what shows a report, read or write elsewhere, hide."""

import json
import os
import re
import socket
import stat
import subprocess
import sys
import unicodedata
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from buildlint.commands.cli import main
from buildlint.judging.inspection import MANY
from buildlint.judging.inspector import inspect_team
from buildlint.judging.rulebook import shipped_rules
from buildlint.text.words import seen_from_here
from tests.making import Raw, build_path, repository, write

pytestmark = [
    pytest.mark.whole,
    pytest.mark.skipif(os.name == "nt", reason="no file can have such a name there"),
]

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command in this process; give its exit code, what it printed, what it said beside."""

    def command(*words: str) -> tuple[int, str, str]:
        capsys.readouterr()
        try:
            code = main(words)
        except SystemExit as ended:
            assert isinstance(ended.code, int)
            code = ended.code
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return command


# --- what steers a terminal, a build server or a browser -----------------------------------------

#: Escapes, C0, C1 and DEL; what turns the direction of writing; what takes no room; ends of lines;
#: commands to build servers at the start of a line and inside of one; markup and templates.
_TERMINAL = "\x1b[31m\x07\x08\x7f\x9b31m\x90\x9d0;t\x9c"
_DIRECTION = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c"
_NO_ROOM = "\u200b\u200c\u200d\u2060\ufeff\u00ad\u034f\u115f\u3164\uffa0\ufe0e\U000e0101\U000e0041"
_LINES = "\u2028::error::a\u2029::error::b\x85::error::c\x0b::error::d\x0c::error::e\r::error::f"
_SERVER = "\n::error file=x::g\n  ::add-mask::h ::set-output::i ##[error]j\n##vso[task.x a=b]k"
_MARKUP = (
    "</td></title></style><script>alert(1)</script><img src=x onerror=a>\"'&lt;{{7*7}}{%x%}]]>-->"
    "$x^{\\frac$"
)
HOSTILE = f"::error::start ##[group]{_TERMINAL}{_DIRECTION}{_NO_ROOM}{_LINES}{_SERVER}{_MARKUP}"

#: As much of it as fits into the name of a file, which has 255 bytes and no slash.
NAME = (
    "::error::n ##[g]##vso[t]\x1b[1m\x9b\x7f\u202e\u2066\u200e\u200b\u034f\u2028\u2029\x85\r"
    "\n::error::m <b onclick='a'>\"& $x^{\\frac$"
)

_SHOWS_NOTHING = re.compile("[\u034f\u115f\u1160\u3164\uffa0\ufe00-\ufe0f\U000e0000-\U000e0fff]")


def steers(text: str) -> list[str]:
    """Give whatever in a text would steer what shows it, line by line."""
    found = []
    for line in text.split("\n"):
        signs = [c for c in line if not c.isprintable() or unicodedata.category(c) in ("Cf", "Cc")]
        if (
            signs
            or _SHOWS_NOTHING.search(line)
            # servers look past blanks for the one, and anywhere for the others
            or line.lstrip().startswith("::")
            or "##[" in line
            or "##vso[" in line
        ):
            found.append(line)
    return found


def quoted(text: str) -> str:
    """Give a text as a basic string of TOML, in which everything has its escape."""
    return '"' + "".join(f"\\U{ord(c):08x}" for c in text) + '"'


_ALL, _ID = quoted(HOSTILE), quoted(NAME)

_DRAWERS = f"""\
[body.{_ID}]
bore = "16 mm"
stroke = "30 mm"
length = "52 mm"
note = {_ALL}
[shaft.{_ID}]
diameter = "3.5 mm"
coating = {_ALL}
[piston.{_ID}]
diameter = "15.9 mm"
thickness = "2.5 mm"
holes = "4 x 1.8 mm"
note = {_ALL}
[bladder.{_ID}]
into_body = "300 mm^3"
into_cap = "300 mm^3"
[oil.{_ID}]
viscosity = "450 cSt"
label = {_ALL}
[oil.plain]
blend = {{ {_ID} = "100 %" }}
[spring.{_ID}]
free_length = "70 mm"
"""
_END = f"piston = {_ID}\noil = {_ID}\nspring = {_ID}\nlabel = {quoted(NAME)}\nnote = {_ALL}\n"
_FITTED = f"{{ body = {_ID}, shaft = {_ID}, bladder = {_ID} }}"
_DAY = 'on = 2027-06-05\ntemperature = "20 degC"\naltitude = "5 m"'


def _own_rule(ask: str, only: str = "") -> str:
    texts = "\n".join(f"{key} = {_ALL}" for key in ("title", "source", "why", "cure", "caution"))
    return f'{texts}\nlevel = "must"\n{ask}\n{only}\n'


#: One repository with all of it at once, in every name, id, text, key and value.
FILES = {
    f"{NAME}.parts.toml": _DRAWERS,
    f"{NAME}.car.toml": f"name = {quoted(NAME)}\nclass = {quoted(NAME)}\nnote = {_ALL}\n"
    f"front = {_FITTED}\nrear = {_FITTED}\n",
    f"{NAME}.event.toml": f'name = {quoted(NAME)}\non = 2027-06-01\naltitude = "5 m"\n'
    f'coldest = "10 degC"\nhottest = "40 degC"\nnote = {_ALL}\n',
    f"other{NAME}.event.toml": f'name = {quoted(NAME)}\non = 2027-07-01\naltitude = "5 m"\n'
    f'coldest = "-5 degC"\nhottest = "60 degC"\n',
    f"{NAME}/{NAME}.build.toml": f"car = {_ID}\nevent = {_ID}\nnote = {_ALL}\n"
    f"[bench]\nby = {quoted(NAME)}\n{_DAY}\n"
    f'[front]\n{_END}left = {{ hold_back = "9 mm" }}\nright = {{ hold_back = "1 mm" }}\n'
    f'[rear]\n{_END}hold_back = "0 mm"\nleft = {{ oil = "plain" }}\n',
    # a file of mistakes
    f"bad{NAME}.build.toml": f"car = {quoted(NAME + 'x')}\nevent = {_ALL}\nstyle = {_ALL}\n"
    f"{_ALL} = 1\n[bench]\non = {_ALL}\ntemperature = {_ALL}\naltitude = {quoted('5 ' + HOSTILE)}\n"
    f"[front]\npiston = 5\noil = {_ALL}\nhold_back = {quoted('6 wt' + HOSTILE)}\ndone = [{_ALL}]\n"
    f"{quoted('hold_bakc' + NAME)} = 1\n[rear]\nblend = 1\n[{_ALL}.x]\n",
    # no TOML at all, on line after line
    f"broken{NAME}.car.toml": f"name = {HOSTILE}\nclass = {HOSTILE}\nnote = 5 ##[x]\u202e\n"
    f"::error::q\nfront = 2027-13-40 ##[y]\n'::error::r' = ::error::s\n[[::error::t]]\n",
    f"raw{NAME}.car.toml": "name = 'a'\n##[ = 'x'\nclass = [\n::error::u\n",
    f"{NAME}.bulid.toml": "",
    f"folder{NAME}.event.toml/x": "",
    f"rules/{'own'}/titles.toml": _own_rule('measure = "hold_back"\nat_most = "0.5 mm"'),
    "rules/own/words.toml": _own_rule('measure = "oil"\none_of = ["one", "other"]'),
    "buildlint.toml": f"""\
[change."bladder/into-cap-room"]
at_most = "90 %"
title = {quoted(HOSTILE[:150])}
source = {_ALL}
[change."record/after-event"]
leave_out = true
[[concession]]
rule = "bladder/into-body-room"
reason = {_ALL}
until = 9999-12-31
[[concession]]
rule = "pair/hold-back"
reason = {_ALL}
until = 2027-01-01
build = {_ID}
[[concession]]
rule = "pair/collar"
reason = {_ALL}
until = 9999-12-31
build = {quoted("no" + NAME[:190])}
""",
}


def hostile(folder: Path) -> Path:
    """Write the repository; give its one build that has no mistake."""
    for name, text in FILES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="")
    return folder / NAME / f"{NAME}.build.toml"


COMMANDS = [
    *(
        ["inspect", ".", "--should-too", "--on", "2027-06-05", "--as", form]
        for form in ("text", "lines", "json", "sarif", "junit")
    ),
    *(
        [command, build, "--as", form]
        for command in ("figures", "labels")
        for build in ("BUILD", f"bad{NAME}")
        for form in ("text", "json")
    ),
    *(["compare", f"bad{NAME}", "BUILD", "--as", form] for form in ("text", "json")),
    *(["adapt", "BUILD", f"other{NAME}", "--as", form] for form in ("text", "json")),
    ["adapt", f"bad{NAME}", f"other{NAME}"],
    ["adapt", "BUILD", HOSTILE],
    ["adapt", HOSTILE, f"other{NAME}"],
    ["adapt", "BUILD", f"other{NAME}", "-o", f"{NAME}.build.toml"],
    ["adapt", "BUILD", f"other{NAME}", "-o", f"{NAME}/none/x.build.toml"],
    *(
        ["rulebook", *rule, "--as", form]
        for rule in ([], ["own"], ["own/titles"], ["bladder/into-cap-room"], ["record/after-event"])
        for form in ("text", "json")
    ),
    ["sheet", "BUILD"],
    ["sheet", "BUILD", "--finished"],
    *(["prepare", f"{NAME}.event.toml", "--as", form] for form in ("text", "json", "html")),
    ["sheet", f"bad{NAME}"],
    ["inspect", HOSTILE],
    ["inspect", f"./{NAME}"],
    ["inspect", f"broken{NAME}.car.toml"],
    *(
        [command, HOSTILE]
        for command in ("figures", "labels", "sheet", "prepare", "rulebook", HOSTILE)
    ),
    ["compare", HOSTILE, "BUILD"],
    ["schema", HOSTILE],
    ["begin", f"./{NAME}.parts.toml"],
    ["inspect", "--on", HOSTILE],
    ["inspect", "--as", HOSTILE],
    ["inspect", f"--{HOSTILE}"],
    ["inspect", "-o", f"{NAME}.car.toml"],
    ["inspect", "-o", f"{NAME}/none/x"],
]


def _name_of(words: str | list[str]) -> str:
    """Give what a test is called: it too stands in a build server's log."""
    text = words if isinstance(words, str) else " ".join(words)
    return re.sub(r"[^a-z ./-]+", "_", text)[:60]


@pytest.fixture(scope="module")
def hostile_build(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return hostile(tmp_path_factory.mktemp("hostile"))


@pytest.fixture
def there(hostile_build: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Stand in the hostile repository; give its one build that has no mistake."""
    monkeypatch.chdir(hostile_build.parent.parent)
    return hostile_build


@pytest.mark.parametrize("words", COMMANDS, ids=_name_of)
def test_nothing_in_any_report_steers_what_shows_it(
    there: Path, run: Run, words: list[str]
) -> None:
    code, out, err = run(*(str(there) if word == "BUILD" else word for word in words))
    assert code in (0, 1, 2)
    assert out + err
    assert steers(out) == []
    assert steers(err) == []


#: Those whose report is JSON; a rule that is left out has none.
_JSON = [w for w in COMMANDS if w[-1] == "json" and "record/after-event" not in w]


@pytest.mark.parametrize("words", _JSON, ids=_name_of)
def test_json_is_ascii_and_says_the_text_as_it_stands(
    there: Path, run: Run, words: list[str]
) -> None:
    _, out, _ = run(*(str(there) if word == "BUILD" else word for word in words))
    assert out.isascii()
    found = json.loads(out)
    if words[0] == "figures":
        assert found["build"] in (NAME, f"bad{NAME}")


def test_every_hostile_text_of_the_rules_stands_in_the_text_report(there: Path, run: Run) -> None:
    # what is never shown would prove nothing
    _, out, _ = run("inspect", ".", "--on", "2027-06-05")
    out = " ".join(out.split())
    for said in (
        "own/titles",
        "own/words",
        "conceded",
        "until 9999-12-31",
        "is not read, because of its name",
    ):
        assert said in out
    assert out.count("alert(1)") > 5


@pytest.mark.parametrize("form", ["text", "lines", "json", "sarif", "junit"])
def test_nothing_steers_in_a_report_of_many_builds(tmp_path: Path, run: Run, form: str) -> None:
    root = repository(tmp_path)
    text = build_path(root).read_text(encoding="utf-8")
    for number in range(MANY):
        # the last one fails, the others are told in a line each
        last = number == MANY - 1
        path = root / f"{NAME}{number}.build.toml"
        path.write_text(text.replace("6.4 mm", "0 mm", 1) if last else text, encoding="utf-8")
    code, out, err = run("inspect", str(root), "--as", form)
    assert code == 1
    assert steers(out + err) == []
    assert form != "text" or f" and {MANY - 1} alike" in out


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes.update(name for name, _ in attrs)


@pytest.mark.parametrize("build", ["BUILD", f"bad{NAME}"], ids=["sound", "bad"])
def test_no_text_becomes_markup_in_a_sheet(there: Path, run: Run, build: str) -> None:
    _, out, _ = run("sheet", str(there) if build == "BUILD" else build)
    page = _Page()
    page.feed(out)
    assert "onclick=" in out
    assert ("{{7*7}}" in out) == (build == "BUILD")  # no template in a text is worked out
    assert not page.tags & {"script", "img", "iframe", "object", "embed", "base", "form"}
    assert not [name for name in page.attributes if name.startswith("on")]


def test_no_text_becomes_markup_in_a_page_to_prepare_by(there: Path, run: Run) -> None:
    _, out, _ = run("prepare", f"{NAME}.event.toml", "--as", "html")
    page = _Page()
    page.feed(out)
    assert "onclick=" in out
    assert not page.tags & {"script", "img", "iframe", "object", "embed", "base", "form"}
    assert not [name for name in page.attributes if name.startswith("on")]


def test_no_text_becomes_markup_in_xml(there: Path, run: Run) -> None:
    _, out, _ = run("inspect", ".", "--as", "junit")
    root = ElementTree.fromstring(out)
    known = {"testsuites", "testsuite", "testcase", "failure", "skipped", "system-out"}
    assert {element.tag for element in root.iter()} == known


@pytest.mark.parametrize(
    "settings",
    [
        f"{_ALL} = 1\n",
        f"[change.{_ALL}]\nleave_out = true\n",
        f'[change."pair/length"]\n{_ALL} = 1\nlevel = {_ALL}\nsame_within = {_ALL}\n',
        f'[change."pair/length"]\nbands = [{{ {_ALL} = 1 }}]\nby = {_ALL}\n',
        f"[change.plain.{_ALL}]\nleave_out = true\n",
        f"[change]\n{_ALL} = 1\n",
        f"[[concession]]\nrule = {_ALL}\nwhere = {_ALL}\n{_ALL} = 1\nuntil = {_ALL}\n",
        f'[[concession]]\nrule = {quoted(NAME)}\nreason = "x"\nuntil = 2027-01-01\n',
        f"leave_out = {HOSTILE}\n",
        "##[x]\n::error::q\n[##[x]]\n",
    ],
    ids=_name_of,
)
def test_nothing_in_settings_that_are_refused_steers_what_shows_it(
    tmp_path: Path, run: Run, settings: str
) -> None:
    write(tmp_path, {"a.build.toml": ""})
    (tmp_path / "buildlint.toml").write_text(settings, encoding="utf-8", newline="")
    code, out, err = run("inspect", str(tmp_path))
    assert (code, out) == (2, "")
    assert "buildlint.toml:" in err
    assert steers(err) == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("own/r", f"{_ALL} = 1\nlevel = {_ALL}\nmeasure = {_ALL}\nturn = [{_ALL}]\n"),
        ("own/r", f'measure = "oil"\none_of = [{_ALL}]\nonly = {{ class = {_ALL}, {_ALL} = 1 }}\n'),
        ("own/r", f'measure = "hold_back"\nat_most = {_ALL}\ntitle = 1\n'),
        ("own/r", f'measure = "hold_back"\nby = {_ALL}\nbands = [{{ {_ALL} = 1 }}]\n'),
        ("own/r", f"title = {HOSTILE}\n"),
        (f"own/{NAME}", _own_rule('measure = "hold_back"\nat_most = "1 mm"')),
        # what prints can steer a build server too
        ("own/##vso[x]y", _own_rule('measure = "hold_back"\nat_most = "1 mm"')),
        ("::error::x/y", _own_rule('measure = "hold_back"\nat_most = "1 mm"')),
        ("own/r", _own_rule('measure = "oil"\none_of = ["##vso[x]y"]')),
        ("own/r", _own_rule('measure = "oil"\none_of = ["a"]', 'only = { class = "a ::b" }')),
    ],
    ids=_name_of,
)
def test_nothing_in_a_rule_that_is_refused_steers_what_shows_it(
    tmp_path: Path, run: Run, name: str, text: str
) -> None:
    write(tmp_path, {"a.build.toml": "", "b/c": ""})
    path = tmp_path / "rules" / f"{name}.toml"
    path.parent.mkdir(parents=True)
    path.write_text(text, encoding="utf-8", newline="")
    code, out, err = run("inspect", str(tmp_path))
    assert (code, out) == (2, "")
    assert "rules/" in err
    assert steers(err) == []


# --- what is read --------------------------------------------------------------------------------

SECRET = "secret-of-the-machine"

#: Every name that something is read from.
READ = [
    "heron-quarry.build.toml",
    "heron.car.toml",
    "drawers.parts.toml",
    "quarry.event.toml",
    "buildlint.toml",
    "rules/own/rule.toml",
]


def _outside(folder: Path) -> Path:
    """Write a secret beside the repository, in a form that every kind of file would show."""
    secret = folder / "outside" / "secret.build.toml"
    secret.parent.mkdir()
    secret.write_text(f'{SECRET} = "{SECRET}"\nname = {SECRET}\n', encoding="utf-8")
    return secret


def _link(path: Path, to: str | Path) -> None:
    path.symlink_to(to)


def _chain(path: Path, to: Path) -> None:
    (path.parent / "second").symlink_to(to)
    (path.parent / "first").symlink_to("second")
    path.symlink_to("first")


def _loop(path: Path, to: Path) -> None:
    (path.parent / "again").symlink_to(path.name)
    path.symlink_to("again")


def _socket(path: Path, to: Path) -> None:
    # a socket's name has at most about a hundred characters
    here = Path.cwd()
    os.chdir(path.parent)
    with socket.socket(socket.AF_UNIX) as made:
        made.bind(path.name)
    os.chdir(here)


def _device(path: Path, to: Path) -> None:
    try:
        os.mknod(path, stat.S_IFCHR | 0o666, os.makedev(1, 5))  # nothing but zeros, without end
    except PermissionError:
        pytest.skip("only root makes devices")


#: What may stand in the place of a file.
IN_ITS_PLACE: dict[str, Callable[[Path, Path], None]] = {
    "a link": _link,
    "a link with ..": lambda path, to: _link(path, os.path.relpath(to, path.parent)),
    "a link through a folder that is one": lambda path, to: (
        _link(path.parent / "way", to.parent),
        _link(path, f"way/{to.name}"),
    )[0],
    "a chain of links": _chain,
    "a loop of links": _loop,
    "a link to itself": lambda path, to: _link(path, path.name),
    "a link to nothing": lambda path, to: _link(path, "nowhere"),
    "a link to a folder outside": lambda path, to: _link(path, to.parent),
    "a link to a device": lambda path, to: _link(path, "/dev/zero"),
    "a link to this process's input": lambda path, to: _link(path, "/proc/self/fd/0"),
    "a folder": lambda path, to: path.mkdir(),
    "a pipe": lambda path, to: os.mkfifo(path),
    "a socket": _socket,
    "a device": _device,
}


@pytest.mark.parametrize("put", IN_ITS_PLACE.values(), ids=IN_ITS_PLACE)
@pytest.mark.parametrize("name", READ)
def test_what_is_no_file_of_the_repository_is_refused_and_never_read(
    tmp_path: Path,
    run: Run,
    name: str,
    put: Callable[[Path, Path], None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    root = repository(tmp_path / "team")
    path = root / name
    path.unlink(missing_ok=True)
    path.parent.mkdir(parents=True, exist_ok=True)
    put(path, _outside(tmp_path))
    monkeypatch.chdir(root)
    itself = ["compare", "heron-quarry", "heron-quarry"]
    for words in (["inspect"], ["inspect", name], ["inspect", "--as", "json"], itself):
        code, out, err = run(*words)
        assert SECRET not in out + err
        assert code in (1, 2)
        assert Path(name).name in out + err


@pytest.mark.parametrize("to", ["absolute", "with .."])
def test_nothing_behind_a_folder_that_is_a_link_out_is_read(
    tmp_path: Path, run: Run, to: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = repository(tmp_path / "team")
    secret = _outside(tmp_path)
    (secret.parent / "drawers.parts.toml").write_text(f"{SECRET} = 1", encoding="utf-8")
    (root / "builds").symlink_to(secret.parent if to == "absolute" else "../outside")
    monkeypatch.chdir(root)
    given = "builds/secret.build.toml"
    for words in (
        ["inspect", given],
        ["inspect", "builds"],
        ["inspect", "builds/"],
        ["inspect", "builds/drawers.parts.toml"],
        *([command, given] for command in ("figures", "labels", "sheet")),
        ["compare", given, "heron-quarry"],
        ["compare", "heron-quarry", given],
    ):
        code, out, err = run(*words)
        assert SECRET not in out + err
        assert code in (1, 2)
        assert "out of the repository" in " ".join((out + err).split())
    code, out, err = run("inspect", ".")
    assert code == 0
    assert SECRET not in out + err


def test_a_folder_that_is_a_link_within_the_repository_may_be_given(
    tmp_path: Path, run: Run
) -> None:
    root = repository(tmp_path / "team")
    (root / "deep").mkdir()
    (root / "heron-quarry.build.toml").rename(root / "deep" / "heron-quarry.build.toml")
    (root / "way").symlink_to("deep")
    code, out, _ = run("figures", str(root / "way" / "heron-quarry.build.toml"))
    assert code == 1  # it is there by two names
    assert "hold_back" in out


def test_a_link_to_the_whole_disk_is_not_walked(
    tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = repository(tmp_path / "team")
    (root / "builds").symlink_to("/")
    allowed = (os.path.realpath(root), str(shipped_rules()))
    scandir = os.scandir

    def watched(path: str) -> object:
        assert os.path.realpath(path).startswith(allowed)
        return scandir(path)

    monkeypatch.setattr(os, "scandir", watched)
    code, _, err = run("inspect", str(root / "builds"))
    assert code == 2
    assert "leads out of the repository" in err
    assert run("inspect", str(root))[0] == 0


@pytest.mark.parametrize(
    "ident",
    [
        "../outside/secret",
        "../outside/secret.build.toml",
        "OUTSIDE/secret",
        "/etc/passwd",
        "..",
        ".",
        "/",
        "a/../heron",
        "./heron",
        "heron\0",
        "\0",
        "~/x",
        "$HOME",
        "*",
    ],
    ids=_name_of,
)
def test_an_id_leads_to_no_file(tmp_path: Path, run: Run, ident: str) -> None:
    secret = _outside(tmp_path)
    for kind in ("car", "event", "parts"):
        (secret.parent / f"secret.{kind}.toml").write_text(f"{SECRET} = 1", encoding="utf-8")
    given = Raw(quoted(ident.replace("OUTSIDE", str(secret.parent))))
    keys = ("car", "event", "front.oil", "rear.piston", "front.left.body")
    root = repository(tmp_path / "team", build=dict.fromkeys(keys, given))
    code, out, err = run("inspect", str(root), "--as", "lines")
    assert code == 1
    assert out.count("file/no-such-id") == len(keys)
    assert SECRET not in out + err.replace(str(secret.parent), "")


# --- what is hidden ------------------------------------------------------------------------------


def _pair(folder: Path, one: str, other: str) -> list[Path]:
    """Write two builds of these names; the test is skipped where the disk has room for one only."""
    root = repository(folder)
    text = build_path(root).read_text(encoding="utf-8")
    build_path(root).unlink()
    for number, name in enumerate((one, other)):
        path = root / f"{name}.build.toml"
        if path.exists():
            pytest.skip("this disk takes both names for one")
        path.parent.mkdir(exist_ok=True)
        # the second fails
        path.write_text(text.replace("6.4 mm", "0 mm", 1) if number else text, encoding="utf-8")
    return [root / f"{name}.build.toml" for name in (one, other)]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("heron", "Heron"),
        ("heron", "a/HERON"),
        ("h\u00e9ron", "he\u0301ron"),
        ("H\u00c9RON", "he\u0301ron"),
        ("stra\u00dfe", "STRASSE"),
    ],
    ids=_name_of,
)
def test_builds_that_some_disks_take_for_one_are_both_judged_and_told_of(
    tmp_path: Path, one: str, other: str
) -> None:
    paths = _pair(tmp_path, one, other)
    found = inspect_team(tmp_path)
    assert {build.path for build in found.builds} == set(paths)
    assert {f.build for f in found.findings if f.rule == "pair/hold-back"} == {
        other.removeprefix("a/")
    }
    twice = [f for f in found.in_files if f.rule == "file/id-twice"]
    assert [f.path for f in twice] == sorted(paths)
    assert all("many disks can hold only one of them" in f.message for f in twice)
    # asked for by either name, it is that one
    for path in paths:
        assert [b.path for b in inspect_team(path).builds] == [path]


@pytest.mark.parametrize(("one", "other"), [("heron", "her0n"), ("heron", "heron2"), ("a", "b")])
def test_other_names_that_look_alike_are_two(tmp_path: Path, one: str, other: str) -> None:
    _pair(tmp_path, one, other)
    assert inspect_team(tmp_path).in_files == []


def test_drawers_that_some_disks_take_for_one_are_told_of_and_those_in_two_folders_are_not(
    tmp_path: Path,
) -> None:
    root = repository(tmp_path)
    new = 'viscosity = "300 cSt"'
    drawers = {"Drawers.parts.toml": f"[oil.p]\n{new}", "b/Drawers.parts.toml": f"[oil.q]\n{new}"}
    write(root, drawers)
    if len(list(root.glob("*.parts.toml"))) == 1:
        pytest.skip("this disk takes both names for one")
    found = [(f.rule, f.file) for f in inspect_team(root).in_files]
    here = seen_from_here(root)
    assert found == [
        ("file/id-twice", f"{here}/Drawers.parts.toml"),
        ("file/id-twice", f"{here}/drawers.parts.toml"),
    ]


@pytest.mark.parametrize(
    ("spoilt", "name"),
    [
        ("broken", "broken.build.toml"),
        ("huge", "huge.build.toml"),
        ("not text", "not-text.build.toml"),
        ("a link out", "link.build.toml"),
        ("misnamed", "heron-quarry.bulid.toml"),
        ("the same id", "other/heron-quarry.build.toml"),
        ("the same id in capitals", "Heron-Quarry.build.toml"),
        ("nested", "nested.build.toml"),
        ("a folder", "folder.build.toml"),
    ],
    ids=_name_of,
)
def test_a_spoilt_file_hides_no_finding_of_another(tmp_path: Path, spoilt: str, name: str) -> None:
    root = repository(tmp_path, build={"front.left.hold_back": "0 mm"})
    before = [f for f in inspect_team(root).findings if f.build == "heron-quarry"]
    assert [f for f in before if f.verdict == "fails" and f.level == "must"]
    path = root / name
    path.parent.mkdir(exist_ok=True)
    if spoilt == "a link out":
        path.symlink_to("/etc/passwd")
    elif spoilt == "a folder":
        path.mkdir()
    else:
        sound = build_path(root).read_bytes()
        content = {
            "broken": b"= =\n[[[",
            "huge": b"#" * 1_000_001,
            "not text": b"\xff\xfe\x00",
            "nested": b"a = " + b"[" * 100_000,
        }
        path.write_bytes(content.get(spoilt, sound))
    found = inspect_team(root)
    after = [f for f in found.findings if f.build == "heron-quarry" and f.path == build_path(root)]
    assert [(f.rule, f.subject, f.verdict) for f in after] == [
        (f.rule, f.subject, f.verdict) for f in before if f.path == build_path(root)
    ]
    assert path in {f.path for f in found.in_files}


@pytest.mark.parametrize("put", ["settings", "not text", "a link out", "a pipe"])
def test_nobody_else_s_settings_for_drawing_are_read(tmp_path: Path, put: str) -> None:
    pytest.importorskip("matplotlib")
    root = repository(tmp_path / "team")
    path = root / "matplotlibrc"
    if put == "a link out":
        path.symlink_to(_outside(tmp_path))
    elif put == "a pipe":
        os.mkfifo(path)
    else:
        path.write_bytes(b"text.usetex: True\nsecret: 1\n" if put == "settings" else b"\xff\xfe")
    # in a process of its own: they are read when the library is loaded
    done = subprocess.run(
        [sys.executable, "-m", "buildlint", "sheet", "heron-quarry", "-o", "../sheet.html"],
        cwd=root,
        env={**os.environ, "PYTHONSAFEPATH": "1", "PYTHONPATH": str(Path(__file__).parents[1])},
        capture_output=True,
        timeout=30,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")
    assert SECRET.encode() not in (tmp_path / "sheet.html").read_bytes()


# --- what is written -----------------------------------------------------------------------------


def _state(folder: Path) -> dict[str, tuple[int, str | bytes]]:
    """Give everything below a folder, with the time at which it was last written."""

    def content(path: Path) -> str | bytes:
        if path.is_symlink():
            return str(path.readlink())
        return path.read_bytes() if path.is_file() else ""

    return {
        str(path): (path.lstat().st_mtime_ns, content(path))
        for path in [folder, *folder.rglob("*")]
    }


def _git(folder: Path, *words: str) -> None:
    said = ("-c", "user.name=a", "-c", "user.email=a@b", "-c", "commit.gpgsign=false")
    subprocess.run(["git", *said, *words], cwd=folder, check=True, capture_output=True)


@pytest.fixture
def committed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A team in a git repository, in which one stands."""
    for name in [n for n in os.environ if n.startswith(("GIT_", "PRE_COMMIT_"))]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    root = repository(tmp_path / "team")
    _git(root, "init", "-q", "-b", "main")
    _git(root, "add", ".")
    _git(root, "commit", "-q", "-m", "a start")
    monkeypatch.chdir(root)
    return root


@pytest.mark.parametrize(
    "words",
    [
        ["inspect"],
        ["inspect", "--named", "heron-quarry.build.toml"],
        ["inspect", "--as", "json"],
        ["inspect", "--as", "junit"],
        ["figures", "heron-quarry"],
        ["labels", "heron-quarry"],
        ["sheet", "heron-quarry"],
        ["rulebook"],
        ["schema", "build"],
        ["compare", "HEAD", "heron-quarry"],
    ],
    ids=_name_of,
)
def test_no_command_writes_anything(committed: Path, run: Run, words: list[str]) -> None:
    # git would note in its index that the files, written again, are the same
    for path in committed.glob("*.toml"):
        os.utime(path, (1e9, 1e9))
    before = _state(committed.parent)
    code, out, _ = run(*words)
    assert code == 0
    assert out
    assert _state(committed.parent) == before


@pytest.mark.parametrize("form", ["text", "json"])
def test_a_report_into_a_file_writes_that_file_only(committed: Path, run: Run, form: str) -> None:
    before = _state(committed)
    for number, words in enumerate((["inspect"], ["labels", "heron-quarry"])):
        assert run(*words, "--as", form, "-o", f"../report{number}") == (0, "", "")
    assert run("sheet", "heron-quarry", "-o", "../sheet") == (0, "", "")
    assert _state(committed) == before
    made = {path.name for path in committed.parent.iterdir()} - {committed.name}
    assert made == {"report0", "report1", "sheet"}


@pytest.mark.parametrize(
    ("command", "name"),
    [*((command, name) for command in ("inspect", "labels") for name in READ), ("sheet", READ[0])],
)
def test_no_report_is_written_over_a_file_of_the_teams_nor_through_a_link_to_one(
    committed: Path, run: Run, command: str, name: str
) -> None:
    (committed / name).parent.mkdir(parents=True, exist_ok=True)
    (committed / "report.html").symlink_to(name)
    words = [command] if command == "inspect" else [command, "heron-quarry"]
    before = _state(committed)
    for target in (name, "report.html", f"./x/../{name}", str(committed / name)):
        code, out, err = run(*words, "-o", target)
        assert (code, out) == (2, "")
        assert "would write over a file of the team's" in err
    assert _state(committed) == before


@pytest.mark.parametrize("name", ["Buildlint.TOML", "Rules/own/x.Toml", "HERON.CAR.TOML"])
def test_no_report_is_written_over_what_some_disks_take_for_a_file_of_the_teams(
    committed: Path, run: Run, name: str
) -> None:
    (committed / name).parent.mkdir(parents=True, exist_ok=True)
    before = _state(committed)
    code, _, err = run("inspect", "-o", name)
    assert code == 2
    assert "would write over a file of the team's" in err
    assert _state(committed) == before


@pytest.mark.parametrize("name", ["", "builds", "our.parts.toml", "cars", "buildlint.toml"])
def test_a_start_is_never_made_through_a_link(tmp_path: Path, run: Run, name: str) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    folder = tmp_path / "team"
    if name:
        folder.mkdir()
        (folder / name).symlink_to(elsewhere / ("new" if name.endswith(".toml") else ""))
    else:
        folder.symlink_to(tmp_path / "nowhere")
    before = _state(tmp_path)
    code, out, err = run("begin", str(folder))
    assert (code, out) == (2, "")
    assert "already" in err
    assert _state(tmp_path) == before


# --- what is eased -------------------------------------------------------------------------------

_MUST = "pair/hold-back"
_STRICT = """title = "The hold-back is short"
level = "must"
measure = "hold_back"
at_most = "5 mm"
source = "the team's own"
why = "It is so."
cure = "Mend it."
"""
FORMS = ("text", "lines", "json", "sarif", "junit")


@pytest.mark.parametrize("form", [*FORMS, "compare", "sheet"])
@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ("leave_out = true", "left out"),
        ('level = "should"', "a should, but it came as a must"),
        ('same_within = "8 mm"', "8 mm"),
        ('same_within = "8 mm"\ntitle = "As it came"\nsource = "as it came"', "8 mm"),
    ],
    ids=_name_of,
)
def test_a_must_that_is_off_or_eased_is_told_in_every_report(
    tmp_path: Path, run: Run, form: str, settings: str, said: str
) -> None:
    root = repository(tmp_path, build={"front.left.hold_back": "0 mm"})
    assert f"; rule {_MUST}\n" in run("inspect", str(root), "--as", "lines")[1]
    write(root, {"buildlint.toml": f'[change."{_MUST}"]\n{settings}\n'})
    build = str(build_path(root))
    others = {"compare": ["compare", build, build], "sheet": ["sheet", build]}
    _, out, _ = run(*others.get(form, ["inspect", str(root), "--as", form]))
    told = [line for line in " ".join(out.split()).split(_MUST)[1:] if said in line[:400]]
    assert told, out
    assert "buildlint.toml" in out


@pytest.mark.parametrize("form", FORMS)
def test_leave_for_everything_and_for_ever_is_told_at_every_finding(
    tmp_path: Path, run: Run, form: str
) -> None:
    root = repository(tmp_path, build={"front.left.hold_back": "0 mm"})
    rules = {
        f.rule for f in inspect_team(root).findings if f.verdict == "fails" and f.level == "must"
    }
    assert _MUST in rules
    leave = 'reason = "because I say so"\nuntil = 9999-12-31\n'
    leaves = "".join(f'[[concession]]\nrule = "{rule}"\n{leave}' for rule in sorted(rules))
    write(root, {"buildlint.toml": leaves})
    # SARIF has what fails alone, where nobody asks for all
    everything = ["--all"] if form == "sarif" else []
    code, out, _ = run("inspect", str(root), "--as", form, *everything)
    assert code == 0
    assert out.count("because I say so") >= len(rules)
    assert out.count("9999-12-31") >= len(rules)
    assert all(rule in out for rule in rules)


def _nested(root: Path, settings: str = "") -> Path:
    """Make a folder of the team's a team of its own, with all files in it."""
    inner = root / "season"
    repository(inner)
    (inner / "buildlint.toml").write_text(settings, encoding="utf-8")
    return inner


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("given", [".", "season", "season/heron-quarry.build.toml"])
def test_rules_that_a_folder_escapes_as_a_team_of_its_own_are_told(
    committed: Path, run: Run, form: str, given: str
) -> None:
    changed = (
        f'[change."{_MUST}"]\nsame_within = "0.5 mm"\n[change."oil/thins-away"]\nlevel = "must"\n'
    )
    write(committed, {"buildlint.toml": changed, "rules/own/short.toml": _STRICT})
    _nested(committed)
    _, out, _ = run("inspect", given, "--as", form)
    out = " ".join(out.split())
    assert "own/short" in out
    for said in (
        "left out (this folder is a team of its own, inside another one)",
        "a should, but the team around it has it as a must",
        "but the team around it has it with hold_back the same within 0.5 mm",
        "season/buildlint.toml",
    ):
        assert said in out, said


def test_a_folder_that_is_a_team_with_the_same_rules_is_told_of_no_difference(
    committed: Path,
) -> None:
    settings = f'[change."{_MUST}"]\nsame_within = "0.5 mm"\n'
    write(committed, {"buildlint.toml": settings, "rules/own/short.toml": _STRICT})
    inner = _nested(committed, settings)
    write(inner, {"buildlint.toml": settings, "rules/own/short.toml": _STRICT})
    assert [(c.rule, c.kind) for c in inspect_team(inner).changes] == [
        (_MUST, "changed"),
        ("own/short", "own"),
    ]
    # speaking of fewer dampers is a difference
    narrowed = f'{_STRICT}only = {{ end = "rear" }}\n'
    write(inner, {"buildlint.toml": settings, "rules/own/short.toml": narrowed})
    assert [c.what.split(" (")[0] for c in inspect_team(inner).changes if c.rule == "own/short"][
        1:
    ] == ["for other dampers only, but the team around it has it for all"]


def test_a_team_above_the_git_repository_is_none_of_ours(committed: Path) -> None:
    write(committed.parent, {"buildlint.toml": "broken", "rules/own/short.toml": _STRICT})
    assert inspect_team(committed).changes == []


def test_a_commit_that_makes_a_folder_a_team_of_its_own_judges_the_team_around_too(
    committed: Path, run: Run
) -> None:
    (committed / "drawers").mkdir()
    _git(committed, "mv", "drawers.parts.toml", "drawers/drawers.parts.toml")
    _git(committed, "commit", "-q", "-m", "drawers")
    (committed / "drawers" / "buildlint.toml").write_text("", encoding="utf-8")
    _git(committed, "add", ".")
    code, out, _ = run("inspect", "--as", "lines", "--named", "drawers/buildlint.toml")
    assert code == 1
    assert "heron-quarry.build.toml" in out
    assert "file/no-such-id" in out


# --- what git is asked ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "revision",
    [
        "-",
        "--",
        "--help",
        "--output=../written",
        "--upload-pack=touch ../written",
        "-c core.pager=touch",
        "--git-dir=/",
        "HEAD --all",
        "HEAD:drawers.parts.toml",
        "HEAD^{tree}",
        "HEAD..main",
        "^HEAD",
        ":/start\n",
        "@{-1}",
        "refs/../../outside",
        "$(touch ../written)",
        "; touch ../written",
        "\x1b[31m",
        "\udcff",
        "x" * 100_000,
        HOSTILE,
        "*",
        "...",
        "",
        " ",
    ],
    ids=_name_of,
)
def test_a_revision_names_a_commit_or_is_refused(committed: Path, run: Run, revision: str) -> None:
    before = _state(committed.parent)
    code, out, err = run("compare", "--", revision, "heron-quarry")
    assert (code, out) == (2, "")
    assert steers(err) == []
    assert _state(committed.parent) == before


@pytest.mark.parametrize("name", READ)
def test_a_link_in_a_revision_is_not_followed(
    tmp_path: Path, committed: Path, run: Run, name: str
) -> None:
    # a link's content in git is where it leads to: neither that nor what is there is read
    path = committed / name
    there = path.exists()
    was = path.read_bytes() if there else b""
    path.unlink(missing_ok=True)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.symlink_to(_outside(tmp_path))
    _git(committed, "add", ".")
    _git(committed, "commit", "-q", "-m", "a link")
    path.unlink()
    if there:
        path.write_bytes(was)
    code, out, err = run("compare", "HEAD", "heron-quarry")
    assert code in (0, 1, 2)
    assert SECRET not in out + err
    assert "outside" not in out + err


def test_another_repository_in_a_revision_is_not_looked_into(committed: Path, run: Run) -> None:
    head = subprocess.run(
        ["git", "rev-parse", "HEAD"], check=True, capture_output=True, text=True
    ).stdout.strip()
    for name in ("heron.car.toml", "cellar.parts.toml"):
        _git(committed, "rm", "-q", "--cached", "--ignore-unmatch", name)
        _git(committed, "update-index", "--add", "--cacheinfo", f"160000,{head},{name}")
    _git(committed, "commit", "-q", "-m", "repositories named like files")
    code, _, err = run("compare", "HEAD", "heron-quarry")
    assert code == 1
    assert 'there is no car "heron"' in err
    assert "cellar" not in err


# --- what is run ---------------------------------------------------------------------------------


@pytest.mark.parametrize("command", [["inspect", "."], ["sheet", "heron-quarry"]], ids=_name_of)
def test_no_program_among_a_team_s_files_is_run(tmp_path: Path, command: list[str]) -> None:
    root = repository(tmp_path / "team")
    ran = tmp_path / "ran"
    names = ("tomli", "tree_sitter", "jinja2", "matplotlib", "sitecustomize", "conftest", "setup")
    for folder in (root, root / "rules", root / "rules" / "own"):
        folder.mkdir(exist_ok=True)
        for name in names:
            text = f"open({str(ran)!r}, 'w').close()\n"
            (folder / f"{name}.py").write_text(text, encoding="utf-8")
    # as an installed command is started: by a file that stands elsewhere
    start = tmp_path / "buildlint-command"
    start.write_text("from buildlint.commands.cli import run\nrun()\n", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(start), *command],
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])},
        capture_output=True,
        timeout=30,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout
    assert not ran.exists()
