"""A team's repository: its root, its files in any folders, and what each id stands for."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Iterator, Mapping
from copy import copy
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from buildlint.files.fault import Fault
from buildlint.files.fields import Part
from buildlint.files.models import KINDS, Build, Car, Event
from buildlint.files.names import is_ours, kind_and_id, meant_name, meant_rule
from buildlint.files.oil_model import Oil
from buildlint.files.part_models import PART_KINDS, Bladder, Body, Parts, Piston, Shaft, Spring
from buildlint.files.paths import path_of
from buildlint.files.reader import FileRead, Held, read_file
from buildlint.files.settings import SETTINGS
from buildlint.files.tables import Table, whole_of
from buildlint.team.blends import blend_of_itself, rings
from buildlint.team.mistakes_in_files import MistakeInFile, mistakes_of
from buildlint.team.references import no_such, references
from buildlint.team.twice import (
    alike_on_some_disks,
    file_twice,
    one_file_on_some_disks,
    part_twice,
)
from buildlint.text.errors import PathError
from buildlint.text.words import clean, counted

__all__ = ["MistakeInFile", "Sourced", "Team"]

# For so many dead references of one file it is looked what was meant: no more mistakes of a file
# are told.
_MOST_HINTS = 100

_Three = tuple[float, float, float]
_Kind = TypeVar("_Kind", bound=Table)


class Sourced(NamedTuple):
    """A part with the file that it stands in."""

    table: Part
    file: FileRead


class Team:
    """What a repository holds. Files are read when they are first asked for, parts all at once.

    >>> from buildlint import load_team
    >>> team = load_team("examples/saltmarsh")
    >>> sorted(team.cars)
    ['curlew', 'dunlin', 'heron']
    """

    def __repr__(self) -> str:
        builds = sum(map(len, self._paths["build"].values()))
        return f"<Team at {clean(str(self.root))}, {counted(builds, 'build')}>"

    def __init__(
        self,
        root: Path,
        paths: Iterable[Path],
        held: Mapping[Path, Held] | None = None,
        *,
        on_disk: bool = True,
    ) -> None:
        """Take the files of these paths as the team's; sorted, so that their order is no matter.

        What is `held` in memory is taken in the place of the file of that path. A team that is not
        `on_disk` is as it was in a revision.
        """
        self.root = root
        self._on_disk = on_disk
        self._not_here: list[Path] | None = None
        self._held = held if held is not None else {}
        self._read: dict[Path, FileRead] = {}
        self._paths: dict[str, dict[str, list[Path]]] = {kind: {} for kind in KINDS}
        self._in_order: dict[str, list[Path]] = {kind: [] for kind in self._paths}
        self._misnamed: set[Path] = set()
        for path in sorted(set(paths)):
            named = kind_and_id(path.name)
            if named is not None:
                self._paths[named[0]].setdefault(named[1], []).append(path)
                self._in_order[named[0]].append(path)
            else:
                self._misnamed.add(path)
        #: Files that lie beside these and do not count: git does not track them.
        self.not_added: list[Path] = []
        self._links: dict[str, bool] = {}
        self._alike: dict[str, dict[str, dict[str, Path]]] = {}
        self._parts: dict[str, dict[str, Sourced]] | None = None
        self._homes: dict[tuple[str, str], list[Path]] = {}
        self._no_such: dict[tuple[str, str, bool], str] = {}
        self._blended_of_themselves: set[str] = set()
        #: The rules in force for it, once they have been asked for.
        self.rules: Any = None
        #: What `assembly` has gathered of each part.
        self.drafts: dict[tuple[str, str], Any] = {}
        #: The parts files that cannot be read, known once the parts are; they may have any part.
        self.unread: set[Path] = set()
        #: The files that `selection` has found behind each car, event and part.
        self.behind: dict[tuple[str, str], set[Path]] = {}
        #: What `oils` has worked out of the blends of this team.
        self.oil_points: dict[str, tuple[_Three, _Three] | None] = {}
        #: The density and expansion of each oil, as far as `oils` has worked them out, by key.
        self.oil_means: dict[str, dict[str, _Three | None]] = {}

    # --- files -----------------------------------------------------------------------------------

    def paths(self, kind: str) -> list[Path]:
        """Return the paths of all files of a kind, sorted."""
        return list(self._in_order[kind])

    @property
    def misnamed(self) -> list[Path]:
        """The files that are ours and not named so, sorted, and the folders that are closed."""
        return sorted(filter(self.is_misnamed, self._misnamed))

    def is_misnamed(self, path: Path) -> bool:
        """Return whether a path is one of the misnamed."""
        if path not in self._misnamed:
            return False
        # capitals make no other file on many disks: there it is read all the same
        if is_ours(path.name):
            return meant_name(path.name) != SETTINGS or not _same(path, path.parent / SETTINGS)
        # what is no rule is a folder that is closed
        nearly_a_rule = meant_rule(path.relative_to(self.root)) is not None
        return self.meant_rule(path) is not None or not nearly_a_rule

    def meant_rule(self, path: Path) -> str | None:
        """Return where a rule's file nearly is, as seen from the root; None for others."""
        meant = meant_rule(path.relative_to(self.root)) if not is_ours(path.name) else None
        if meant is None or _same(path, self.root / meant):
            return None
        return meant.as_posix()

    def file(self, path: Path) -> FileRead:
        """Return a file as read, with the faults of what it refers to."""
        if path in self._read:
            return self._read[path]
        kind, ident = kind_and_id(path.name) or ("", "")
        if kind == "parts" and self._parts is None:
            self.parts()  # what is wrong between parts is found with all of them
            if path in self._read:
                return self._read[path]
        held = self._held.get(path)
        found = self._read[path] = read_file(path, kind, ident, self.root, held, self._links)
        found.faults.extend(self._same_on_some_disks(found))
        if kind != "parts":
            paths = self._paths[kind].get(ident, [])
            if len(paths) > 1:
                found.faults.append(file_twice(kind, ident, paths, path, self.relative))
            found.faults.extend(self._dead_references(found))
        return found

    def with_files(self, held: Mapping[str, Held | str]) -> Team:
        """Return the team with more files, which stand only in memory; this one stays as it is.

        Their paths are as seen from the root; one that exists is taken in the place of the file.
        Raises PathError for a name that is of no kind, or that leads out of the repository.
        """
        more: dict[Path, Held] = {}
        if not isinstance(held, Mapping):
            raise TypeError("files in memory are a table: of each path what the file holds")
        for given, content in held.items():
            if not isinstance(content, (str, bytes, Mapping)):
                raise TypeError("a file in memory is a table, or the text of one")
            path_of(given)
            path = Path(os.path.normpath(self.root / given))
            if not path.is_relative_to(self.root) or kind_and_id(path.name) is None:
                raise PathError(f"{clean(given)} cannot be a file of this team")
            more[path] = content.encode() if isinstance(content, str) else content
        if all((kind_and_id(path.name) or ("",))[0] == "build" for path in more):
            return self._with_builds(more)
        every = [p for kind in self._paths for p in self.paths(kind)]
        every += [*self._misnamed, *more]
        return Team(self.root, every, {**self._held, **more}, on_disk=self._on_disk)

    def _with_builds(self, more: Mapping[Path, Held]) -> Team:
        """Return the team with more builds: nothing else stands on those, so all else is kept."""
        self.parts()
        made = copy(self)
        made._held = {**self._held, **more}
        made._read = {path: read for path, read in self._read.items() if path not in more}
        by_id = {ident: [*paths] for ident, paths in self._paths["build"].items()}
        for path in more:
            paths = by_id.setdefault((kind_and_id(path.name) or ("", ""))[1], [])
            paths[:] = sorted({*paths, path})
        made._paths = {**self._paths, "build": by_id}
        made._in_order = {**self._in_order, "build": sorted(p for ps in by_id.values() for p in ps)}
        made._alike = {}
        return made

    def forget(self, path: Path) -> None:
        """Let go of what was read of a file; it is read again if it is asked for."""
        self._read.pop(path, None)

    def by_id(self, kind: str) -> dict[str, Path]:
        """Return the ids of the cars, events or builds, each with its file."""
        return {ident: paths[0] for ident, paths in self._paths[kind].items()}

    def path_of(self, kind: str, ident: str | None) -> Path | None:
        """Return the file of a car, event or build, by its id."""
        paths = self._paths[kind].get(ident) if ident is not None else None
        return paths[0] if paths else None

    # --- whole models, by id ---------------------------------------------------------------------

    @property
    def cars(self) -> dict[str, Car]:
        """The cars, by id; those that have a mistake are left out (see `mistakes`)."""
        return self._whole("car", Car)

    @property
    def events(self) -> dict[str, Event]:
        """The events, by id."""
        return self._whole("event", Event)

    @property
    def builds(self) -> dict[str, Build]:
        """The builds, by id."""
        return self._whole("build", Build)

    @property
    def bodies(self) -> dict[str, Body]:
        """The bodies of the parts files, by id."""
        return self._whole_parts("body", Body)

    @property
    def shafts(self) -> dict[str, Shaft]:
        """The shafts, by id."""
        return self._whole_parts("shaft", Shaft)

    @property
    def pistons(self) -> dict[str, Piston]:
        """The pistons, by id."""
        return self._whole_parts("piston", Piston)

    @property
    def bladders(self) -> dict[str, Bladder]:
        """The bladders, by id."""
        return self._whole_parts("bladder", Bladder)

    @property
    def oils(self) -> dict[str, Oil]:
        """The oils, by id."""
        return self._whole_parts("oil", Oil)

    @property
    def springs(self) -> dict[str, Spring]:
        """The springs, by id."""
        return self._whole_parts("spring", Spring)

    @property
    def mistakes(self) -> list[MistakeInFile]:
        """Every mistake in the team's files, in their order."""
        files = (self.file(path) for paths in self._in_order.values() for path in paths)
        return [mistake for read in files for mistake in mistakes_of(read)]

    def _whole(self, kind: str, model: type[_Kind]) -> dict[str, _Kind]:
        found: dict[str, _Kind] = {}
        for ident, path in self.by_id(kind).items():
            table = self.file(path).model
            whole = whole_of(model, table) if isinstance(table, Table) else None
            if whole is not None:
                found[ident] = whole
        return found

    def _whole_parts(self, kind: str, model: type[_Kind]) -> dict[str, _Kind]:
        parts = self.parts()[kind]
        every = {ident: whole_of(model, part.table) for ident, part in parts.items()}
        return {ident: whole for ident, whole in every.items() if whole is not None}

    # --- what an id stands for -------------------------------------------------------------------

    def car_of(self, build: Build) -> tuple[Car | None, FileRead | None]:
        """Return the car that a build is for, with its file."""
        return self._named(build.car, "car", Car)

    def event_of(self, build: Build) -> tuple[Event | None, FileRead | None]:
        """Return the event that a build is for, with its file."""
        return self._named(build.event, "event", Event)

    def part(self, kind: str, ident: str | None) -> Sourced | None:
        """Return the part that an id stands for."""
        return self.parts()[kind].get(ident) if ident is not None else None

    def parts(self) -> dict[str, dict[str, Sourced]]:
        """Return all parts by kind and id; reads every parts file the first time."""
        if self._parts is None:
            self._parts = {kind: {} for kind in PART_KINDS}
            files = [self.file(path) for path in self.paths("parts")]
            for found in files:
                if not isinstance(found.model, Parts):
                    self.unread.add(found.path)
                    continue
                for kind in PART_KINDS:
                    for ident, table in getattr(found.model, kind).items():
                        self._add_part(kind, ident, Sourced(table, found))
            for (kind, ident), homes in self._homes.items():
                for path in homes if len(homes) > 1 else ():
                    fault = part_twice(kind, ident, homes, path, self.relative)
                    self._read[path].faults.append(fault)
            for found in files:
                found.faults.extend(self._dead_references(found))
            self._blends_of_themselves()
        return self._parts

    def _named(
        self, ident: str | None, kind: str, model: type[_Kind]
    ) -> tuple[_Kind | None, FileRead | None]:
        path = self.path_of(kind, ident)
        if path is None:
            return None, None
        found = self.file(path)
        return (found.model if isinstance(found.model, model) else None), found

    # --- faults between files --------------------------------------------------------------------

    def relative(self, path: Path) -> str:
        """Return a path as seen from the root, with forward slashes."""
        try:
            return path.relative_to(self.root).as_posix()
        except ValueError:
            return path.as_posix()

    def homes(self, kind: str, ident: str) -> list[Path]:
        """Return the files that hold a part: one, or every one where its id is used twice."""
        self.parts()
        return self._homes.get((kind, ident), [])

    def _add_part(self, kind: str, ident: str, part: Sourced) -> None:
        assert self._parts is not None
        self._homes.setdefault((kind, ident), []).append(part.file.path)
        self._parts[kind].setdefault(ident, part)

    def _same_on_some_disks(self, found: FileRead) -> Iterator[Fault]:
        kind = found.kind
        # parts files have no id: of these the path must be one file's only
        name_of = self.relative if kind == "parts" else lambda path: path.name
        if kind not in self._alike:
            self._alike[kind] = alike_on_some_disks(self._in_order[kind], name_of)
        paths = self._alike[kind].get(name_of(found.path))
        if paths is not None:
            yield one_file_on_some_disks(name_of(found.path), paths, self.relative)

    def _dead_references(self, found: FileRead) -> Iterator[Fault]:
        count = 0
        for kind, ident, keys in references(found.model):
            known: Collection[str]
            if kind in PART_KINDS:
                known = self.parts()[kind]
                if self.unread:
                    continue  # it may stand in the file that cannot be read
            else:
                known = self._paths[kind]
            if ident not in known:
                count += 1
                asked = (kind, ident, count <= _MOST_HINTS)
                if asked not in self._no_such:
                    # many files may mean one id that is not there
                    told = self._elsewhere(kind, ident) or no_such(kind, ident, known, asked[2])
                    self._no_such[asked] = told
                yield Fault("file/no-such-id", self._no_such[asked], keys)

    def _elsewhere(self, kind: str, ident: str) -> str | None:
        """Say which file may have what an id means that only git has, or only the disk."""
        from buildlint.team.index import elsewhere, not_checked_out

        if not self._on_disk:
            return None
        if self._not_here is None:
            self._not_here = not_checked_out(self.root)
        return elsewhere(kind, ident, self._not_here, self.not_added, self.relative)

    def _blends_of_themselves(self) -> None:
        oils = self.parts()["oil"]
        blends = {
            ident: [other for other in getattr(oil.table, "blend", None) or () if other in oils]
            for ident, oil in oils.items()
        }
        for way in rings(blends):
            oils[way[0]].file.faults.append(blend_of_itself(way))
            self._blended_of_themselves.update(way)

    def blend_is_sound(self, ident: str) -> bool:
        """Return whether an oil is not blended of itself, so that its blend can be worked out."""
        self.parts()
        return ident not in self._blended_of_themselves


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False
