"""The parts and the hold-back with which one end of a car feels most like itself at another event.

Nothing is worked out here: what is tried are candidates as for a cure, judged by the same rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import expm1, isfinite, isnan, nan
from typing import Any, NamedTuple

import numpy as np

from buildlint.files.amounts import in_unit
from buildlint.judging.candidates import (
    Candidates,
    Level,
    Mask,
    least_chance,
    offered,
)
from buildlint.judging.judge import Judge
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.marks import Array
from buildlint.team.repository import Team

__all__ = ["MOVED", "WORTH_A_PART", "Candidate", "EndSearch"]

#: More parts are changed only where the damping comes nearer by more than so much: two oils whose
#: viscosity is known to 5 % each differ by as much.
WORTH_A_PART = 0.05

#: What comes no nearer than by so much is as good.
_AS_NEAR = 0.01

# So many candidates are told at most, so many because they are as good as the first.
_MOST_TOLD = 4
_MOST_AS_GOOD = 2

_KINDS = ("oil", "piston", "bladder")
#: What may be changed.
MOVED = (*_KINDS, "hold_back")


@dataclass(frozen=True, slots=True)
class Candidate:
    """What one end could be built with, alike on both sides, and how it would feel there.

    `cold`, `hot` and the forces at a shaft speed of 0.5 m/s are those there over those at the
    build's own event, less one; `error` is the greater |ln| of both dampings. `changed` are the
    kinds of part that are not as now; a part is None where left and right have two now. `hold_back`
    and the window within which every must holds, `least` to `most`, are in mm; None where there is
    none or it is not known. `chance` is the least that a must is kept. `fails` are the musts that
    fail or are borderline, `newly_fails` the shoulds that fail and do not at the build's own event.
    `as_good` says that it comes as near as the first, with as many parts changed; `bore_known`
    whether it is known that another bladder is of the bore.
    """

    oil: str | None
    piston: str | None
    bladder: str | None
    hold_back: float | None
    changed: tuple[str, ...]
    cold: float
    hot: float
    force_cold: float
    force_hot: float
    error: float
    least: float | None
    most: float | None
    chance: float
    fails: tuple[str, ...] = ()
    newly_fails: tuple[str, ...] = ()
    as_good: bool = False
    bore_known: bool = True


class _Judged(NamedTuple):
    """What the rules say of a candidate."""

    chance: float
    fails: tuple[str, ...]
    newly_fails: tuple[str, ...]

    @property
    def badness(self) -> tuple[float, int]:
        """What is least first: how sure it is that a must fails, then how many shoulds do."""
        return (1.0 - round(self.chance, 2) if self.fails else 0.0), len(self.newly_fails)

    def and_also(self, other: _Judged) -> _Judged:
        return _Judged(
            min(self.chance, other.chance),
            (*self.fails, *other.fails),
            (*self.newly_fails, *other.newly_fails),
        )


_SOUND = _Judged(1.0, (), ())


class _Sealed(NamedTuple):
    """A bladder with a hold-back (m), and its window."""

    bladder: str | None
    hold_back: float
    least: float
    most: float
    judged: _Judged


class _Pair(NamedTuple):
    """An oil with a piston: ln of the damping there over that at the build's own event."""

    oil: str
    piston: str
    cold: float
    hot: float
    changed: tuple[str, ...]
    judged: _Judged

    @property
    def error(self) -> float:
        return max(abs(self.cold), abs(self.hot))


class _Choice(NamedTuple):
    """An oil and a piston, with the bladder and the hold-back that suit the oil."""

    pair: _Pair
    made: _Sealed
    changed: tuple[str, ...]

    @property
    def error(self) -> float:
        return self.pair.error

    @property
    def judged(self) -> _Judged:
        return self.pair.judged.and_also(self.made.judged)


@dataclass(frozen=True)
class EndSearch:
    """One end of a build as it is at its own event, `here`, and with nothing changed, `there`.

    `judge` judges by the rules of a plan.
    """

    judge: Judge
    team: Team
    here: list[Damper]
    there: list[Damper]
    end: str

    @cached_property
    def tries(self) -> Candidates:
        """What could be fitted at this end there."""
        return Candidates(self.judge, self.there, self.end, self.team)

    @cached_property
    def now(self) -> dict[str, str | None]:
        """The part of each kind that both sides have; None where they have none, or two."""
        every = {kind: {getattr(d, kind) for d in self.tries.pair} for kind in _KINDS}
        return {kind: min(ids) if len(ids) == 1 else None for kind, ids in every.items()}

    @cached_property
    def hold_back(self) -> float:
        """The hold-back now, alike on both sides (m); not a number where no bladder is known."""
        pair = self.tries.pair
        known = all(self.team.part("bladder", damper.bladder) is not None for damper in pair)
        held = pair[0].hold_back
        return held if known and held is not None else nan

    # --- how near ---------------------------------------------------------------------------------

    def against_now(self, batch: Batch, name: str) -> Array:
        """Return ln of a figure of each candidate over that at the build's own event.

        Cold and hot, (condition, candidate): of both sides the mean.
        """
        was = Figures(Batch([self.here]).of_end(self.end))[name].as_read
        found = Figures(batch.of_end(self.end))[name].as_read
        with np.errstate(divide="ignore", invalid="ignore"):
            logs = np.log(found[1:]).reshape(2, len(batch.corner), -1) - np.log(was[1:])[:, None]
        nearer: Array = logs.mean(axis=2)
        return nearer

    @cached_property
    def pairs(self) -> list[_Pair]:
        """Every oil with every piston whose damping is known, judged by what the piston enters."""
        idents = list(product(offered(self.team, "oil"), offered(self.team, "piston")))
        batch = self._fitted(idents)
        logs = self.against_now(batch, "damping")
        judged = self._judged(self.tries.levels(batch, ("piston",)), len(idents))
        found = [
            _Pair(
                oil,
                piston,
                float(logs[0, n]),
                float(logs[1, n]),
                self._changed(oil=oil, piston=piston),
                judged[n],
            )
            for n, (oil, piston) in enumerate(idents)
        ]
        return [pair for pair in found if isfinite(pair.error)]

    def _fitted(self, idents: Sequence[tuple[str, str]]) -> Batch:
        """Return each oil with a piston, with the bladder and the hold-back that suit the oil."""
        if isnan(self.hold_back):
            return self.tries.with_parts(("oil", "piston"), idents)
        parts = [(oil, piston, self.sealed[oil].bladder or "") for oil, piston in idents]
        held = np.array([self.sealed[oil].hold_back for oil, _ in idents])
        return self.tries.sealed(self.tries.with_parts(_KINDS, parts), held)

    def _changed(self, **parts: str | None) -> tuple[str, ...]:
        return tuple(kind for kind, ident in parts.items() if ident != self.now[kind])

    # --- what the rules say ----------------------------------------------------------------------

    @cached_property
    def _fails_now(self) -> set[str]:
        """The shoulds that fail at this end at the build's own event."""
        here = Candidates(self.judge, self.here, self.end, self.team)
        levels = here.levels(here.base.batch, MOVED)
        return {x.rule.id for x in levels if x.was_bad}

    def _judged(self, levels: Sequence[Level], count: int) -> list[_Judged]:
        least = least_chance(levels, count)
        musts = [x for x in levels if x.rule.level == "must"]
        new = [x for x in levels if x.rule.level == "should" and x.rule.id not in self._fails_now]
        return [
            _Judged(
                float(least[n]),
                tuple(x.rule.id for x in musts if not x.holds[n]),
                tuple(x.rule.id for x in new if x.bad[n]),
            )
            for n in range(count)
        ]

    @cached_property
    def sealed(self) -> dict[str, _Sealed]:
        """The bladder and the hold-back that suit each oil: as now, wherever they do."""
        oils, now = offered(self.team, "oil"), self.now["bladder"]
        if isnan(self.hold_back):
            return {oil: made for (oil, _), made in self._sealed_with([(o, now) for o in oils])}
        found: dict[str, _Sealed] = {}
        bladders = offered(self.team, "bladder")
        for some in ([b for b in bladders if b == now], [b for b in bladders if b != now]):
            unsuited = [o for o in oils if o not in found or found[o].judged.badness > (0.0, 0)]
            for (oil, _), made in self._sealed_with(list(product(unsuited, some))):
                found[oil] = min(found.get(oil, made), made, key=self._how_unlike_now)
        return found

    def _how_unlike_now(self, made: _Sealed) -> tuple[Any, ...]:
        moved = abs(made.hold_back - self.hold_back)
        return *made.judged.badness, made.bladder != self.now["bladder"], moved

    def _sealed_with(
        self, idents: Sequence[tuple[str, str | None]]
    ) -> list[tuple[tuple[str, str | None], _Sealed]]:
        """Return each oil with a bladder, sealed at the hold-back nearest to the one now."""
        if not idents:
            return []
        tries = self.tries
        count = len(idents)
        least = most = held = np.full(count, np.nan)
        if isnan(self.hold_back):
            batch = tries.with_parts(("oil",), [(oil,) for oil, _ in idents])
        else:
            batch = tries.with_parts(("oil", "bladder"), [(o, b or "") for o, b in idents])
            least, most = tries.windows(batch)
            middle = tries.middles(batch)
            # where none holds, the middle comes nearest
            held = np.where(np.isnan(middle), self.hold_back, middle)
            held = np.where(np.isnan(least), held, np.clip(self.hold_back, least, most))
            batch = tries.sealed(batch, held)
        of_piston = {rule.id for rule in tries.entered_by(("piston",))}
        levels = tries.levels(batch, ("oil", "bladder", "hold_back"))
        judged = self._judged([x for x in levels if x.rule.id not in of_piston], count)
        return [
            (each, _Sealed(each[1], float(held[n]), float(least[n]), float(most[n]), judged[n]))
            for n, each in enumerate(idents)
        ]

    def benches(self, temperatures: Array) -> Mask:
        """Return at which bench temperatures (K) every must holds with some oil and bladder."""
        tries = self.tries
        idents = list(product(offered(self.team, "oil"), offered(self.team, "bladder")))
        if not idents or isnan(self.hold_back):
            return np.zeros(len(temperatures), dtype=bool)
        batch = tries.with_parts(("oil", "bladder"), idents)
        batch = batch.turned({"bench_temperature": temperatures})
        good = tries.mended(tries.sealed(batch, tries.middles(batch)), {"oil", "bladder"})
        return np.asarray(good.reshape(len(temperatures), -1).any(axis=1))

    # --- in order --------------------------------------------------------------------------------

    @cached_property
    def choices(self) -> list[_Choice]:
        """Every oil with every piston, each with the bladder and the hold-back that suit the oil.

        Of those that hold surest and newly fail the fewest shoulds; nothing else is chosen from.
        """
        every = [
            _Choice(pair, made, (*pair.changed, *self._changed(bladder=made.bladder)))
            for pair in self.pairs
            for made in (self.sealed[pair.oil],)
        ]
        least = min((choice.judged.badness for choice in every), default=None)
        return [choice for choice in every if choice.judged.badness == least]

    def candidates(self) -> tuple[Candidate, ...]:
        """Return what comes nearest, the best first; nothing where no damping is known.

        The first has the fewest parts changed of all that come within WORTH_A_PART of the nearest.
        Then what is as good, what comes nearest of all, and the nearest with fewer parts changed.
        """
        choices = sorted(self.choices, key=lambda choice: choice.error)
        if not choices:
            return ()
        near = [c for c in choices if c.error <= choices[0].error + WORTH_A_PART]
        first = min(near, key=lambda choice: len(choice.changed))
        as_good = [
            c
            for c in choices
            if c is not first and len(c.changed) == len(first.changed)
            if c.error <= first.error + _AS_NEAR
        ]
        told = [first, *as_good[:_MOST_AS_GOOD]]
        if choices[0].error < first.error - _AS_NEAR:
            told.append(choices[0])
        for count in range(1, len(first.changed)):
            told += [c for c in choices if len(c.changed) == count][:1]
        told = [c for n, c in enumerate(told) if c not in told[:n]][:_MOST_TOLD]
        batch = self._fitted([(c.pair.oil, c.pair.piston) for c in told])
        forces = self.against_now(batch, "quick_force")
        return tuple(
            self._candidate(c, (float(forces[0, n]), float(forces[1, n])), c in as_good)
            for n, c in enumerate(told)
        )

    @cached_property
    def unchanged(self) -> Candidate:
        """Return how it would be there with nothing changed, the hold-back neither."""
        batch = self.tries.base.batch
        (cold,), (hot,) = self.against_now(batch, "damping").tolist()
        (force_cold,), (force_hot,) = self.against_now(batch, "quick_force").tolist()
        oil, piston = self.now["oil"] or "", self.now["piston"] or ""
        (judged,) = self._judged(self.tries.levels(batch, MOVED), 1)
        known = self.sealed.get(oil)
        if known is not None and known.bladder == self.now["bladder"]:
            least, most = known.least, known.most
        else:
            (least,), (most,) = (end.tolist() for end in self.tries.windows(batch))
        pair = _Pair(oil, piston, cold, hot, (), _SOUND)
        made = _Sealed(self.now["bladder"], self.hold_back, least, most, judged)
        return self._candidate(_Choice(pair, made, ()), (force_cold, force_hot))

    def _candidate(
        self, choice: _Choice, forces: tuple[float, float], as_good: bool = False
    ) -> Candidate:
        pair, made = choice.pair, choice.made
        return Candidate(
            oil=pair.oil or None,
            piston=pair.piston or None,
            bladder=made.bladder,
            hold_back=_in_mm(made.hold_back),
            changed=choice.changed,
            cold=expm1(pair.cold),
            hot=expm1(pair.hot),
            force_cold=expm1(forces[0]),
            force_hot=expm1(forces[1]),
            error=pair.error,
            least=_in_mm(made.least),
            most=_in_mm(made.most),
            **choice.judged._asdict(),
            as_good=as_good,
            bore_known=made.bladder is None
            or "bladder" not in choice.changed
            or self.tries.bore_is_known(made.bladder),
        )


def _in_mm(value: float) -> float | None:
    """Return a length in mm; None for one that is not known."""
    return None if isnan(value) else round(in_unit(value, "mm"), 6)
