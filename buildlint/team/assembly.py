"""Put dampers together from a team's files: what the corner says, else its end, else the car."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from buildlint.files.models import Build, End, Event
from buildlint.files.part_models import PART_KINDS
from buildlint.files.reader import FileRead
from buildlint.files.readings import Reading
from buildlint.files.tables import Table
from buildlint.measures.damper import READINGS_OF, Damper
from buildlint.measures.origin import Origin
from buildlint.team.life import is_plan
from buildlint.team.part_figures import DamperDraft, draft_of, guess_oil_volume
from buildlint.team.repository import Team

__all__ = ["dampers", "fitted", "with_nothing_but"]


def dampers(team: Team, build: FileRead) -> list[Damper]:
    """Return the four dampers of a build, as far as its file says what is in them.

    An end that the file lacks gives no dampers. Each comes with that of the build that it is like.
    """
    made = _of_file(team, build)
    like = build.model.like if isinstance(build.model, Build) else None
    path = team.path_of("build", like) if like != build.id else None
    if path is None:
        return made
    others = {damper.corner: damper for damper in _of_file(team, team.file(path))}
    return [replace(damper, like=others.get(damper.corner)) for damper in made]


def _of_file(team: Team, build: FileRead) -> list[Damper]:
    model = build.model
    if not isinstance(model, Build):
        return []
    shared = _shared(team, model, build)
    car, car_file = team.car_of(model)
    found: list[Damper] = []
    for end in ("front", "rear"):
        table: End | None = getattr(model, end)
        if table is None:
            continue
        above = shared.copy()
        above.figures["end"] = end
        if car is not None:
            above.figures["car_class"] = car.car_class
        if car_file is not None:
            above.put_over(_said(team, getattr(car, end, None), car_file, (end,), keep=True))
        above.put_over(_said(team, table, build, (end,)))
        found += _of_end(team, build, table, end, above)
    return found


def _shared(team: Team, model: Build, build: FileRead) -> DamperDraft:
    """Return what all four dampers have: the bench, and the event."""
    shared = DamperDraft()
    shared.figures["style"] = model.style
    shared.figures["event"] = model.event
    shared.figures["car"] = model.car
    shared.figures["build"] = build.id
    shared.figures["plan"] = is_plan(build)
    if model.bench is not None:
        shared.readings(
            model.bench,
            build,
            ("bench",),
            bench_temperature="temperature",
            bench_altitude="altitude",
        )
        if model.bench.on is not None:
            on = float(model.bench.on.toordinal())
            shared.figure("bench_on", on, on, on, Origin(build.path, ("bench", "on")))
    event, event_file = team.event_of(model)
    if event is not None and event_file is not None:
        shared.take(_of_event(team, event, event_file))
    return shared


def _of_end(
    team: Team, build: FileRead, table: End, end: str, above: DamperDraft
) -> Iterator[Damper]:
    """Return both dampers of an end, from what stands above them."""
    both = above.copy()
    _take_parts(both, team)
    for side in ("left", "right"):
        own = _said(team, getattr(table, side), build, (end, side))
        fits_own = not own.refused.isdisjoint(PART_KINDS) or any(
            kind in own.figures for kind in PART_KINDS
        )
        made = (above if fits_own else both).copy()
        made.figures["side"] = side
        made.put_over(own)
        if fits_own:
            _take_parts(made, team)
        if not made.figures["plan"]:
            _take_planned(made, own, above)
        if made.figures["style"] == "emulsion" and "air" not in made.figures:
            made.figures["air"] = None  # poured in, but not said how much
        yield made.damper()


# Readings of which an end says what was planned, where a side says what was read.
_PLANNED = ("hold_back", "length", "rebound", "collar")


def _take_planned(made: DamperDraft, own: DamperDraft, above: DamperDraft) -> None:
    for name in _PLANNED:
        if name in own.figures and name in above.figures:
            planned = above.figures[name]
            made.figure(f"planned_{name}", planned, planned, planned, above.origin[name])


def _of_event(team: Team, event: Event, file: FileRead) -> DamperDraft:
    """Return what there is to gather of an event, gathered once for all builds for it."""
    known: DamperDraft | None = team.drafts.get(("event", file.id))
    if known is None:
        known = team.drafts["event", file.id] = DamperDraft()
        known.readings(
            event,
            file,
            (),
            coldest="coldest",
            hottest="hottest",
            event_altitude="altitude",
            highest="highest",
        )
        by = event.arrive_by
        known.figure("arrive_by", by, by, by, Origin(file.path, ("arrive_by",)))
        if event.on is not None:
            on = float(event.on.toordinal())
            known.figure("event_on", on, on, on, Origin(file.path, ("on",)))
    return known


def _said(
    team: Team, table: Table | None, file: FileRead, keys: tuple[str, ...], keep: bool = False
) -> DamperDraft:
    """Return what a table of a corner, or an end, says of a damper: readings, and the ids of parts.

    `keep` is for what is asked for again with other builds: that of a car.
    """
    where = (f"car {'.'.join(keys)}", file.id)
    found: DamperDraft | None = team.drafts.get(where) if keep else None
    if found is not None:
        return found
    found = DamperDraft()
    if file.refused:
        found.refused = {key for key in _SAID if (*keys, key) in file.refused}
    given = table.given if table is not None else ()
    for key in _SAID:
        if key not in given or key in found.refused:
            continue
        value = getattr(table, key)
        if value is None:
            continue
        found.origin[key] = Origin(file.path, (*keys, key))
        if isinstance(value, Reading):
            found.figures[key] = value.value
            if value.low != value.high:
                found.spread[key] = (value.low, value.high)
        else:
            found.figures[key] = tuple(value) if key == "done" else value
    if keep:
        team.drafts[where] = found
    return found


def _take_parts(made: DamperDraft, team: Team) -> None:
    """Take all that is known of the parts whose ids are gathered."""
    if made.figures["style"] == "emulsion":
        made.drop("bladder")
    for kind in PART_KINDS:
        ident = made.figures.get(kind)
        part = team.part(kind, ident)
        if ident is not None and part is not None:
            made.take(draft_of(team, kind, ident, part))
    guess_oil_volume(made)


_READINGS = (
    "hold_back",
    "limiter",
    "collar",
    "length",
    "rebound",
    "air",
    "runtime",
    "corner_mass",
    "motion_ratio",
    "seat_gap",
)
_SAID = (*_READINGS, "label", "done", *PART_KINDS)


def fitted(team: Team, damper: Damper, parts: Mapping[str, str]) -> Damper:
    """Return the damper with other parts, by kind, in the place of those that it has.

    Raises KeyError for a part that no parts file holds.
    """
    gone = frozenset().union(*(READINGS_OF[kind] for kind in parts))
    figures: dict[str, Any] = dict.fromkeys(gone)
    spread = {n: ends for n, ends in damper.spread.items() if n not in gone}
    origin = {n: place for n, place in damper.origin.items() if n not in gone}
    estimates, refused = damper.estimates - gone, damper.refused - gone
    for kind, ident in parts.items():
        made = _gathered(team, kind, ident)
        figures |= {**made.figures, kind: ident}
        spread |= made.spread
        origin |= made.origin
        estimates |= made.estimates
        refused |= made.refused
    return replace(
        damper, **figures, spread=spread, origin=origin, estimates=estimates, refused=refused
    )


def with_nothing_but(team: Team, kind: str, ident: str) -> Damper:
    """Return a damper of which nothing is known but one part."""
    made = _gathered(team, kind, ident)
    made.figures |= {"end": "front", "side": "left", kind: ident}
    return made.damper()


def _gathered(team: Team, kind: str, ident: str) -> DamperDraft:
    made = draft_of(team, kind, ident, team.parts()[kind][ident]).copy()
    guess_oil_volume(made)
    return made
