"""A judge whose rules are as a test says, and dampers by hand."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from buildlint.judge import Judge, Judgement
from buildlint.solve import cures

from buildlint.damper import Damper
from buildlint.finding import Cure, Verdict
from buildlint.measures import MEASURES
from buildlint.rule import Rule
from buildlint.rulebook import load_rulebook
from tests.making import sides, with_reading

BOOK = load_rulebook()


def with_hold_back(pair: Sequence[Damper], millimetres: float) -> list[Damper]:
    """Seal both dampers at a hold-back, read as closely as before."""
    return [with_reading(damper, "hold_back", millimetres * 1e-3) for damper in pair]


class Empty:
    """Drawers with nothing in them: parts are not what is turned here."""

    def ids(self, kind: str) -> Sequence[str]:
        return ()

    def fitted(self, damper: Damper, kind: str, ident: str) -> Damper:
        return damper


# Shaft 3.5 mm: 9.6211 mm^2 (physics.md, section 1). Nothing else varies: bench only, no tolerance.
_BY_HAND: dict[str, Any] = {
    "shaft_diameter": 3.5e-3,
    "stroke": 30e-3,
    "body_length": 52e-3,
    "bore": 16e-3,
    "cap": "vented",
    "oil_volume": 9e-6,
    "expansion": 9.6e-4,
    "bench_temperature": 293.15,
    "bench_altitude": 0.0,
}


def by_hand(**more: Any) -> tuple[Damper, Damper]:
    return sides(Damper(end="front", side="left", **{**_BY_HAND, **more}))


class Wanting(Judge):
    """Judges by hand: each rule is as a function of the damper says."""

    def __init__(self, **asked: tuple[str, Any]) -> None:
        like = BOOK["hold-back/in-stroke"]
        self.rules = tuple(
            replace(like, id=name, level=level, turn=("hold_back",))
            for name, (level, _) in asked.items()
        )
        self._verdicts = {name: verdict for name, (_, verdict) in asked.items()}

    def one(self, rule: Rule, found: Sequence[Damper]) -> Iterator[Judgement]:
        verdicts = [self._verdicts[rule.id](d) for d in found]
        if len(set(verdicts)) == 1:
            yield self._judgement(rule, found[0].end, found, verdicts[0])
            return
        for damper, verdict in zip(found, verdicts, strict=True):
            yield self._judgement(rule, f"{damper.end}.{damper.side}", [damper], verdict)

    def _judgement(
        self, rule: Rule, subject: str, found: Sequence[Damper], verdict: Verdict
    ) -> Judgement:
        margin = 1.0 if verdict == "holds" else -1.0
        return Judgement(rule, MEASURES["hold_back"], subject, tuple(found), verdict, margin=margin)

    def cure(self, name: str, pair: Sequence[Damper], drawers: Any = None) -> Cure:
        rule = next(rule for rule in self.rules if rule.id == name)
        (judgement,) = self.one(rule, pair)
        return cures(self, judgement, pair, drawers or Empty())


def where(holds: Any) -> Any:
    """A verdict that follows a function of the hold-back in mm."""
    return lambda d: "holds" if holds(d.hold_back * 1e3) else "fails"
