"""The main job: pick the builds that paths mean, judge them, and say what was found where."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterable
from pathlib import Path

from buildlint.files.concession import day_of
from buildlint.files.names import is_ours, like_toml, meant_name, meant_rule
from buildlint.files.paths import path_of
from buildlint.files.settings import OWN, SETTINGS
from buildlint.judging.inspected import MANY, Inspection, Judged
from buildlint.judging.inspector import Inspector, Progress, Work
from buildlint.judging.rulebook import Rulebook, check_rulebook, load_rulebook
from buildlint.judging.rules_in_force import rules_of
from buildlint.team.folders import files_below, find_root
from buildlint.team.repository import Team
from buildlint.team.selection import BuildLike, build_of, files_meant, meant, roots_of
from buildlint.text.errors import PathError
from buildlint.text.words import clean

__all__ = ["MANY", "Inspection", "Judged", "inspect_build", "inspect_team"]


def inspect_team(
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]] = ".",
    *,
    rulebook: Rulebook | None = None,
    tracked: bool = False,
    on: datetime.date | None = None,
    progress: Progress | None = None,
) -> Inspection:
    """Judge the builds that the paths mean: a file of any kind, or a folder.

    A changed car, part or event judges every build that uses it. With `tracked`, only files that
    git knows are read, and a path that is gone is taken as a file deleted. A `rulebook` stands in
    for all rules in force, the team's own included. Concessions count as on the day `on` (left
    out: today). `progress` is told how many builds are judged, of how many in this repository.
    Raises PathError where a path is missing or none of ours, or where there is nothing to judge;
    RulebookError and SettingsError where rules or settings cannot be used; TypeError or ValueError
    where another argument is not what belongs there. Nothing is printed.

    >>> found = inspect_team(["examples/saltmarsh"])
    >>> found.passes(), found.counts.fails
    (True, 0)
    """
    day = day_of(on)
    check_rulebook(rulebook)
    if not isinstance(tracked, bool):
        raise TypeError("tracked is True or False")
    if progress is not None and not callable(progress):
        raise TypeError("progress is a function of two numbers: how many, and of how many")
    by_root = _by_root(paths, tracked)
    # where there is nothing to judge, a report lists the rules that would be judged by
    base = rulebook if rulebook is not None or by_root else load_rulebook()
    inspection = Inspection(rules=dict(base.rules) if base is not None else {}, on=day)
    for root, given in sorted(by_root.items()):
        if tracked:
            from buildlint.team.commit import tracked_files

            known = set(tracked_files(root))
            # a misnamed one that is gone, or in a folder that is passed over, is nobody's matter
            given = [path for path in given if path in known or not _misnamed(path, root)]
        else:
            near = (p for p in given if is_ours(p.name) or _is_nearly_a_rule(p, root))
            known = {*files_below(root), *filter(os.path.lexists, near)}
        work = Work(root, frozenset(known), rulebook, day)
        _inspect_team(work, given, inspection, progress)
    if not tracked and not (inspection.builds or inspection.in_files or inspection.looked_at):
        raise PathError("there are no builds here: a build is a file named NAME.build.toml")
    return inspection


def _by_root(
    paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]], tracked: bool
) -> dict[Path, list[Path]]:
    """Return the paths by the root of the team that each belongs to; some to several."""
    by_root: dict[Path, list[Path]] = {}
    if not isinstance(paths, (str, os.PathLike, Iterable)):
        raise TypeError("a path is text, or a pathlib.Path; several are a list of them")
    for given in [paths] if isinstance(paths, (str, os.PathLike)) else paths:
        path = Path(os.path.abspath(path_of(given)))  # noqa: PTH100 - resolve() would follow links
        if not tracked and not os.path.lexists(path):
            hint = files_meant(str(given))
            raise PathError(f"there is no file or folder {clean(str(given))}{hint}")
        roots = roots_of(path)
        if tracked and path.name == SETTINGS and not os.path.lexists(path.parent / ".git"):
            # new ones take what is below them away from the team around
            roots.append(find_root(path.parent.parent))
        for root in dict.fromkeys(roots):
            if tracked and like_toml(path.name) and not _matters(path, root):
                continue
            by_root.setdefault(root, []).append(path)
    return by_root


def _inspect_team(
    work: Work,
    given: list[Path],
    inspection: Inspection,
    progress: Progress | None,
) -> None:
    team, force = work.team(), work.force()
    builds, files = meant(team, given)
    if not builds and not any(path.is_dir() for path in given):
        inspection.looked_at += len(files)
    inspector = Inspector(team, force, work.on, many=len(builds) > MANY)
    inspector.inspect(builds, files, inspection, progress)


def _matters(path: Path, root: Path) -> bool:
    """Return whether a file of a commit is one of the team's; not every folder rules/ is."""
    if is_ours(path.name) or path.name == SETTINGS or path.is_relative_to(root / OWN):
        return True
    return _is_nearly_a_rule(path, root)


def _misnamed(path: Path, root: Path) -> bool:
    """Return whether a file that matters does so only because its name is nearly one of ours."""
    if path.name == SETTINGS or path.is_relative_to(root / OWN):
        return False
    return meant_name(path.name) is not None or _is_nearly_a_rule(path, root)


def _is_nearly_a_rule(path: Path, root: Path) -> bool:
    return path.is_relative_to(root) and meant_rule(path.relative_to(root)) is not None


def inspect_build(
    build: BuildLike,
    team: Team | None = None,
    *,
    rulebook: Rulebook | None = None,
    name: str = "in-memory",
    on: datetime.date | None = None,
) -> Inspection:
    """Judge one build by the rules of its team.

    The build is the path of its file or its id, a `Build`, or a table with the keys of a
    NAME.build.toml (readings and dates as text, as JSON has them). One that stands in no file needs
    the team that has its car, event and parts; `name` is then the id that it goes by, and that of
    a build of the team stands in its place. `rulebook` and `on` as for `inspect_team`. What a team
    has read is not read again. Mistakes in the build are findings.

    Raises PathError for a build that is not there and for a name that cannot be an id, TypeError
    for what is no build, team, rulebook or day, RulebookError and SettingsError where rules or
    settings cannot be used.

    >>> from buildlint import load_team
    >>> half = {"piston": "four-18", "oil": "o450", "bladder": "small", "hold_back": "0 mm"}
    >>> bench = {"on": "2027-06-05", "temperature": "16 degC", "altitude": "5 m"}
    >>> build = {"car": "heron", "bench": bench, "front": half, "rear": half}
    >>> found = inspect_build(build, load_team("examples/saltmarsh"))
    >>> [f.subject for f in found.findings if f.rule == "bladder/into-body-room"]
    ['front', 'rear']
    """
    day = day_of(on)
    check_rulebook(rulebook)
    with_it, path = build_of(build, team, name)
    inspection = Inspection(on=day)
    force = rules_of(with_it if team is None else team, rulebook)
    Inspector(with_it, force, day).inspect([path], {path}, inspection, None)
    return inspection
