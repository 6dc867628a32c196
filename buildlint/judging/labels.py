"""What to write on the caps of a build, and what the labels in its file say now."""

from __future__ import annotations

from collections.abc import Container, Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from buildlint.files.amounts import amount
from buildlint.files.models import Build
from buildlint.judging.finding_writer import mistakes_in
from buildlint.judging.rules_in_force import rules_of
from buildlint.judging.values import lacking
from buildlint.measures.cap_label import holes_on_cap, label_disagreements, viscosity_on_cap
from buildlint.measures.damper import Damper
from buildlint.team.assembly import dampers
from buildlint.team.life import lives
from buildlint.team.repository import Team
from buildlint.team.selection import BuildLike, build_of
from buildlint.text.words import clean, in_toml

__all__ = ["BuildLabels", "CapLabel", "caps_of", "labels"]

# The trade's names of the corners, as they stand on caps.
_CODES = {
    ("front", "left"): "FL",
    ("front", "right"): "FR",
    ("rear", "left"): "RL",
    ("rear", "right"): "RR",
}

# What a build's file takes as a label.
_LONGEST_LABEL = 200


@dataclass(frozen=True, slots=True)
class CapLabel:
    """The cap of one corner.

    `corner` is "front.left" and the like, `code` its name on caps, "FL", which stands apart from
    the label: the label is the same on both sides. `lines` is what to write, `label` the same as it
    would stand in the build's file (None where oil or piston is not known) and `toml` the line to
    paste there. `missing` is what was not given, so that it cannot be written. `written` is the
    label in the file now, `agrees` whether it agrees with what is inside (None: no label, or not
    checked, which needs `not_checked`), `disagreements` how it does not. `table` is that of the
    build's file to paste into: that of the end, where left and right can share the label.
    """

    corner: str
    code: str
    lines: tuple[str, ...]
    label: str | None
    toml: str | None
    missing: tuple[str, ...]
    written: str | None
    agrees: bool | None
    disagreements: tuple[str, ...]
    not_checked: tuple[str, ...]
    table: str


@dataclass(frozen=True, slots=True)
class BuildLabels:
    """The caps of a build, and the mistakes in its files, one line each: FILE:LINE:COL: what."""

    build: str
    car: str | None
    event: str | None
    caps: tuple[CapLabel, ...]
    mistakes: tuple[str, ...] = ()


def labels(build: BuildLike, team: Team | None = None) -> BuildLabels:
    """Say what to write on the caps of a build: the path of its file, its id, a `Build` or a table.

    Without a team, an id is looked for in the repository of the working directory. Raises
    PathError where there is no such build, SettingsError and RulebookError where settings or rules
    cannot be used, TypeError for what is no build or no team.

    >>> found = labels("examples/saltmarsh/builds/heron-quarry.build.toml")
    >>> found.caps[0].code, found.caps[0].lines
    ('FL', ('4x1.8  450', '6.4 mm'))
    >>> found.caps[0].toml
    'label = "4x1.8  450  6.4 mm"'
    """
    team, path = build_of(build, team)
    book = rules_of(team).book
    found = team.file(path)
    model = found.model
    car, event = (model.car, model.event) if isinstance(model, Build) else (None, None)
    return BuildLabels(found.id, car, event, caps_of(team, path), mistakes_in(team, path, book))


def caps_of(team: Team, path: Path) -> tuple[CapLabel, ...]:
    """Return what to write on each cap of a team's build."""
    elsewhere = _on_other_caps(team, path)
    caps = [_cap(damper, elsewhere) for damper in dampers(team, team.file(path))]
    return tuple(_each_in_its_table(caps))


def _on_other_caps(team: Team, path: Path) -> set[tuple[str, ...]]:
    """Return what the caps of the team's other builds say: those that are built and not past."""
    others = [p for p, life in lives(team).items() if life == "built" and p != path]
    every = (damper for other in others for damper in dampers(team, team.file(other)))
    return {tuple(_lines(damper)[0]) for damper in every}


def _cap(damper: Damper, elsewhere: Container[tuple[str, ...]]) -> CapLabel:
    """Say what to write on the cap of one damper, and how its label agrees."""
    lines, missing = _lines(damper)
    if tuple(lines) in elsewhere:
        on = damper.bench_on
        lines += [damper.car] if damper.car is not None else []
        lines += [date.fromordinal(int(on)).isoformat()] if on is not None else []
    label = "  ".join(lines)
    known = damper.oil is not None and damper.piston is not None and len(label) <= _LONGEST_LABEL
    agrees: bool | None = None
    reasons: tuple[str, ...] = ()
    not_checked: tuple[str, ...] = ()
    if damper.label is not None:
        not_checked = lacking(damper, "label_agrees")
        if not not_checked:
            reasons = label_disagreements(damper)
            agrees = not reasons
    stands = damper.origin.get("label")
    return CapLabel(
        corner=damper.corner,
        code=_CODES[damper.end, damper.side],
        lines=tuple(clean(line) for line in lines),
        label=label if known else None,
        toml=f"label = {in_toml(label)}" if known else None,
        missing=missing,
        written=damper.label,
        agrees=agrees,
        disagreements=reasons,
        not_checked=not_checked,
        table=".".join(stands.keys[:-1]) if stands is not None else damper.end,
    )


def _each_in_its_table(caps: list[CapLabel]) -> Iterator[CapLabel]:
    """Put a label for the whole end where both sides have the same and none has one of its own."""
    for cap in caps:
        end = cap.corner.split(".")[0]
        both = [c for c in caps if c.corner.split(".")[0] == end]
        shared = all(c.label == cap.label and c.table == end for c in both)
        yield replace(cap, table=end if shared else cap.corner)


def _lines(damper: Damper) -> tuple[list[str], tuple[str, ...]]:
    """Return what tells one damper from another, line by line, and what of it was not given."""
    inside = {
        "piston": holes_on_cap(damper) or damper.piston,
        "oil": viscosity_on_cap(damper) or damper.oil,
    }
    if damper.style == "emulsion":
        name, air = "air", damper.air
        last = f"air {round(air * 1e6, 2):g} ml" if air is not None else None
    else:
        name, held = "hold_back", damper.hold_back
        last = amount(held, "mm") if held is not None else None
    first = "  ".join(text for text in inside.values() if text is not None)
    missing = [n for n, text in {**inside, name: last}.items() if text is None]
    return [text for text in (first, last) if text], tuple(map(damper.in_words, missing))
