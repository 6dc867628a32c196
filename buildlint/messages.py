"""What a judgement says to the builder, in one sentence with its figures."""

from __future__ import annotations

from collections.abc import Callable
from math import isfinite

from buildlint.amounts import amount, float_of, in_unit, told_apart, unit_in_words
from buildlint.bounds import Bounds
from buildlint.figure import figure_of, why_not
from buildlint.judge import Judgement
from buildlint.measures import MEASURES, plan
from buildlint.rule import Ask, limit_in_words
from buildlint.steps import missing_steps
from buildlint.words import clean, counted, listed, shown

__all__ = ["brief", "message", "when", "widest"]

_WHEN = {"bench": "at the bench", "cold": "when cold", "hot": "when hot"}


def message(judgement: Judgement) -> str:
    """Say what was found: the figure, its limit, by how much, and what the tolerances do."""
    if judgement.verdict == "not judged":
        return f"needs {listed(judgement.missing)}"
    ask = judgement.ask
    if ask is None:
        return judgement.rule.title
    if ask.exactly:
        return _not_the_same(judgement)
    if judgement.rule.compares_sides:
        return _apart(judgement)
    if judgement.bounds is None:
        return _words(judgement, ask)
    return _figure(judgement, ask)


def brief(judgement: Judgement) -> str:
    """Say it at its shortest: as read, what tolerances make of it if in doubt, and the limit."""
    found, ask, unit = judgement.bounds, judgement.ask, judgement.unit
    if found is None or ask is None:
        return message(judgement)
    pair = ask.same_within is not None
    over = pair or _over(judgement, ask)
    limit = (ask.same_within if pair else ask.at_most if over else ask.at_least) or 0.0
    text = f"{judgement.condition} " if judgement.condition else ""
    if judgement.verdict == "doubtful":
        worst, limit_text = told_apart(found.high if over else found.low, limit, unit)
        text += f"{amount(found.value, unit)}, worst {worst}"
    else:
        value, limit_text = told_apart(found.value, limit, unit)
        text += value
    return f"{text}{' apart' if pair else ''}, {'at most' if over else 'at least'} {limit_text}"


def widest(found: Bounds | None) -> str:
    """Say which reading's tolerance moves a figure most, and by what share of all of them."""
    most = found.widest() if found is not None else None
    return f"{most[0]} ({most[1]:.0%})".replace("%", " %") if most is not None else ""


def when(condition: str | None) -> str:
    """Say a condition in words, with a space before it; nothing for none.

    >>> when("hot"), when(None)
    (' when hot', '')
    """
    return f" {_WHEN[condition]}" if condition else ""


def _figure(judgement: Judgement, ask: Ask) -> str:
    found, unit = judgement.bounds, judgement.unit
    assert found is not None
    what = judgement.measure.in_words
    over = _over(judgement, ask)
    limit = ask.at_most if over else ask.at_least
    assert limit is not None
    value, limit_text = told_apart(found.value, limit, unit)
    if judgement.measure.at_worst:
        reached, _ = told_apart(found.high, limit, unit)
        return f"{what} may reach {reached}{when(judgement.condition)}, {limit_in_words(ask)}"
    if judgement.measure.unit == "step":
        damper = judgement.dampers[0]
        left_out = ", ".join(missing_steps(damper.done or (), damper.style))
        return f"{what}: {left_out or 'none'}"
    ends = _ends(found, unit)
    start = f"{what} is {value}{when(judgement.condition)}, {limit_in_words(ask)}"
    if judgement.verdict == "holds":
        return f"{start}{ends}"
    if judgement.verdict == "doubtful":
        worst = found.high if over else found.low
        worst_text, _ = told_apart(worst, limit, unit)
        way = "up to" if over else "down to"
        return f"{start}: holds as read, but {way} {worst_text} within the tolerances"
    if judgement.measure.name in _WORDED and _is_worded(judgement, over, limit):
        return _WORDED[judgement.measure.name](judgement, found, limit_text)
    by = f"{_difference(value, limit_text, judgement)} too {'much' if over else 'little'}"
    # it is no more between two limits than it holds
    start = start.replace(", between ", ", not between ")
    return f"{start}: {by}{ends}"


def _window(judgement: Judgement, found: Bounds, limit: str) -> str:
    small, large = (
        figure_of(MEASURES[name], judgement.dampers[0], "bench").bounds
        for name in ("smallest_hold_back", "largest_hold_back")
    )
    assert small is not None and large is not None
    most = (
        f"at most {amount(large.value, 'mm')}"
        if large.value >= 0
        else "nothing held back is still too much"
    )
    return (
        f"to follow the shaft out, the bladder needs at least {amount(small.value, 'mm')} held "
        f"back; to have room in the cap, {most}"
    )


def _drift(judgement: Judgement, found: Bounds, limit: str) -> str:
    way = "thinner" if found.value < 0 else "thicker"
    return (
        f"the oil is {amount(abs(found.value), '1')} {way}{when(judgement.condition)} than at the "
        f"bench, at most {limit.lstrip('-')} {way} is allowed"
    )


def _days(judgement: Judgement, found: Bounds, limit: str) -> str:
    days = round(-in_unit(found.value, "day"))
    return f"built {counted(days, 'day')} after the event"


def _blend(judgement: Judgement, found: Bounds, limit: str) -> str:
    stated = judgement.dampers[0].viscosity_given or 0.0
    parts = stated / (1.0 + found.value)
    return (
        f"the viscosity given is {amount(stated, 'cSt')}, its parts give {amount(parts, 'cSt')}: "
        f"{_two_apart(found, limit)}"
    )


def _rate(judgement: Judgement, found: Bounds, limit: str) -> str:
    given = judgement.dampers[0].rate_given or 0.0
    of_wire = given / (1.0 + found.value)
    return (
        f"the rate given is {amount(given, 'N/mm')}, its wire and coils give "
        f"{amount(of_wire, 'N/mm')}: {_two_apart(found, limit)}"
    )


def _two_apart(found: Bounds, limit: str) -> str:
    return f"{amount(abs(found.value), '1')} apart, at most {limit.lstrip('-')}"


# Figures that say more in a sentence of their own, where they fail.
_WORDED: dict[str, Callable[[Judgement, Bounds, str], str]] = {
    "hold_back_window": _window,
    "viscosity_drift": _drift,
    "days_before_event": _days,
    "blend_disagreement": _blend,
    "rate_disagreement": _rate,
}


def _is_worded(judgement: Judgement, over: bool, limit: float) -> bool:
    """Say whether the sentence fits the limit: a team's own may ask for the other way."""
    if judgement.measure.name in ("hold_back_window", "days_before_event"):
        return not over and limit <= 0.0
    return limit >= 0.0 if over else limit <= 0.0


def _ends(found: Bounds, unit: str) -> str:
    """Say the least and the most, with digits enough that they differ; else nothing."""
    for more in range(3):
        low, high = amount(found.low, unit, more), amount(found.high, unit, more)
        if low != high:
            return f" ({low} to {high} within the tolerances)"
    return ""


def _over(judgement: Judgement, ask: Ask) -> bool:
    """Say whether the upper limit is the one that matters; the lower one otherwise."""
    found = judgement.bounds
    if found is None or ask.at_most is None or ask.at_least is None:
        return ask.at_most is not None
    at = {"fails": found.value, "doubtful": found.high}.get(judgement.verdict, found.value)
    if judgement.verdict in ("fails", "doubtful"):
        return at > ask.at_most
    return ask.at_most - at <= at - ask.at_least


def _difference(value: str, limit: str, judgement: Judgement) -> str:
    # as the reader would subtract them
    apart = abs(float_of(value) - float_of(limit))
    if not isfinite(apart):
        return "without end"
    unit = judgement.unit
    text = f"{float(f'{apart:.6g}'):g}"
    return f"{text} {unit_in_words(unit, text)}"


def _apart(judgement: Judgement) -> str:
    found, ask = judgement.bounds, judgement.ask
    assert found is not None and ask is not None
    sides = ""
    if judgement.sides is not None:
        left, right = (amount(v, judgement.measure.unit) for v in judgement.sides)
        sides = f"left {left}, right {right}, "
    limit = ask.same_within or 0.0
    value, limit_text = told_apart(found.value, limit, judgement.unit)
    of_mean = " of their mean" if ask.relative else ""
    start = (
        f"{judgement.measure.in_words}: {sides}{value}{of_mean} apart{when(judgement.condition)}, "
        f"at most {limit_text}"
    )
    if judgement.verdict == "doubtful":
        worst, _ = told_apart(found.high, limit, judgement.unit)
        return f"{start}: holds as read, but up to {worst} within the tolerances"
    if judgement.verdict == "fails":
        return f"{start}: {_difference(value, limit_text, judgement)} too much"
    return start


def _not_the_same(judgement: Judgement) -> str:
    left, right = judgement.words
    if not isinstance(left, tuple):
        left, right = ((judgement.measure.name, w) for w in (left, right))
        left, right = (left,), (right,)
    differ = [
        f"{kind} is {_id(a)} on the left, {_id(b)} on the right"
        for (kind, a), (_, b) in zip(left, right, strict=True)
        if a != b
    ]
    return "; ".join(differ) if differ else f"{judgement.measure.in_words}: the same on both sides"


def _id(ident: str | None) -> str:
    return shown(ident) if ident is not None else "none"


def _words(judgement: Judgement, ask: Ask) -> str:
    what = judgement.measure.in_words
    if ask.one_of:
        return f"{what} is {clean(str(judgement.words))}, not one of {', '.join(ask.one_of)}"
    if judgement.words is True:
        return f"{what}: yes"
    if judgement.measure.name == "rebound_read":
        return "no rebound is given"
    damper = judgement.dampers[0]
    reasons = why_not(judgement.measure, damper)
    if reasons:
        about = judgement.measure.about
        return f"the {about} {shown(str(getattr(damper, about)))} {'; '.join(reasons)}"
    inputs = ((name, getattr(damper, name)) for name in plan(judgement.measure.name).inputs)
    given = ", ".join(f"{name} {shown(str(value))}" for name, value in inputs if value is not None)
    return f"{what}: no ({given})" if given else f"{what}: no"
