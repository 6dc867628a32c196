"""What oils are in SI: viscosity, density, expansion, those of blends worked out from parts."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from math import isnan, nan
from typing import TypeVar

from buildlint.files.derived import Three, derived
from buildlint.files.oil_model import Oil
from buildlint.files.readings import Reading
from buildlint.physics import oil
from buildlint.physics.values import Values
from buildlint.team.repository import Team

__all__ = ["Point", "blend_of", "by_share", "viscosity_refused"]

#: A viscosity at 25 degC (m^2/s) with its slope (K).
Point = tuple[Three, Three]

Known = TypeVar("Known")

_VISCOUS_KEYS = frozenset({"viscosity", "at", "second", "vtc", "blend", "density", "expansion"})

# However far its parts lie apart, a blend keeps so much of its viscosity (ours, not published).
_MOST_OFF = 0.9

_SILICONE: dict[str, Three] = {
    key: (usual, usual - half, usual + half)
    for key, usual, half in (
        ("density", oil.SILICONE_DENSITY, oil.SILICONE_DENSITY_TOLERANCE),
        ("expansion", oil.SILICONE_EXPANSION, oil.SILICONE_EXPANSION_TOLERANCE),
    )
}


def viscosity_refused(team: Team, ident: str) -> bool:
    """Return whether something that an oil's viscosity stands on was refused in its file."""
    return _refused(team, ident, _VISCOUS_KEYS)


def _refused(team: Team, ident: str, keys: Collection[str]) -> bool:
    part = team.part("oil", ident)
    if part is None:
        return False
    return any(
        path[:2] == ("oil", ident) and (len(path) < 3 or path[2] in keys)
        for path in part.file.refused
    )


def by_share(team: Team, ident: str, key: str) -> Three | None:
    """Return the density or expansion of an oil: as given, else the mean of its parts' by share.

    What neither an oil nor a part of it gives is that of silicone. None where it was refused, or
    where a blend has a part that is not known.
    """

    def parts_of(here: str) -> tuple[str, ...]:
        table = _oil(team, here)
        if table is None or getattr(table, key) is not None or not team.blend_is_sound(here):
            return ()
        return () if _refused(team, here, (key, "blend")) else tuple(table.blend or ())

    def work(here: str, means: list[Three | None]) -> Three | None:
        table = _oil(team, here)
        if table is None:
            return None
        known = [mean for mean in means if mean is not None]
        if table.blend and means:
            mixed = len(known) == len(means)
            if mixed and all(mean is _SILICONE[key] for mean in known):
                return _SILICONE[key]  # one assumption, not several
            return _mix(table.blend, oil.blend_mean, known) if mixed else None
        given: Reading | None = getattr(table, key)
        if given is not None:
            return given[:3]
        if table.blend or _refused(team, here, (key, "blend")):
            return None
        return _SILICONE[key]

    return _parts_first(ident, team.oil_means.setdefault(key, {}), parts_of, work)


def blend_of(team: Team, ident: str) -> Point | None:
    """Return a blend's viscosity at 25 degC and its slope, from its parts.

    None where the oil is no blend, is blended of itself, or has a part that is not known.
    """
    parts = _parts(team, ident)
    if not parts:
        return None
    points = [_at_reference(team, other) for other in parts]
    return _mixed(team, ident, points)


def _oil(team: Team, ident: str) -> Oil | None:
    part = team.part("oil", ident)
    return part.table if part is not None and isinstance(part.table, Oil) else None


def _parts(team: Team, ident: str) -> tuple[str, ...]:
    table = _oil(team, ident)
    sound = team.blend_is_sound(ident) and not viscosity_refused(team, ident)
    return tuple(table.blend or ()) if table is not None and sound else ()


def _mixed(team: Team, ident: str, points: list[Point | None]) -> Point | None:
    """Mix points by a blend's shares."""
    table = _oil(team, ident)
    known = [point for point in points if point is not None]
    if table is None or table.blend is None or len(known) != len(points):
        return None
    viscosities, slopes = ([point[which] for point in known] for which in (0, 1))
    shares = [share.value for share in table.blend.values()]
    off = float(oil.blend_tolerance(shares, [three[0] for three in viscosities]))
    mixing = (1.0, 1.0 - min(off, _MOST_OFF), 1.0 + off)
    return (
        _mix(table.blend, oil.blend_viscosity, viscosities, mixing),
        _mix(table.blend, oil.blend_mean, slopes),
    )


def _mix(
    blend: Mapping[str, Reading],
    law: Callable[[list[float], list[float]], Values],
    parts: Sequence[Three],
    mixing: Three = (1.0, 1.0, 1.0),
) -> Three:
    """Mix figures by a blend's shares; `mixing` is how far the law itself may be off."""
    count = len(parts)

    def mixed(*given: float) -> float:
        return float(law(list(given[:count]), list(given[count:-1]))) * given[-1]

    return derived(mixed, *(share[:3] for share in blend.values()), *parts, mixing)


def _at_reference(team: Team, ident: str) -> Point | None:
    """Return an oil's viscosity at 25 degC and its slope."""

    def parts_of(here: str) -> tuple[str, ...]:
        return () if _given(team, here) else _parts(team, here)

    def work(here: str, points: list[Point | None]) -> Point | None:
        return _mixed(team, here, points) if points else _stated(team, here)

    return _parts_first(ident, team.oil_points, parts_of, work)


def _parts_first(
    ident: str,
    known: dict[str, Known | None],
    parts_of: Callable[[str], tuple[str, ...]],
    work: Callable[[str, list[Known | None]], Known | None],
) -> Known | None:
    """Work out something of an oil, a blend's parts first, each only once."""
    waiting = [ident]
    while waiting:
        here = waiting[-1]
        parts = parts_of(here)
        first = [other for other in parts if other not in known]
        if here not in known and first:
            waiting.extend(first)
            continue
        waiting.pop()
        if here not in known:
            known[here] = work(here, [known[other] for other in parts])
    return known[ident]


def _given(team: Team, ident: str) -> bool:
    table = _oil(team, ident)
    return table is not None and table.kinematic(table.viscosity, table.at) is not None


def _stated(team: Team, ident: str) -> Point | None:
    table = _oil(team, ident)
    given = table.kinematic(table.viscosity, table.at) if table is not None else None
    if table is None or given is None or viscosity_refused(team, ident):
        return None
    at = table.at.value if table.at is not None else oil.REFERENCE_TEMPERATURE
    slope = _slope(table, given, at)
    if any(map(isnan, slope)):
        return None  # two viscosities that do not go together: the file's own finding says so

    def brought(viscosity: float, slope: float) -> float:
        return float(oil.viscosity_at(viscosity, at, oil.REFERENCE_TEMPERATURE, slope))

    # away from 25 degC the slope moves it too, up or down
    return derived(brought, given, slope), slope


def _slope(table: Oil, given: Three, at: float) -> Three:
    second = table.second
    if second is not None and second.at is not None:
        other = table.kinematic(second.viscosity, second.at)
        if other is not None:
            warm = second.at.value

            def through(one: float, two: float) -> float:
                # at the ends of close tolerances the points may cross: no thinning at the least
                crossed = (one - two) * (warm - at) <= 0
                return 0.0 if crossed else float(oil.slope_from_two_points(one, at, two, warm))

            if isnan(float(oil.slope_from_two_points(given[0], at, other[0], warm))):
                return nan, nan, nan
            return derived(through, given, other)
    if table.vtc is not None:
        slope, low, high = (float(oil.slope_from_vtc(v)) for v in table.vtc[:3])
        return slope, low, high
    return (oil.SILICONE_SLOPE,) * 3
