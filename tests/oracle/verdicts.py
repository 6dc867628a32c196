"""Work out figures with their uncertainty, and the verdicts of a rulebook on a build.

Open, and how it is read here: a chance between two limits is what the normal probability of each,
with the u of its side, leaves, and no less than nothing; where the sum of all moves stays inside
one of them, that one is kept for certain; left less right is taken of figures that have their
floors, since two springs that are both preloaded have no play both; a limit that is met to nine
digits is kept; without an event what is judged cold and hot is not checked, but for what the groups
damping, oil and like ask, which is then judged at the bench, and a window that fails already.
"""

import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import tomli

from tests.oracle import dampers
from tests.oracle.dampers import CORNERS, Build
from tests.oracle.measures import (
    BALANCES,
    PLAIN,
    UNDER,
    WINDOWS,
    Damper,
    Missing,
    NotAsked,
    Values,
)

UNIT_OF = {
    "mm": 1e-3, "mm^3": 1e-9, "cSt": 1e-6, "g/cm^3": 1e3, "h": 1.0, "N/mm": 1e3, "Hz": 1.0,
    "step": 1.0, "1": 1.0, "day": 1.0, "kPa": 1e3, "m/s": 1.0, "N s/m": 1.0,
}  # fmt: skip
Function = Callable[[Values, bool], float]


def figure_of(
    build: Build, measure: str, subject: str, condition: str | None, ask: str
) -> "Figure":
    """Work out a figure of a "corner", "pair", "share" or "car", once for all that ask it."""
    key = (measure, subject, condition, ask)
    if key not in build.worked_out:
        try:
            if ask == "car":
                work = of_car(build, measure, condition)
            elif ask == "corner":
                work = of_corner(build, measure, subject, condition)
            else:
                work = of_pair(build, measure, subject, condition, ask == "share")
            build.worked_out[key] = Figure(build, work)
        except Missing as missing:
            build.worked_out[key] = missing
    found = build.worked_out[key]
    if isinstance(found, Missing):
        raise found
    return found


def of_corner(build: Build, measure: str, corner: str, condition: str | None) -> Function:
    """Make a measure of one damper a function of values alone."""
    work = UNDER.get(measure) or PLAIN[measure]
    return lambda x, floored: work(Damper(build, corner, x, condition or "bench", floored))


def of_car(build: Build, measure: str, condition: str | None) -> Function:
    """Compare front and rear, each the mean of left and right."""
    if measure == "days_before_event":
        if not build.event:
            raise NotAsked
        days = (build.event["on"] - build.table["bench"]["on"]).days
        return lambda x, floored: float(days)
    of = [of_corner(build, BALANCES[measure], corner, condition) for corner in CORNERS]

    def balance(x: Values, floored: bool) -> float:
        left, right, rear_left, rear_right = (each(x, floored) for each in of)
        return (left + right) / (rear_left + rear_right)

    return balance


def of_pair(build: Build, measure: str, end: str, condition: str | None, share: bool) -> Function:
    """Take right from left, as a share of their mean where the limit is one."""
    sides = [of_corner(build, measure, f"{end}.{side}", condition) for side in ("left", "right")]

    def apart(x: Values, _: bool) -> float:
        left, right = (side(x, True) for side in sides)
        return (left - right) / ((left + right) / 2 if share else 1.0)

    return apart


class Figure:
    """Hold a figure as read, from the middle, and what each reading moves it by."""

    def __init__(self, build: Build, work: Function) -> None:
        """Move each reading in turn from the middle to either end."""
        self.read = work({key: r[0] for key, r in build.readings.items()}, True)
        middle = {key: (low + high) / 2 for key, (_, low, high) in build.readings.items()}
        seen = Watched(middle)
        self.middle = work(seen, False)
        self.up: dict[str, float] = {}
        self.down: dict[str, float] = {}
        for key in seen.keys_read:
            _, low, high = build.readings[key]
            if low == high:
                continue
            moves = [work({**middle, key: end}, False) - self.middle for end in (low, high)]
            self.up[key] = max(0.0, *moves)
            self.down[key] = max(0.0, *(-move for move in moves))

    def u(self, side: dict[str, float]) -> float:
        """Give the standard uncertainty of a side: JCGM 100:2008, 4.3.7 and 5.1.2."""
        return math.sqrt(sum(move**2 for move in side.values()) / 3)

    def shares(self) -> list[list[float]]:
        """Give the shares of the variance upwards and downwards, the greatest first."""
        return [
            sorted(m**2 / (sum(n**2 for n in side.values()) or 1.0) for m in side.values())[::-1]
            for side in (self.up, self.down)
        ]

    def chance(self, least: float, most: float) -> float:
        """Give the chance that the limits are kept: JCGM 106:2012, 7.4."""
        inside = self.middle + sum(self.up.values()) <= most
        kept = 1.0 if inside else below(most - self.middle, self.u(self.up))
        inside = least <= self.middle - sum(self.down.values())
        lost = 0.0 if inside else below(least - self.middle, self.u(self.down), True)
        return max(0.0, kept - lost)


class Watched(dict[str, float]):
    """Remember which values were read, so that only those are moved."""

    def __init__(self, values: Values) -> None:
        """Start with nothing read."""
        super().__init__(values)
        self.keys_read: dict[str, None] = {}

    def __getitem__(self, key: str) -> float:
        """Give a value and remember it."""
        self.keys_read[key] = None
        return super().__getitem__(key)


def below(room: float, u: float, strictly: bool = False) -> float:
    """Give the normal probability of a move of no more than `room`."""
    if math.isinf(room):
        return 1.0 if room > 0 else 0.0
    if u == 0:
        return float(room > 0 or (room == 0 and not strictly))
    return 0.5 * math.erfc(-room / u / math.sqrt(2))


def figures(build: Build) -> Iterator[tuple[str, str, str | None, Figure]]:
    """Give every figure that can be worked out: subject, measure, condition, figure."""
    events: list[str | None] = [*build.conditions]
    for measure in [*PLAIN, *UNDER]:
        for condition in events if measure in UNDER else [None]:
            for corner in CORNERS:
                try:
                    figure = figure_of(build, measure, corner, condition, "corner")
                except Missing:
                    continue
                yield corner, measure, condition, figure
    for measure in [*BALANCES, "days_before_event"]:
        for condition in events if measure == "damping_balance" else [None]:
            try:
                figure = figure_of(build, measure, "car", condition, "car")
            except Missing:
                continue
            yield "car", measure, condition, figure


# Rules

Rule = dict[str, Any]
ORDER = ("holds", "not checked", "borderline", "fails")


def load_rules(root: Path) -> dict[str, Rule]:
    """Read the rules that ask something of a figure."""
    found = {}
    for path in sorted(root.rglob("*.toml")):
        rule = tomli.loads(path.read_text("utf-8"))
        if "measure" in rule:
            found[f"{path.parent.name}/{path.stem}"] = rule
    return found


def limits(rule: Rule, build: Build, corner: str) -> tuple[float, float]:
    """Give the least and the most that a rule allows, in SI."""
    if "bands" in rule:
        by = of_corner(build, rule["by"], corner, None)
        size = by({key: value for key, (value, _, _) in build.readings.items()}, True)
        for band in rule["bands"]:
            if "up_to" not in band or size <= dampers.amount(band["up_to"])[0]:
                return limits(band, build, corner)
    if "same_within" in rule:
        most = dampers.amount(rule["same_within"])[0]
        return -most, most
    low, high = rule.get("between", (rule.get("at_least"), rule.get("at_most")))
    return (
        -math.inf if low is None else dampers.amount(low)[0],
        math.inf if high is None else dampers.amount(high)[0],
    )


def at_a_band_edge(rule: Rule, build: Build, corner: str) -> bool:
    """Say whether the reading that chooses the band may lie in one band as well as in the next.

    There the judge asks both, and the oracle one.
    """
    edges = [dampers.amount(band["up_to"])[0] for band in rule.get("bands", ()) if "up_to" in band]
    if not edges:
        return False
    try:
        size = figure_of(build, rule["by"], corner, None, "corner")
    except Missing:
        return False
    low, high = (size.middle - sum(size.down.values()), size.middle + sum(size.up.values()))
    slack = 1e-9 * abs(high)
    return any(min(low, size.read) - slack <= e <= max(high, size.read) + slack for e in edges)


def judged_under(name: str, measure: str, build: Build) -> list[str | None]:
    """Name the conditions: what a damper does on the track is judged at the track.

    Without an event what else is judged there stays open, and is not checked.
    """
    if measure not in UNDER and measure != "damping_balance":
        return [None]
    if name.split("/")[0] in ("damping", "oil", "like"):
        return ["cold", "hot"] if build.event else ["bench"]
    return ["bench", "cold", "hot"]


Judgment = tuple[str, Figure | None, float | None]


def judge(rule: Rule, figure: Figure, sure: float, least: float, most: float) -> Judgment:
    """Give the verdict with the figure and the chance."""
    chance = figure.chance(least, most)
    slack = 1e-9 * max(abs(figure.read), abs(least if math.isinf(most) else most))
    if not least - slack <= figure.read <= most + slack:
        return "fails", figure, chance
    short = rule["level"] == "must" and chance < sure
    return ("borderline" if short else "holds"), figure, chance


def off_plan(rule: Rule, build: Build, sure: float) -> Iterator[tuple[str, None, Judgment]]:
    """Judge what a side reads by what its end says, which was planned; a plan is exact."""
    measure, most = rule["measure"], dampers.amount(rule["as_planned_within"])[0]
    for corner in CORNERS:
        end, side = corner.split(".")
        table = build.table.get(end, {})
        if measure not in table or measure not in table.get(side, {}):
            continue
        planned = dampers.reading(measure, table[measure])[0]
        key = build.dampers[corner][measure]
        figure = Figure(build, lambda x, _, key=key, planned=planned: x[key] - planned)
        yield corner, None, judge(rule, figure, sure, -most, most)


def judgments(
    name: str, rule: Rule, build: Build, sure: float
) -> Iterator[tuple[str, str | None, Judgment]]:
    """Judge a build by a rule: subject, condition, judgment."""
    measure = rule["measure"]
    if rule.get("only", {}).get("style", build.style) != build.style:
        return
    if measure == "parts":
        for end in ("front", "rear"):
            left, right = (build.dampers[f"{end}.{side}"]["ids"] for side in ("left", "right"))
            yield end, None, ("holds" if left == right else "fails", None, None)
        return
    if measure == "rebound_read":
        for corner in CORNERS:
            read = build.dampers[corner]["rebound"]
            yield corner, None, ("holds" if read else "fails", None, None)
        return
    if "as_planned_within" in rule:
        yield from off_plan(rule, build, sure)
        return
    pair = "same_within" in rule
    whole = measure in BALANCES or measure == "days_before_event"
    share = pair and rule["same_within"].endswith("%") and measure == "damping"
    ask = "car" if whole else "share" if share else "pair" if pair else "corner"
    subjects = ("car",) if whole else ("front", "rear") if pair else CORNERS
    if "end" in rule.get("only", {}):
        subjects = tuple(s for s in subjects if s.startswith(rule["only"]["end"]))
    for condition in judged_under(name, measure, build):
        for subject in subjects:
            known = condition is None or condition in build.conditions
            at = condition if known else "bench"
            try:
                figure = figure_of(build, measure, subject, at, ask)
            except NotAsked:
                continue
            except Missing:
                yield subject, condition, ("not checked", None, None)
                continue
            judgment = judge(rule, figure, sure, *limits(rule, build, subject))
            if measure in WINDOWS and not build.event and judgment[0] == "holds":
                judgment = ("not checked", None, None)
            yield subject, condition, judgment if known else ("not checked", None, None)
