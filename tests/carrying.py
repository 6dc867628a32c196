"""Makes a team with a build and another event to carry it to. Everything in it is invented."""

from __future__ import annotations

import datetime
from math import exp, log
from pathlib import Path
from typing import Any

from buildlint import Team, load_team
from buildlint.files.models import Build
from buildlint.judging.adapt_end import EndSearch
from buildlint.judging.carried import carried, changes_for
from buildlint.judging.judge import Judge
from buildlint.judging.rulebook import load_rulebook
from buildlint.team.assembly import dampers
from tests.making import Raw, build_path, repository, toml

__all__ = [
    "HOT",
    "NO_SHALLOW",
    "STEEP",
    "THIN",
    "as_it_was",
    "no_oils_but",
    "plan_with",
    "search_of",
    "team_of",
    "thickness",
]

_ALPS = {
    "name": "Alps",
    "on": datetime.date(2027, 7, 12),
    "altitude": "900 m",
    "coldest": "2 degC",
    "hottest": "25 degC",
}
_PARTS = {
    "oil.o300.viscosity": "300 cSt",
    "oil.o375.viscosity": "375 cSt",
    "oil.o600.viscosity": "600 cSt",
    "piston.six.diameter": "15.9 mm",
    "piston.six.thickness": "2.5 mm",
    "piston.six.holes": "6 x 1.6 mm",
    "bladder.shallow.into_body": "300 mm^3",
    "bladder.shallow.into_cap": "700 mm^3",
}
THIN = ("oil.o300.viscosity", "oil.o375.viscosity")
NO_SHALLOW = {"bladder.shallow.gone": Raw("true")}
#: An oil that thins faster than silicone does.
STEEP = {
    "oil.steep.viscosity": "450 cSt",
    "oil.steep.second": Raw('{ viscosity = "150 cSt", at = "60 degC" }'),
}
HOT = {"coldest": "25 degC", "hottest": "70 degC"}


def team_of(
    folder: Path,
    parts: dict[str, Any] | None = None,
    build: dict[str, Any] | None = None,
    event: dict[str, Any] | None = None,
    car: dict[str, Any] | None = None,
) -> Team:
    """Give the made team with more parts, and with another event: the Alps, cold and high."""
    repository(folder, parts={**_PARTS, **(parts or {})}, build=build or {}, car=car or {})
    (folder / "alps.event.toml").write_text(toml({"": {**_ALPS, **(event or {})}}), "utf-8")
    return load_team(folder)


# B of silicone, 5.892 * 298.15 K; expansion 9.7e-4 /K from 25 degC (SOURCES.md; Danner & High).
_SLOPE, _EXPANSION = 5.892 * 298.15, 9.7e-4


def thickness(celsius: float) -> float:
    """Give ln of the dynamic viscosity over that at 25 degC."""
    kelvin = celsius + 273.15
    return _SLOPE * (1 / kelvin - 1 / 298.15) - log(1 + _EXPANSION * (celsius - 25.0))


def as_it_was() -> float:
    """Give the viscosity at 25 degC with which the Alps feel as the quarry does, to one another.

    From 14 and 38 degC to 2 and 25, cold and hot are as far off the one way as the other.
    """
    off = thickness(2) - thickness(14) + thickness(25) - thickness(38)
    return 450.0 * exp(-off / 2)


def no_oils_but(*off: float) -> dict[str, Any]:
    """Give oils "a", "b", ... that are off from `as_it_was` by these, in ln, and no others."""
    made: dict[str, Any] = {
        f"oil.{name}.viscosity": f"{as_it_was() * exp(ln)} cSt"
        for name, ln in zip("abcdefgh", off, strict=False)
    }
    ours = ("o300", "o375", "o450", "o600")
    return made | {f"oil.{oil}.gone": Raw("true") for oil in ours}


def plan_with(team: Team, end: str, **parts: str | None) -> dict[str, Any]:
    """Give the made build as a plan for the Alps, with other parts at one end."""
    table = team.builds["heron-quarry"].as_table()
    for each in ("front", "rear"):
        held = table[each]["left"]["hold_back"]
        kept = {key: table[each][key] for key in ("piston", "oil", "spring", "collar")}
        table[each] = {**kept, "hold_back": held}
    table[end] |= parts
    del table["bench"]["on"]
    return table | {"event": "alps"}


def search_of(team: Team, end: str = "front") -> EndSearch:
    """Give the search for one end of the made build, for the Alps."""
    file = team.file(build_path(team.root))
    model = file.model
    assert isinstance(model, Build)
    changes = changes_for(model, team.cars["heron"], "alps", "heron-quarry")
    planned = team.with_files({"plan.build.toml": carried(model.as_table(), changes)})
    there = dampers(planned, planned.file(planned.root / "plan.build.toml"))
    return EndSearch(Judge(load_rulebook()), team, dampers(team, file), there, end)
