"""Which builds a path means, and which files a build stands on."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Union

from buildlint.files.disk import inside
from buildlint.files.models import KINDS, Build
from buildlint.files.names import kind_and_id
from buildlint.files.part_models import PART_KINDS
from buildlint.files.paths import path_of
from buildlint.files.reader import FileRead
from buildlint.files.settings import OWN, SETTINGS
from buildlint.team.folders import files_below, find_root, folders_below
from buildlint.team.references import references
from buildlint.team.repository import Team
from buildlint.text.errors import PathError
from buildlint.text.words import clean, nearest, seen_from_here, shown

__all__ = [
    "build_of",
    "files_meant",
    "find_build",
    "find_event",
    "meant",
    "roots_of",
    "touched",
    "used_by",
]

# How many files are named where any of them may be meant.
_SOME = 3


def roots_of(path: Path) -> list[Path]:
    """Return the roots that a path means: its own, and any that lie below a folder.

    Raises PathError for a folder that is only seen in its repository, by a link that leads out.
    """
    roots = [find_root(path)]
    if path.is_dir():
        if not inside(path, roots[0]):
            raise PathError(
                f"{clean(seen_from_here(path))} is a link that leads out of the repository"
            )
        for folder, entries in folders_below(path):
            if folder not in roots and any(entry.name == SETTINGS for entry in entries):
                roots.append(folder)
    return roots


#: What stands for a build: the path of its file or its id, a model, or a table with its keys.
BuildLike = Union[str, "os.PathLike[str]", Build, Mapping[str, Any]]


def find_build(build: str | os.PathLike[str]) -> tuple[Team, Path]:
    """Return a build, by the path of its file or by its id, with the team whose it is.

    An id is looked for in the repository of the working directory. Raises PathError where there is
    no such build.
    """
    return _find("build", build)


def find_event(event: str | os.PathLike[str], team: Team | None = None) -> tuple[Team, Path]:
    """Return an event, by the path of its file or by its id, as `find_build` does a build.

    With a team, one of its events. Raises TypeError for what is no team.
    """
    if team is None:
        return _find("event", event)
    return _checked(team), _in_team("event", event, team)


def _find(kind: str, given: str | os.PathLike[str]) -> tuple[Team, Path]:
    path = Path(os.path.abspath(path_of(given)))  # noqa: PTH100 - resolve() would follow links
    named = kind_and_id(path.name)
    if os.path.lexists(path) and named is not None and named[0] == kind:
        root = find_root(path)
        team = Team(root, {*files_below(root), path})
    else:
        root = find_root(Path.cwd())
        team = Team(root, files_below(root))
        if str(given) not in team.by_id(kind):
            raise PathError(_none_such(kind, str(given), path, team))
        path = team.by_id(kind)[str(given)]
    return team, path


def build_of(build: BuildLike, team: Team | None, name: str = "in-memory") -> tuple[Team, Path]:
    """Return the team with a build, and the path that the build goes by.

    The build is the path of its file or its id, a `Build`, or a table with the keys of its file;
    one that stands in no file goes by the id `name`, in the place of the team's own of that id.
    Without a team, that of the file, or of the working directory.

    Raises PathError for a build that is not there, or a name that cannot be an id; TypeError for
    what is no build or no team.
    """
    if team is not None:
        _checked(team)
    if isinstance(build, (str, os.PathLike)):
        return find_build(build) if team is None else (team, _in_team("build", build, team))
    if not isinstance(build, (Build, Mapping)):
        raise TypeError("a build is a path, an id, a Build, or a table with the keys of its file")
    if team is None:
        raise TypeError("a build that stands in no file needs its team: give one by load_team")
    if not isinstance(name, str):
        raise TypeError("the name of a build is text")
    if not name or name.startswith(".") or "/" in name or os.sep in name or not name.isprintable():
        raise PathError(f"{shown(name)} cannot be the name of a build")
    held = build.as_table() if isinstance(build, Build) else build
    path = team.by_id("build").get(name, team.root / f"{name}.build.toml")
    return team.with_files({str(path): held}), path


def _checked(team: Team) -> Team:
    if not isinstance(team, Team):
        raise TypeError("a team is what load_team gives")
    return team


def _in_team(kind: str, given: str | os.PathLike[str], team: Team) -> Path:
    """Return the path of a team's build or event, given by its path or its id."""
    by_id = team.by_id(kind)
    if str(given) in by_id:
        return by_id[str(given)]
    path = Path(os.path.abspath(path_of(given)))  # noqa: PTH100 - resolve() would follow links
    if path in team.paths(kind):
        return path
    raise PathError(_none_such(kind, str(given), path, team))


def _none_such(kind: str, given: str, path: Path, team: Team) -> str:
    """Say that there is no such build or event, where was looked, and what may have been meant."""
    a = "an" if kind == "event" else "a"
    if path.is_file():
        return f"there is no {kind} in {clean(given)}: {a} {kind} is a file named NAME.{kind}.toml"
    in_a_folder = Path(given).name != given and not path.is_dir()
    if in_a_folder or kind_and_id(path.name) is not None:
        return f"there is no {kind} {clean(given)}{files_meant(given, kind)}"
    said = f"there is no {kind} {shown(given)}"
    here = clean(str(team.root))
    if near := nearest(given, team.by_id(kind)):
        return f"{said} under {here}; did you mean {shown(near)}?"
    if hint := files_meant(given, kind):
        return f"{said} in {here} itself{hint}"
    return f"{said} under {here}: go to the team's folder, or name the file"


def files_meant(given: str, meant: str = "build") -> str:
    """Return a hint at the files that an id of a kind, or a path that is wrong, may have meant.

    Those of the same kind with that id, else with the nearest, of every team in and below the
    repository of the working directory. "; did you mean A or B?", or nothing where there is none.
    """
    kind, ident = kind_and_id(Path(given).name) or (meant, Path(given).name)
    found: dict[str, list[Path]] = {}
    with contextlib.suppress(OSError):  # who stands nowhere means nothing here
        for folder, entries in folders_below(find_root(Path.cwd())):
            for entry in entries:
                named = kind_and_id(entry.name)
                if named is not None and named[0] == kind and not entry.name.startswith("."):
                    found.setdefault(named[1], []).append(folder / entry.name)
    near = ident if ident in found else nearest(ident, found)
    if near is None:
        return ""
    files = [clean(seen_from_here(path)) for path in sorted(found[near])]
    some = files[:_SOME]
    more = f", or one of {len(files) - _SOME} more" if len(files) > _SOME else ""
    named_last = some if more or len(some) == 1 else [f"{', '.join(some[:-1])} or {some[-1]}"]
    return f"; did you mean {', '.join(named_last)}{more}?"


def meant(team: Team, given: Sequence[Path]) -> tuple[list[Path], set[Path]]:
    """Return the builds that the paths mean, sorted, and the files that are to be looked at."""
    every = {kind: team.paths(kind) for kind in KINDS}
    files: set[Path] = set()
    folders: set[Path] = set()
    whole = False
    for path in given:
        if kind_and_id(path.name) is not None or team.is_misnamed(path):
            files.add(path)
        elif path.name == SETTINGS or path.is_relative_to(team.root / OWN):
            # what the rules say now, they say of every build
            whole = True
        elif path.is_dir():
            folders.add(path)
        else:
            endings = ".parts.toml, .car.toml, .event.toml or .build.toml"
            what = f"is not read: a file's name ends in {endings}"
            raise PathError(f"{clean(str(path))} {what}")
    if whole or folders:
        everything = [*(p for paths in every.values() for p in paths), *team.misnamed]
        files.update(p for p in everything if whole or not folders.isdisjoint((p, *p.parents)))
    builds = files & set(every["build"])
    changed = {path for path in files - builds if kind_and_id(path.name) is not None}
    if changed and len(builds) < len(every["build"]):
        builds |= _users(team, changed)
    return [path for path in every["build"] if path in builds], files


def touched(team: Team, given: set[Path]) -> tuple[list[Path], set[Path]]:
    """Return the builds that a commit touches, sorted, and the files to be looked at.

    The files given may be gone. What refers to something that is not there is always among them.
    """
    if any(path.name == SETTINGS or path.is_relative_to(team.root / OWN) for path in given):
        return meant(team, [team.root])
    builds = given | _users(team, given)
    here = {path for kind in KINDS for path in team.paths(kind)}
    files = {path for path in given if path in here or team.is_misnamed(path)}
    return [path for path in team.paths("build") if path in builds], files


def _users(team: Team, changed: set[Path]) -> set[Path]:
    """Return the builds that stand on one of some files, or refer to what is not there."""
    found: set[Path] = set()
    for path in team.paths("build"):
        model = team.file(path).model
        if isinstance(model, Build):
            used = used_by(team, model)
            faults = (fault for file in {path, *used} for fault in team.file(file).faults)
            if changed & used or any(fault.rule == "file/no-such-id" for fault in faults):
                found.add(path)
    return found


def used_by(team: Team, build: Build, with_like: bool = True) -> set[Path]:
    """Return the files that a build stands on, and those of the build that it is like."""
    used: set[Path] = set()
    for _, found in (team.car_of(build), team.event_of(build)):
        if found is not None:
            used.add(found.path)
            used |= _behind_file(team, found)
    for kind, ident, _ in references(build):
        if kind in PART_KINDS:
            used |= _behind_part(team, kind, ident)
    like = team.path_of("build", build.like)
    if like is not None and with_like:
        used.add(like)
        other = team.file(like).model
        if isinstance(other, Build):
            used |= used_by(team, other, with_like=False)
    return used


def _behind_file(team: Team, file: FileRead) -> set[Path]:
    """Return the files that the parts of a car stand in."""
    known = team.behind.get((file.kind, file.id))
    if known is None:
        known = team.behind[file.kind, file.id] = set().union(
            *(
                _behind_part(team, kind, ident)
                for kind, ident, _ in references(file.model)
                if kind in PART_KINDS
            )
        )
    return known


def _behind_part(team: Team, kind: str, ident: str) -> set[Path]:
    """Return the files that a part stands in, and those that an oil is blended of."""
    known = team.behind.get((kind, ident))
    if known is not None:
        return known
    if team.part(kind, ident) is None:
        return team.unread
    used: set[Path] = set()
    seen: set[str] = set()
    wanted = [ident]
    while wanted:
        name = wanted.pop()
        if name in seen:
            continue
        seen.add(name)
        part = team.part(kind, name)
        if part is None:
            used |= team.unread  # it may stand in any of these
        else:
            used.update(team.homes(kind, name))
            wanted += getattr(part.table, "blend", None) or ()
    team.behind[kind, ident] = used
    return used
