"""What would mend what fails at one end of a car: a reading turned, or a part from the parts files.

Both sides of the end are turned alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from buildlint.files.amounts import amount, in_unit
from buildlint.files.part_models import PART_KINDS
from buildlint.judging.candidates import BENCH_TEMPERATURES, Candidates, least_chance, ranges
from buildlint.judging.finding import Cure, CureFigure
from buildlint.judging.judge import Judge
from buildlint.judging.messages import odds
from buildlint.judging.rule import Rule
from buildlint.judging.values import value_of
from buildlint.measures import MEASURES, OF_THE_BLADDER
from buildlint.measures.damper import Damper
from buildlint.team.repository import Team
from buildlint.text.words import listed, shown

__all__ = ["cure"]

_ZERO_CELSIUS = 273.15

# How many parts are named at most.
_MOST_CHOICES = 3


def cure(judge: Judge, rule: Rule, subject: str, dampers: Sequence[Damper], team: Team) -> Cure:
    """Look for what mends a finding together with all that fails at that end.

    Tried in this order: each reading and each part that the rule names by itself, then the
    hold-back with the bladder, the hold-back with the temperature of the bench, the oil with the
    piston.
    """
    ends = ("front", "rear") if subject == "car" else (subject.split(".")[0],)
    figures: list[CureFigure] = []
    reasons: list[str] = []
    for end in ends:
        search = _Search(rule, team, Candidates(judge, list(dampers), end, team, rule))
        found = [c for reading in rule.turn if (c := search.alone(reading)) is not None]
        if not found:
            together = search.combined()
            found = [together] if together is not None else []
        if not found:
            reasons.append(search.why_none())
        figures += found
    return Cure(tuple(figures), " ".join(dict.fromkeys(reasons)) if not figures else "")


@dataclass(frozen=True)
class _Search:
    """What mends a finding of one rule, in words."""

    rule: Rule
    team: Team
    tries: Candidates

    def alone(self, reading: str) -> CureFigure | None:
        """Try one reading at every step, or every other part of a kind."""
        if reading in PART_KINDS:
            return self._part(reading)
        values = self.tries.values(reading)
        if values is None:
            return None
        good = self.tries.good(reading, values)
        now = float(getattr(self.tries.pair[0], reading) or 0.0)
        nearest = _nearest(ranges(values, good), now)
        if nearest is None:
            return None
        span = (float(values[0]), float(values[-1]))
        text = f"Holds with {_in_words(reading, nearest, span)}, on both sides"
        if self.rule.level == "must":
            failing = self.tries.shoulds_failing(reading, values)
            inside = good & (nearest[0] <= values) & (values <= nearest[1])
            fewest = inside & (failing == failing[inside].min())
            best = _nearest(ranges(values, fewest), now)
            if best is not None and best != nearest:
                shoulds = "the fewest shoulds fail" if failing[fewest].any() else "no should fails"
                text += f"; {shoulds} with {_in_words(reading, best, span)}"
        text += "."
        unit = MEASURES[reading].unit
        least, most = (round(in_unit(value, unit), 6) for value in nearest)
        return CureFigure(reading, least, most, unit, text, self.tries.end)

    def _part(self, kind: str) -> CureFigure | None:
        idents = self.tries.other_parts((kind,))
        if not idents:
            return None
        best, breaks = self.tries.best(self.tries.with_parts((kind,), idents), {kind})
        named = [(ident, "", breaks[n]) for n in best for (ident,) in [idents[n]]]
        return self._offered(kind, f"another {kind}", named)

    def _offered(
        self, kind: str, what: str, best: Sequence[tuple[str, str, list[str]]]
    ) -> CureFigure | None:
        """Offer the first of some parts of a kind, each with what goes with it and what it breaks.

        `what` names them all.
        """
        best = best[:_MOST_CHOICES]
        if not best:
            return None
        named = ", ".join(
            f"{shown(ident)}{more}{self._unsure(kind, ident)}{_then(broken)}"
            for ident, more, broken in best
        )
        text = f"Holds with {what} at the {self.tries.end}: {named}.{self._label(kind)}"
        choices = tuple(ident for ident, _, _ in best)
        return CureFigure(kind, None, None, None, text, self.tries.end, choices)

    def _unsure(self, kind: str, ident: str) -> str:
        """Say that it is not known whether a bladder fits, where either bore is not given."""
        if kind != "bladder" or self.tries.bore_is_known(ident):
            return ""
        return " (see that it fits this bore)"

    def _label(self, kind: str) -> str:
        labelled = any(d.label is not None for d in self.tries.pair)
        if not labelled or kind not in ("oil", "piston"):
            return ""
        return " Then write the label on the cap again."

    def combined(self) -> CureFigure | None:
        """Try two readings that are turned together."""
        turn = self.rule.turn
        if "hold_back" in turn:
            found = self._with_bladder() if "bladder" in turn else None
            return found or self._with_bench()
        if "oil" in turn and "piston" in turn:
            return self._with_piston()
        return None

    def _with_bladder(self) -> CureFigure | None:
        """Try every bladder, each with the hold-back in the middle of its window."""
        tries = self.tries
        idents = tries.other_parts(("bladder",))
        if not idents:
            return None
        batch = tries.with_parts(("bladder",), idents)
        held = tries.middles(batch)
        best, breaks = tries.best(tries.sealed(batch, held), {"bladder", "hold_back"})
        named = [
            (idents[n][0], f" with hold-back {amount(float(held[n]), 'mm')}", breaks[n])
            for n in best
        ]
        return self._offered("bladder", "another bladder", named)

    def _with_bench(self) -> CureFigure | None:
        """Try every temperature of the bench, each with the middle of its window as hold-back."""
        tries = self.tries
        now = tries.pair[0].bench_temperature
        if now is None:
            return None
        temperatures = BENCH_TEMPERATURES
        batch = tries.base.batch.turned({"bench_temperature": temperatures})
        held = tries.middles(batch)
        good = tries.mended(tries.sealed(batch, held), {"bench_temperature", "hold_back"})
        if not good.any():
            return None
        best = min(np.flatnonzero(good).tolist(), key=lambda i: abs(float(temperatures[i]) - now))
        value = round(float(temperatures[best]) - _ZERO_CELSIUS, 6)
        hold_back = float(held[best])
        text = (
            f"Holds when sealed at {value:g} degC with hold-back {amount(hold_back, 'mm')} "
            f"at the {tries.end}; then write that temperature under [bench]."
        )
        return CureFigure("bench_temperature", value, value, "degC", text, tries.end)

    def _with_piston(self) -> CureFigure | None:
        """Try every oil with every piston."""
        kinds = ("oil", "piston")
        idents = self.tries.other_parts(kinds)
        if not idents:
            return None
        best, breaks = self.tries.best(self.tries.with_parts(kinds, idents), {*kinds})
        named = [
            (oil, f" with {shown(piston)}", breaks[n]) for n in best for oil, piston in [idents[n]]
        ]
        return self._offered("oil", "another oil and piston", named)

    def why_none(self) -> str:
        """Say why nothing is offered, and what comes nearest."""
        reason = _no_window(self.tries.pair) if self.rule.measure in OF_THE_BLADDER else ""
        must = self.rule.level == "must"
        nearest = self._nearest() if must and not reason and "hold_back" in self.rule.turn else ""
        turned = [r for r in self.rule.turn if r in PART_KINDS or self.tries.values(r) is not None]
        if not turned:
            return reason
        tried = [r.replace("_", "-") for r in turned]
        every = "every must" if must else "this and every must"
        none = f"No other {' or '.join(tried)} lets {every} hold: fit other parts."
        return " ".join(filter(None, (reason or none, nearest)))

    def _nearest(self) -> str:
        """Say which hold-back has the greatest least chance."""
        values = self.tries.values("hold_back")
        if values is None:
            return ""
        turned = self.tries.base.batch.turned({"hold_back": values}, (self.tries.end,))
        least = least_chance(self.tries.levels(turned, {"hold_back"}, "must"), len(values))
        best = int(np.argmax(least))
        if not 0.05 <= least[best] < self.tries.judge.sure:
            return ""
        held = amount(float(values[best]), "mm")
        return f"Of all hold-backs {held} comes nearest: it holds {odds(float(least[best]))}."


def _nearest(found: Sequence[tuple[float, float]], now: float) -> tuple[float, float] | None:
    return min(found, key=lambda r: max(r[0] - now, now - r[1], 0.0), default=None)


def _then(breaks: Sequence[str]) -> str:
    if not breaks:
        return ""
    return f" (but then {listed(breaks)} fail{'s' if len(breaks) == 1 else ''})"


def _in_words(reading: str, found: tuple[float, float], span: tuple[float, float]) -> str:
    unit = MEASURES[reading].unit
    low, high = found
    name = reading.replace("_", "-")
    from_end, to_end = low <= span[0], high >= span[1] - 1e-9
    if from_end and to_end:
        return f"any {name}"
    if from_end and high <= 0.0:
        return f"no {name}" if reading != "collar" else "the collar backed right off"
    if from_end:
        return f"{name} {_text(high, unit)} or less"
    if to_end:
        return f"{name} {_text(low, unit)} or more"
    if high - low < 1e-9:
        return f"{name} {_text(low, unit)}, and no other"
    return f"{name} {_text(low, unit)} to {_text(high, unit)}"


def _text(value: float, unit: str) -> str:
    short = amount(value, unit)
    in_tenths = round(in_unit(value, unit), 1)
    return short if abs(in_tenths - in_unit(value, unit)) < 1e-9 else amount(value, unit, 1)


def _no_window(pair: Sequence[Damper]) -> str:
    """Say so where the bladder leaves no hold-back to choose."""
    small = max(value_of(d, "smallest_hold_back") for d in pair)
    large = min(value_of(d, "largest_hold_back") for d in pair)
    if large < 0.0:
        return "Fit another bladder: oil and air alone fill this one's cap."
    if small > large:
        small_text, large_text = amount(small, "mm"), amount(large, "mm")
        return f"Fit other parts: the shaft needs {small_text}, the cap takes {large_text}."
    return ""
