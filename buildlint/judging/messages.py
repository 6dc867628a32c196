"""What a judgement says to the builder, in one sentence with its figures."""

from __future__ import annotations

from collections.abc import Callable
from math import floor

from buildlint.files.amounts import amount, in_unit, told_apart
from buildlint.files.part_models import PART_KINDS
from buildlint.files.steps import missing_steps
from buildlint.judging.judgement import Judgement
from buildlint.judging.rule import Ask, limit_in_words
from buildlint.judging.values import value_of
from buildlint.measures import MEASURES
from buildlint.measures.cap_label import label_disagreements
from buildlint.measures.damper import Damper
from buildlint.text.words import clean, counted, listed, shown

__all__ = ["in_short", "message", "odds", "when"]

_WHEN = {"bench": "at the bench", "cold": "when cold", "hot": "when hot"}


def message(judgement: Judgement) -> str:
    """Say what was found: the figure, its limit, and how sure it is that this is kept."""
    if judgement.verdict == "not checked":
        return f"needs {listed(judgement.missing)}"
    ask = judgement.ask
    if ask is None:
        return judgement.rule.title
    if ask.exactly:
        return _not_the_same(judgement)
    if judgement.rule.compares_sides:
        return _apart(judgement)
    if judgement.figure is None:
        return _words(judgement, ask)
    return _figure(judgement, ask) + _also(judgement.also)


def _also(other: Judgement | None) -> str:
    """Say what a figure shows that fails with the one that is told."""
    if other is None or other.figure is None:
        return ""
    of = ""
    if len(other.dampers) == 1:
        of = f" of {other.dampers[0].corner.replace('.', ' ')}"
    value = amount(other.figure.value, other.unit)
    return f". The {other.measure.about}{of} shows more: {value}{when(other.condition)}"


def in_short(judgement: Judgement) -> str:
    """Say it at its shortest: as read, the limit, and how sure it is where that is in question."""
    found, ask, unit = judgement.figure, judgement.ask, judgement.unit
    if found is None or ask is None:
        return message(judgement)
    pair = ask.same_within is not None
    over = pair or judgement.upwards
    limit = (ask.same_within if pair else ask.at_most if over else ask.at_least) or 0.0
    value, limit_text = told_apart(found.value, limit, unit)
    text = f"{value}{' apart' if pair else ''}{when(judgement.condition)}"
    text += f", {'at most' if over else 'at least'} {limit_text}"
    if judgement.verdict == "borderline":
        text += f": holds {odds(judgement.chance or 0.0)}"
    return text


def odds(chance: float) -> str:
    """Say a chance in words, never better than it is.

    >>> odds(0.93), odds(0.03), odds(0.996)
    ('18 times in 20', 'less than once in 20 times', '199 times in 200')
    """
    if chance < 0.05:
        return "less than once in 20 times"
    of = 20 if chance < 0.95 else 200
    times = floor(chance * of + 1e-9)
    return f"{'once' if times == 1 else f'{times} times'} in {of}"


def when(condition: str | None) -> str:
    """Say a condition in words, with a space before it; nothing for none.

    >>> when("hot"), when(None)
    (' when hot', '')
    """
    return f" {_WHEN[condition]}" if condition else ""


def _figure(judgement: Judgement, ask: Ask) -> str:
    found, unit = judgement.figure, judgement.unit
    assert found is not None
    what = judgement.measure.in_words
    over = judgement.upwards
    limit = ask.at_most if over else ask.at_least
    assert limit is not None
    value, limit_text = told_apart(found.value, limit, unit)
    if judgement.measure.unit == "step":
        damper = judgement.dampers[0]
        left_out = ", ".join(missing_steps(damper.done or (), damper.style))
        return f"{what}: {left_out or 'none'}"
    start = f"{what} is {value}{when(judgement.condition)}, {limit_in_words(ask)}"
    if judgement.verdict == "holds":
        return start
    if judgement.verdict == "borderline":
        return f"{start}: holds {odds(judgement.chance or 0.0)}"
    if judgement.measure.name in _WORDED and _is_worded(judgement, over, limit):
        worded = _WORDED[judgement.measure.name]
        return worded(judgement, found.value, value.lstrip("-"), limit_text.lstrip("-"))
    # it is no more between two limits than it holds
    return start.replace(", between ", ", not between ")


def _window(judgement: Judgement, found: float, value: str, limit: str) -> str:
    damper = judgement.dampers[0]
    small = value_of(damper, "smallest_hold_back")
    large = value_of(damper, "largest_hold_back")
    most = f"at most {amount(large, 'mm')}" if large >= 0 else "even no hold-back is too much"
    return (
        f"to follow the shaft out, the bladder needs at least {amount(small, 'mm')} held "
        f"back; to have room in the cap, {most}"
    )


def _thinning(judgement: Judgement, found: float, value: str, limit: str) -> str:
    return f"the oil is {value} thicker when cold than when hot, at most {limit}"


def _days(judgement: Judgement, found: float, value: str, limit: str) -> str:
    days = round(in_unit(found, "day"))
    if days > 0:
        return f"built {counted(days, 'day')} before the event, at most {limit}"
    return f"built {counted(-days, 'day')} after the event"


def _blend(judgement: Judgement, found: float, value: str, limit: str) -> str:
    stated = judgement.dampers[0].viscosity_given or 0.0
    parts = stated / (1.0 + found)
    return (
        f"the viscosity given is {amount(stated, 'cSt')}, its parts give {amount(parts, 'cSt')}: "
        f"{value} apart, at most {limit}"
    )


def _rate(judgement: Judgement, found: float, value: str, limit: str) -> str:
    given = judgement.dampers[0].rate_given or 0.0
    of_wire = given / (1.0 + found)
    return (
        f"the rate given is {amount(given, 'N/mm')}, its wire and coils give "
        f"{amount(of_wire, 'N/mm')}: {value} apart, at most {limit}"
    )


def _bore(judgement: Judgement, found: float, value: str, limit: str) -> str:
    damper = judgement.dampers[0]
    made_for, bore = damper.bladder_bore or 0.0, damper.bore or 0.0
    return (
        f"the bladder is made for a bore of {amount(made_for, 'mm')}, the body's is "
        f"{amount(bore, 'mm')}: {value} apart, at most {limit}"
    )


def _piston(judgement: Judgement, found: float, value: str, limit: str) -> str:
    damper = judgement.dampers[0]
    piston, largest = damper.piston_diameter or 0.0, damper.largest_piston or 0.0
    return (
        f"the piston is {amount(piston, 'mm', 1)}, the largest that the body takes is "
        f"{amount(largest, 'mm', 1)}"
    )


def _planned(judgement: Judgement, found: float, value: str, limit: str) -> str:
    about, unit = judgement.measure.about, judgement.unit
    damper = judgement.dampers[0]
    read, planned = (
        amount(getattr(damper, name) or 0.0, unit) for name in (about, f"planned_{about}")
    )
    return f"{read} read, {planned} planned: {value} apart, at most {limit}"


def _against(judgement: Judgement, found: float, value: str, limit: str) -> str:
    damper, unit = judgement.dampers[0], judgement.unit
    assert damper.like is not None
    most = f"at most {limit}"
    other = clean(damper.like.build or "")
    if judgement.measure.against == "mean_damping":
        more = "more" if found > 0.0 else "less"
        return f"damps {value} {more} than {other}, {most}"
    about = judgement.measure.about
    read, there = (amount(getattr(d, about) or 0.0, unit) for d in (damper, damper.like))
    return f"{read} here, {there} in {other}: {value} apart, {most}"


def _other_parts(damper: Damper) -> str:
    """Say which parts are others than those of the build that it is like."""
    like = damper.like
    assert like is not None
    where = clean(like.build or "")
    return "; ".join(
        f"{kind} {_id(getattr(damper, kind))} here, {_id(getattr(like, kind))} in {where}"
        for kind in PART_KINDS
        if getattr(damper, kind) != getattr(like, kind)
    )


# Figures that say more in a sentence of their own, where they fail.
_WORDED: dict[str, Callable[[Judgement, float, str, str], str]] = {
    "hold_back_window": _window,
    "viscosity_spread": _thinning,
    "days_before_event": _days,
    "blend_disagreement": _blend,
    "rate_disagreement": _rate,
    "bladder_bore_off": _bore,
    "piston_to_spare": _piston,
    **{name: _planned for name in MEASURES if name.endswith("_off_plan")},
    **{name: _against for name, measure in MEASURES.items() if measure.against},
}


def _is_worded(judgement: Judgement, over: bool, limit: float) -> bool:
    """Return whether the sentence fits the limit: a team's own may ask for the other way."""
    if judgement.measure.name == "days_before_event":
        return over == (limit > 0.0)
    if judgement.measure.name == "hold_back_window":
        return not over and limit <= 0.0
    return limit >= 0.0 if over else limit <= 0.0


def _apart(judgement: Judgement) -> str:
    found, ask = judgement.figure, judgement.ask
    assert found is not None and ask is not None
    sides = ""
    if judgement.sides is not None:
        left, right = (amount(v, judgement.measure.unit) for v in judgement.sides)
        sides = f"left {left}, right {right}, "
    limit = ask.same_within or 0.0
    value, limit_text = told_apart(found.value, limit, judgement.unit)
    of_mean = " of their mean" if ask.relative else ""
    start = (
        f"{judgement.measure.in_words} {sides}{value}{of_mean} apart{when(judgement.condition)}, "
        f"at most {limit_text}"
    )
    if judgement.verdict == "borderline":
        return f"{start}: holds {odds(judgement.chance or 0.0)}"
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
        return judgement.rule.heading(judgement.verdict)
    damper = judgement.dampers[0]
    if judgement.measure.name == "parts_against":
        return _other_parts(damper)
    return f"the label {shown(damper.label or '')} {'; '.join(label_disagreements(damper))}"
