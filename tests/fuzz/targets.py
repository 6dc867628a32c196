"""What odd input is tried on, and what has to be so whatever the input.

A case is a little of everything: names with bytes. What it means, the target says.
"""

from __future__ import annotations

import contextlib
import datetime
import io
import json
import os
import random
import re
import shutil
import tempfile
import xml.etree.ElementTree as ET
import zlib
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import tomli

from buildlint.commands.cli import main
from buildlint.files.disk import LARGEST
from buildlint.files.fault import Fault
from buildlint.files.fields import Quantity
from buildlint.files.holes import PistonHoles
from buildlint.files.kind import Kind
from buildlint.files.names import kind_and_id
from buildlint.files.patterns import reading_pattern
from buildlint.files.places import Places
from buildlint.files.reader import read_file
from buildlint.files.readings import Mistake, read, written
from buildlint.files.units import DIMENSIONS
from buildlint.judging.finding import Finding
from buildlint.judging.inspection import MANY, Inspection
from buildlint.judging.inspector import inspect_team
from buildlint.judging.rulebook import load_rulebook
from buildlint.judging.rules_in_force import rules_in_force
from buildlint.reports.json import inspection_json, rules_json
from buildlint.reports.junit import inspection_junit
from buildlint.reports.lines import inspection_lines
from buildlint.reports.sarif import inspection_sarif
from buildlint.reports.tables import rule_text, rulebook_text
from buildlint.reports.text import inspection_text
from buildlint.team.references import references
from buildlint.text.errors import BuildlintError, RulebookError, SettingsError
from tests.bench.season import season
from tests.fuzz.mutations import mutated, odd_bytes
from tests.fuzz.odd_readings import odd_reading, spoilt

__all__ = ["TARGETS", "Broken", "Case", "Target", "packed", "unpacked"]

Case = Mapping[str, bytes]

_ROOT = Path(__file__).resolve().parents[2]
_EXAMPLES = _ROOT / "examples"
_DAY = datetime.date(2027, 6, 5)
_LONGEST_MESSAGE = 1_500


class Broken(AssertionError):  # noqa: N818 - what was promised, not the program
    """Something that has to be so is not so."""


def _must(so: object, what: str) -> None:
    if not so:
        raise Broken(what)


class Target:
    """One kind of input: how a case is made, and what is tried with it."""

    name = ""
    #: Names that a case cannot do without.
    needs: tuple[str, ...] = ()

    def make(self, chance: random.Random) -> Case:
        """Make a case."""
        raise NotImplementedError

    def attempt(self, case: Case) -> None:
        """Try a case; whatever this raises is a fault."""
        raise NotImplementedError

    def changed(self, chance: random.Random, case: Case) -> Case:
        """Change one part of a case as someone might who edits it."""
        name = chance.choice(list(case))
        if name in self.needs:
            return case
        text = case[name].decode("utf-8", "replace")
        return {**case, name: mutated(chance, text)}

    def corpus(self) -> Iterator[Case]:
        """Give a few cases to begin with, for a search led by what they reach."""
        for number in range(200):
            yield self.make(random.Random(number))

    def close(self) -> None:
        """Leave nothing behind."""


_NAME = re.compile(rb"^#### (.*)$\n?", re.MULTILINE)


def packed(case: Case) -> bytes:
    """Give a case as bytes, each name on a line of its own before what it stands for."""
    return b"".join(
        b"#### " + name.encode("utf-8", "surrogateescape") + b"\n" + data + b"\n"
        for name, data in case.items()
    )


def unpacked(data: bytes) -> Case:
    """Give the case that bytes stand for: any bytes stand for one.

    >>> unpacked(packed({"length": b"6.4 mm", "mass": b""}))
    {'length': b'6.4 mm', 'mass': b''}
    """
    parts = _NAME.split(data)[1:]
    return {
        name.decode("utf-8", "surrogateescape"): text.removesuffix(b"\n")
        for name, text in zip(parts[::2], parts[1::2], strict=True)
    }


# --- readings ------------------------------------------------------------------------------------

_KINDS: dict[str, Any] = {
    **{name: kind.__metadata__[0] for name, kind in vars(Quantity).items() if name[0] != "_"},
    "holes": PistonHoles.__metadata__[0],
}
_PATTERNS = cache(lambda dimension: re.compile(reading_pattern(dimension)))


@cache
def _file_rules() -> frozenset[str]:
    return frozenset(i for i in load_rulebook().rules if i.startswith("file/"))


class Readings(Target):
    """Any text as a reading of any dimension, and as any field that takes one."""

    name = "readings"

    def make(self, chance: random.Random) -> Case:
        """Make one reading, for a dimension or a field."""
        where = chance.choice(_PLACES)
        return {where: odd_reading(chance).encode("utf-8", "surrogatepass")}

    def changed(self, chance: random.Random, case: Case) -> Case:
        """Spoil a letter or two, or read the same text as something else."""
        where, data = chance.choice(list(case.items()))
        if chance.random() < 0.2:
            return {chance.choice(_PLACES): data}
        text = spoilt(chance, data.decode("utf-8", "surrogateescape"))
        return {where: text.encode("utf-8", "surrogatepass")}

    def attempt(self, case: Case) -> None:
        """Read it: a reading that makes sense, or a mistake that does."""
        for where, data in case.items():
            self._read(where, data.decode("utf-8", "surrogateescape"))

    def _read(self, where: str, text: str) -> None:
        kind = _KINDS.get(where)
        try:
            if kind is None:
                dimension = where if where in DIMENSIONS else "length"
                found = [read(text, dimension, (0.05, True), "1 x")]
            elif isinstance(kind, Kind):
                found = [kind.read(text)]
            else:
                found = [reading for _, reading in kind.read(text).groups]
        except Mistake as mistake:
            _must(mistake.rule in _file_rules(), f"no rule {mistake.rule}")
            _must(mistake.message.isprintable(), "a message that a terminal may obey")
            _must(len(mistake.message) < _LONGEST_MESSAGE, "a message without end")
            return
        for reading in found:
            _must(reading.low <= reading.value <= reading.high, f"out of its bounds: {reading}")
            _must(abs(reading.low) + abs(reading.high) < float("inf"), f"endless: {reading}")
        if kind is None:
            _must(_PATTERNS(dimension).search(text), "the schema's pattern refuses it")
            again = str(written(text))
            _must(str(written(again)) == again, f"reads back otherwise: {again}")


_PLACES = (*DIMENSIONS, *_KINDS)


# --- files ---------------------------------------------------------------------------------------


@cache
def _good_files() -> dict[str, list[str]]:
    """Good files by kind, and examples of mistakes among them."""
    found: dict[str, list[str]] = {"parts": [], "car": [], "event": [], "build": []}
    for path in sorted(_EXAMPLES.rglob("*.toml")):
        named = kind_and_id(path.name)
        if named is not None:
            found[named[0]].append(path.read_text(encoding="utf-8", errors="replace"))
    with tempfile.TemporaryDirectory() as folder:
        season(Path(folder), 3)
        for path in sorted(Path(folder).rglob("*.toml"))[:12]:
            named = kind_and_id(path.name)
            if named is not None:
                found[named[0]].append(path.read_text(encoding="utf-8"))
    return found


class Files(Target):
    """Any bytes, and TOML that is nearly right, as a file of any kind."""

    name = "files"

    def make(self, chance: random.Random) -> Case:
        """Make one file."""
        good = _good_files()
        kind = chance.choice(list(good))
        name = f"x.{kind}.toml"
        if chance.random() < 0.1:
            return {name: odd_bytes(chance)}
        others = good[chance.choice(list(good))]
        return {name: mutated(chance, chance.choice(good[kind]), others)}

    def attempt(self, case: Case) -> None:
        """Read it: every mistake has a rule, a message and a place in the file."""
        for name, data in case.items():
            kind, ident = kind_and_id(name) or ("build", "x")
            path = Path("/nowhere") / f"{ident}.{kind}.toml"
            found = read_file(path, kind, ident, held=data)
            _must(found.model is not None or found.faults, "neither read nor refused")
            list(references(found.model))
            _faults_make_sense(found.faults, data)
            if any(fault.rule == "file/too-large" for fault in found.faults):
                continue
            try:
                table = tomli.loads(data.decode("utf-8-sig"))
            except (ValueError, RecursionError):
                _must(found.faults, "no TOML, and nothing said of it")
                continue
            if table:
                held = read_file(path, kind, ident, held=table)
                told = [(f.rule, f.path) for f in held.faults]
                as_read = [(f.rule, f.path) for f in found.faults]
                _must(told == as_read, f"as a table it has other mistakes: {told} {as_read}")
                _must(all(map(_alike, held.faults, found.faults)), "told otherwise of a table")


def _alike(of_table: Fault, of_file: Fault) -> bool:
    """Say whether two mistakes are told alike, but for the keys in front of what has no lines."""
    return of_table.message.endswith(of_file.message.partition(": ")[2] or of_file.message)


def _faults_make_sense(faults: list[Fault], data: bytes) -> None:
    if not faults or len(data) > LARGEST:
        return  # what is too large is never looked into
    places = Places(data)
    ends = data.count(b"\n") + data.count(b"\r") + 1
    for fault in faults[:100]:
        _must(fault.rule in _file_rules(), f"no rule {fault.rule}")
        _must(fault.message.isprintable(), "a message that a terminal may obey")
        _must(len(fault.message) < _LONGEST_MESSAGE, "a message without end")
        place = fault.place or places.of_value(fault.path)
        _must(1 <= place.line <= ends, f"on no line of the file: {place}")
        _must(1 <= place.column <= place.end_column, f"no place on its line: {place}")
        places.line(place.line)


# --- repositories --------------------------------------------------------------------------------


class Repositories(Target):
    """A team's repository with a few of its files changed, gone, doubled or new."""

    name = "repositories"
    needs = ("repository",)

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        self.good = {base.name: _files_of(base) for base in _bases(self.folder)}

    def make(self, chance: random.Random) -> Case:
        """Make changes to one of the good repositories."""
        base = chance.choice(list(self.good))
        if chance.random() < 0.5:
            base = chance.choice(("saltmarsh", "season"))
        files = self.good[base]
        ours = [name for name in files if name != "buildlint.toml"]
        case = {"repository": base.encode()}
        for _ in range(chance.choice((1, 1, 1, 2, 3, 6))):
            name = chance.choice(ours)
            if chance.random() < 0.3:
                name = chance.choice([n for n in ours if n.endswith("parts.toml")])
            good = files[name].decode("utf-8", "replace")
            form = chance.randrange(20)
            if form == 0:
                case[f"- {name}"] = b""
                continue
            if form == 1:
                name = _other_name(chance, name)
            elif form == 2:
                good = files[chance.choice(ours)].decode("utf-8", "replace")
            elif form == 3:
                case[name] = odd_bytes(chance)
                continue
            case[name] = mutated(chance, good)
        if chance.random() < 0.1:
            good = files.get("buildlint.toml", b"").decode()
            case["buildlint.toml"] = mutated(chance, good or _SETTINGS)
        return case

    def attempt(self, case: Case) -> None:
        """Inspect it, and make every report of it."""
        base = case.get("repository", b"saltmarsh").decode("ascii", "replace")
        good = self.good.get(base, self.good["saltmarsh"])
        root = self.folder / (base if base in self.good else "saltmarsh")
        touched: list[Path] = []
        try:
            for name, data in case.items():
                gone = name.startswith("- ")
                path = _inside(root, name.removeprefix("- "))
                if name == "repository" or path is None:
                    continue
                if gone:
                    path.unlink(missing_ok=True)
                else:
                    try:
                        path.parent.mkdir(parents=True, exist_ok=True)
                        path.write_bytes(data)
                    except (OSError, ValueError):
                        continue  # no such name can be on this system
                touched.append(path)
            _inspected(root, zlib.crc32(packed(case)))
        finally:
            for path in touched:
                path.unlink(missing_ok=True)
            for path in touched:
                name = path.relative_to(root).as_posix()
                if name in good:
                    path.write_bytes(good[name])

    def close(self) -> None:
        """Leave nothing behind."""
        shutil.rmtree(self.folder, ignore_errors=True)


_FEW = 4


def _bases(folder: Path) -> Iterator[Path]:
    """Write the good repositories: one with few builds, one with many, and some with mistakes."""
    copied = shutil.copytree(
        _EXAMPLES / "saltmarsh", folder / "saltmarsh", ignore=shutil.ignore_patterns("*.json")
    )
    yield Path(copied)
    season(folder / "season", MANY + 3)
    builds = "".join(path.read_text() for path in (folder / "season").rglob("*.build.toml"))
    for path in (folder / "season").rglob("*.car.toml"):
        if f'car = "{path.name.partition(".")[0]}"' not in builds:
            path.unlink()
    yield folder / "season"
    for name in ("bad", "should"):
        files = sorted((_EXAMPLES / name).glob("*.toml"))
        some = [path for path in files if path.name.endswith(".build.toml")]
        for start in range(0, len(some), _FEW):
            base = folder / f"{name}-{start // _FEW}"
            base.mkdir()
            for path in files:
                if path not in some or path in some[start : start + _FEW]:
                    shutil.copy(path, base / path.name)
            yield base


def _files_of(base: Path) -> dict[str, bytes]:
    paths = sorted(path for path in base.rglob("*") if path.is_file())
    return {path.relative_to(base).as_posix(): path.read_bytes() for path in paths}


def _inside(root: Path, name: str) -> Path | None:
    """Give the path of a name below the root; None for one that leads elsewhere, or nowhere."""
    if not name or "\x00" in name or "\\" in name or name.startswith("/") or ".." in name:
        return None
    path = root / name
    return None if path.is_dir() else path


def _other_name(chance: random.Random, name: str) -> str:
    folder, _, last = name.rpartition("/")
    ident, _, ending = last.partition(".")
    kinds = ("parts.toml", "car.toml", "event.toml", "build.toml", "biuld.toml", "toml", ending)
    idents = (ident, f"{ident}-2", ident.upper(), "é", "a b", "\udcff", "x" * 200, ".x", "\x1b[1m")
    folders = (folder, "", "deep/er/still", "rules/pair", "\u202e")
    where = chance.choice(folders)
    new = f"{chance.choice(idents)}.{chance.choice(kinds)}"
    return f"{where}/{new}" if where else new


def _inspected(root: Path, turn: int) -> None:
    try:
        found = inspect_team(root, on=_DAY)
    except BuildlintError as error:
        for line in str(error).splitlines():
            _must(line.isprintable() and len(line) < 3_000, f"not fit to be shown: {line!r}")
        _commanded(root, turn, None)
        return
    _findings_make_sense(found)
    # two at a time, with the one a person reads: cures are looked for in each, and take their time
    forms = list(_REPORTS)
    for form in ("lines", forms[turn % 4], forms[(turn // 4) % 4]):
        _REPORTS[form](found, bool(turn & 64))
    # each of these takes as long as all the rest: now and then is enough
    if found.builds and turn % 2:
        _alone_as_among_others(found, turn // 2)
    if found.builds and turn % 5 == 0:
        _other_commands(root, found, turn // 5)
    if turn % 7 < 2:
        _commanded(root, turn // 7, found)


def _of_lines(report: str) -> None:
    for line in report.splitlines():
        _must(line.isprintable(), f"not fit to be shown: {line!r}")


def _as_json(found: Inspection, should_too: bool) -> None:
    told = json.loads(inspection_json(found), parse_constant=_no_constant)
    _must(len(told["findings"]) == len(found.findings), "json: other findings")


_REPORTS: dict[str, Callable[[Inspection, bool], object]] = {
    "text": lambda found, should_too: _of_lines(inspection_text(found, False, should_too)),
    "json": _as_json,
    "sarif": lambda found, _: json.loads(inspection_sarif(found), parse_constant=_no_constant),
    "junit": lambda found, should_too: ET.fromstring(inspection_junit(found, should_too)),
    "lines": lambda found, _: _of_lines(inspection_lines(found)),
}


def _no_constant(text: str) -> None:
    raise Broken(f"{text} is no number in JSON")


def _findings_make_sense(found: Inspection) -> None:
    for finding in found.findings:
        _must(finding.line >= 1, f"on no line: {finding}")
        _must(1 <= finding.column <= finding.end_column, f"no place on its line: {finding}")
        _must(finding.message.isprintable(), f"not fit to be shown: {finding.message!r}")
        _must(len(finding.message) < _LONGEST_MESSAGE, "a message without end")
    _must(found.counts.builds == len(found.builds), "builds are counted otherwise")


def _alone_as_among_others(found: Inspection, turn: int) -> None:
    """A build is told the same alone as among many."""
    build = found.builds[turn % len(found.builds)]
    alone = inspect_team(build.path, on=_DAY)
    same = [judged for judged in alone.builds if judged.path == build.path]
    _must(len(same) == 1, "alone it is not judged")
    one, other = ([_told(f) for f in b.findings] for b in (same[0], build))
    _must(one == other, f"alone {set(one) - set(other)}, among others {set(other) - set(one)}")
    _must(same[0].counts == build.counts, "alone it has other counts")


def _told(finding: Finding) -> tuple[Any, ...]:
    return (
        finding.rule,
        finding.verdict,
        finding.file,
        (finding.line, finding.column, finding.end_column),
        finding.subject,
        finding.condition,
        finding.message,
        finding.missing,
    )


def _other_commands(root: Path, found: Inspection, turn: int) -> None:
    one = found.builds[turn % len(found.builds)].path
    other = found.builds[turn // 7 % len(found.builds)].path
    form = ("text", "json")[turn // 3 % 2]
    events = [*sorted(root.rglob("*.event.toml")), root / "none.event.toml"]
    event = str(events[turn // 7 % len(events)])
    commands = [
        ["figures", str(one), "--as", form],
        ["labels", str(one), "--as", form],
        ["compare", str(one), str(other), "--as", form],
        ["adapt", str(one), event, "--as", form],
        ["prepare", event, "--as", form],
    ]
    if turn % 500 == 0:
        commands = [["sheet", str(one), "--on", _DAY.isoformat()]]
    code, report = _run(commands[turn // 11 % len(commands)])
    _must(code in (0, 1, 2), f"exit code {code}")
    if form == "json" and code < 2 and commands[0][0] != "sheet":
        json.loads(report, parse_constant=_no_constant)


def _commanded(root: Path, turn: int, found: Inspection | None) -> None:
    """The command agrees with what is found, in its exit code."""
    form = ("text", "lines", "json", "sarif", "junit")[turn % 5]
    code, _ = _run(["inspect", str(root), "--as", form, "--on", _DAY.isoformat()])
    due = 2 if found is None else 0 if found.passes() else 1
    _must(code == due, f"exit code {code}, not {due}")


def _run(arguments: list[str]) -> tuple[int, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(arguments)
    for line in err.getvalue().splitlines():
        _must(line.isprintable(), f"not fit to be shown: {line!r}")
    return code, out.getvalue()


# --- rules and settings --------------------------------------------------------------------------

_SETTINGS = """\
[change."pair/length"]
same_within = "0.5 mm"
level = "must"

[change."hold-back/by-body-length"]
leave_out = true

[change."bladder/into-cap-room"]
at_most = "95 %"

[change."oil/viscosity-range"]
between = ["50 cSt", "3000 cSt"]

[[concession]]
rule = "pair/length"
reason = "waits for new rod ends"
until = 2027-06-30
build = "heron-quarry"
where = "front"

[[concession]]
rule = "bench/steps"
reason = "none at hand"
until = 2027-01-30
"""


@cache
def _good_rules() -> list[str]:
    paths = [*(_ROOT / "rules").rglob("*.toml"), *(_EXAMPLES / "saltmarsh/rules").rglob("*.toml")]
    return [path.read_text(encoding="utf-8") for path in sorted(paths)]


class Rules(Target):
    """A team's own rules, and its settings, judging one build by them."""

    name = "rules"

    def __init__(self) -> None:
        self.root = Path(tempfile.mkdtemp())
        for path in sorted((_EXAMPLES / "saltmarsh").rglob("*.*.toml")):
            if ".build." not in path.name or path.name.startswith("heron-quarry"):
                shutil.copy(path, self.root / path.name)

    def make(self, chance: random.Random) -> Case:
        """Make a rule or two, or settings, or both."""
        case: dict[str, bytes] = {}
        form = chance.random()
        if form < 0.6:
            case["buildlint.toml"] = b""
            for number in range(chance.choice((1, 1, 2))):
                group = chance.choice(("spring", "own", "own/more", "file", "é", "\x1b[1m"))
                name = f"rules/{group if chance.random() < 0.2 else 'own'}/rule-{number}.toml"
                rules = _good_rules()
                case[name] = mutated(chance, chance.choice(rules), rules)
        if form > 0.5:
            case["buildlint.toml"] = mutated(chance, _SETTINGS, _good_rules())
        if chance.random() < 0.05:
            case[chance.choice(list(case))] = odd_bytes(chance)
        return case

    def attempt(self, case: Case) -> None:
        """Put them in force, every rule as a text, and judge a build; or hear what is wrong."""
        touched = []
        try:
            for name, data in {"buildlint.toml": b"", **case}.items():
                path = _inside(self.root, name)
                if path is None or ".toml" not in path.name:
                    continue
                try:
                    path.parent.mkdir(parents=True, exist_ok=True)
                    path.write_bytes(data)
                except (OSError, ValueError):
                    continue
                touched.append(path)
            self._in_force(zlib.crc32(packed(case)))
        finally:
            for path in touched:
                path.unlink(missing_ok=True)

    def _in_force(self, turn: int) -> None:
        try:
            force = rules_in_force(self.root)
        except (RulebookError, SettingsError) as error:
            _must(error.mistakes, "refused without a word")
            for line in error.mistakes:
                _must(line.isprintable() and len(line) < 3_000, f"not fit to be shown: {line!r}")
            _commanded(self.root, turn, None)
            return
        changes = list(force.changes)
        texts = [rule_text(rule, changes) for rule in force.book if rule.id.count("own")]
        for text in (rulebook_text(force.book, changes), *texts):
            _must(all(line.isprintable() for line in text.splitlines()), "not fit to be shown")
        json.loads(rules_json(list(force.book), changes), parse_constant=_no_constant)
        _inspected(self.root, turn)

    def close(self) -> None:
        """Leave nothing behind."""
        shutil.rmtree(self.root, ignore_errors=True)


TARGETS: dict[str, type[Target]] = {
    target.name: target for target in (Readings, Files, Rules, Repositories)
}
os.environ.setdefault("NO_COLOR", "1")
