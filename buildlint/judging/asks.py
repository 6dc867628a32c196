"""What a rule asks of a measure: its limit as written, read into SI."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from buildlint.files.amounts import in_unit
from buildlint.files.readings import Mistake, read, written
from buildlint.files.units import dimension_of
from buildlint.measures import MEASURES
from buildlint.text.words import clean, shown

__all__ = ["Ask", "BandAsk", "limit_figures", "limit_in_words", "read_ask", "read_limit"]


@dataclass(frozen=True, slots=True)
class Ask:
    """A limit, in SI. One that is not asked for is None.

    `same_within` compares left with right: an amount, or a share of their mean where `relative`,
    or exactly; `as_planned_within` a reading with its plan. `texts` keeps the limits as the rule
    writes them.
    """

    at_least: float | None = None
    at_most: float | None = None
    same_within: float | None = None
    as_planned_within: float | None = None
    relative: bool = False
    exactly: bool = False
    is_true: bool = False
    one_of: tuple[str, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class BandAsk:
    """A limit that holds up to a value of another measure, in SI (None: from there on)."""

    up_to: float | None
    ask: Ask
    up_to_text: str = ""


# A unit that words have one more letter for.
_DAYS = re.compile(r"(-?[0-9.]+) day\b")


def limit_in_words(ask: Ask) -> str:
    """Say a limit as the rule writes it.

    >>> limit_in_words(Ask(at_most=1.0, texts={"at_most": "100 %"}))
    'at most 100 %'
    """
    for key, limit in ask.texts.items():
        text = _DAYS.sub(lambda found: found[0] if found[1] == "1" else f"{found[0]}s", limit)
        if key == "same_within":
            return "the same" if text == "exactly" else f"the same within {text}"
        if key == "is":
            return "true"
        return f"{key.replace('_', ' ')} {text}"
    return ""


def limit_figures(ask: Ask, unit: str) -> dict[str, float | str | list[float] | list[str]]:
    """Return a limit as figures in a unit, by what is asked: `{"at_most": 1.0}`."""
    if ask.exactly:
        return {"same_within": "exactly"}
    if ask.same_within is not None:
        return {"same_within": in_unit(ask.same_within, unit)}
    if ask.as_planned_within is not None:
        return {"as_planned_within": in_unit(ask.as_planned_within, unit)}
    if ask.one_of:
        return {"one_of": list(ask.one_of)}
    if ask.is_true:
        return {"is": "true"}
    limits: dict[str, float | str | list[float] | list[str]] = {}
    if ask.at_least is not None:
        limits["at_least"] = in_unit(ask.at_least, unit)
    if ask.at_most is not None:
        limits["at_most"] = in_unit(ask.at_most, unit)
    return limits


# --- read ----------------------------------------------------------------------------------------


def read_ask(kind: str, given: Any, measure: str) -> Ask:
    """Return what a rule asks of a measure; raises Mistake where the measure does not take it.

    `given` is of the form that the model of a rule has for it.

    >>> read_ask("at_most", "10 mm", "hold_back").at_most
    0.01
    """
    return _READ.get(kind, _one_limit)(kind, given, measure)


def _is_true(kind: str, given: Any, measure: str) -> Ask:
    if MEASURES[measure].unit != "yes":
        raise Mistake("", f"{measure} is not a yes or no: it does not take is = true")
    return Ask(is_true=True, texts={kind: "true"})


def _one_of(kind: str, given: Sequence[str], measure: str) -> Ask:
    if MEASURES[measure].unit != "id" or measure == "parts":
        raise Mistake("", f"{measure} is not an id: it does not take one_of")
    return Ask(one_of=tuple(given), texts={kind: ", ".join(given)})


def _between(kind: str, given: Sequence[str], measure: str) -> Ask:
    low, high = (read_limit(each, measure) for each in given)
    if low > high:
        raise Mistake("", "the first limit is above the second")
    return Ask(at_least=low, at_most=high, texts={kind: " and ".join(map(clean, given))})


def _same_within(kind: str, given: str, measure: str) -> Ask:
    unit = MEASURES[measure].unit
    texts = {kind: clean(given)}
    if given == "exactly" and unit != "yes":
        if unit != "id":
            what = f"{measure} is a figure, not an id: give how much it may differ"
            raise Mistake("", what)
        return Ask(exactly=True, texts=texts)
    if unit == "degC":
        raise Mistake("", f"{measure} is one for the whole build: left and right share it")
    relative = given.endswith("%") and unit not in ("1", "id", "yes")
    limit = _read(given, "share") if relative else read_limit(given, measure)
    if limit < 0.0:
        raise Mistake("", "same_within cannot be below zero")
    return Ask(same_within=limit, relative=relative, texts=texts)


def _as_planned_within(kind: str, given: str, measure: str) -> Ask:
    off = "_off_plan"
    if f"{measure}{off}" not in MEASURES:
        planned = ", ".join(name.removesuffix(off) for name in MEASURES if name.endswith(off))
        raise Mistake("", f"{measure} has no plan of its own; these have: {planned}")
    limit = read_limit(given, measure)
    if limit < 0.0:
        raise Mistake("", "as_planned_within cannot be below zero")
    return Ask(at_least=-limit, at_most=limit, as_planned_within=limit, texts={kind: clean(given)})


def _one_limit(kind: str, given: str, measure: str) -> Ask:
    limit = read_limit(given, measure)
    texts = {kind: clean(given)}
    return (
        Ask(at_least=limit, texts=texts) if kind == "at_least" else Ask(at_most=limit, texts=texts)
    )


_READ: dict[str, Callable[[str, Any, str], Ask]] = {
    "is": _is_true,
    "one_of": _one_of,
    "between": _between,
    "same_within": _same_within,
    "as_planned_within": _as_planned_within,
}


def read_limit(given: str, measure: str) -> float:
    """Return a limit of a measure in SI; raises Mistake where it is none."""
    unit = MEASURES[measure].unit
    if unit == "id":
        raise Mistake("", f'{measure} is an id: it takes same_within = "exactly", or one_of')
    if unit == "yes":
        raise Mistake("", f"{measure} is a yes or no: it takes is = true")
    if unit == "step":
        # as reports write it
        return _read(given.removesuffix("s").removesuffix("step"), "share")
    return _read(given, "share" if unit == "1" else dimension_of(unit)[0])


def _read(given: str, dimension: str) -> float:
    if written(given).tolerance is not None:
        raise Mistake("", f"{shown(given)}: a limit has no tolerance")
    return read(given, dimension).value
