"""Carry a build to another event so that the car feels most like itself there."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from math import nan
from typing import Literal, NoReturn

import numpy as np

from buildlint.files.amounts import in_unit
from buildlint.files.models import Build
from buildlint.files.paths import path_of
from buildlint.files.reader import FileRead
from buildlint.judging.adapt_blend import Blend, nearest_blend
from buildlint.judging.adapt_end import MOVED, WORTH_A_PART, Candidate, EndSearch
from buildlint.judging.candidates import BENCH_TEMPERATURES, offered
from buildlint.judging.carried import (
    Changes,
    carried,
    changes_for,
    schema_seen_from,
    text_of,
)
from buildlint.judging.finding import BADNESS, Verdict
from buildlint.judging.finding_writer import FindingWriter, mistakes_in, mistakes_told
from buildlint.judging.judge import Judge
from buildlint.judging.judgement import Judgement
from buildlint.judging.messages import in_short, message
from buildlint.judging.rulebook import Rulebook
from buildlint.judging.rules_in_force import rules_of
from buildlint.judging.values import lacking
from buildlint.measures.damper import Damper
from buildlint.team.assembly import dampers
from buildlint.team.life import is_plan
from buildlint.team.repository import Team
from buildlint.team.selection import build_of, find_event
from buildlint.text.errors import PathError
from buildlint.text.words import clean, listed

__all__ = ["Adaptation", "AdaptedEnd", "Remaining", "adapt"]

_ENDS = ("front", "rear")
_ZERO_CELSIUS = 273.15


@dataclass(frozen=True, slots=True)
class AdaptedEnd:
    """One end: how it would be there with nothing changed, and what it could be built with.

    `least_error` is the least |ln| that an oil of any thickness could reach, thinning as one of the
    parts files does: from cold to hot it thins by another ratio there. `tried` counts the pairs of
    oil and piston. `candidates` are what comes nearest, best first; `blend` is only there where
    none of them comes near.
    """

    end: str
    unchanged: Candidate
    least_error: float
    tried: int
    candidates: tuple[Candidate, ...]
    blend: Blend | None = None


@dataclass(frozen=True, slots=True)
class Remaining:
    """What does not hold with the first candidate of both ends: a must, or a should newly.

    `short` is the message at its shortest. `caution` is the rule's, where a must fails.
    """

    rule: str
    level: Literal["must", "should"]
    verdict: Verdict
    subject: str
    message: str
    short: str
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Adaptation:
    """A build carried to another event.

    `temperatures` are the coldest and the hottest oil there (degC), `from_temperatures` those at
    the event that it was built for.
    `bench_temperature` (degC) is where both ends have to be built, where they hold nowhere nearer
    to the bench as it was; None: as it was. `remaining` is what does not hold with the first
    candidate of both ends, `chance` the least that a must is then kept, `not_checked` what is
    missing for musts. `balance_cold` and `balance_hot` are by how much the damping of the front
    over that of the rear changes. `mistakes` are those in the files, each FILE:LINE:COL: what.
    """

    build: str
    event: str
    from_event: str
    from_temperatures: tuple[float, float]
    temperatures: tuple[float, float]
    front: AdaptedEnd
    rear: AdaptedEnd
    bench_temperature: float | None
    balance_cold: float
    balance_hot: float
    chance: float
    remaining: tuple[Remaining, ...]
    not_checked: tuple[str, ...]
    mistakes: tuple[str, ...] = ()
    _file: FileRead | None = field(default=None, repr=False, compare=False)
    _changes: Changes = field(default_factory=dict, repr=False, compare=False)

    @property
    def holds(self) -> bool:
        """Whether every must holds with the first candidate of both ends, none left unchecked."""
        stays = any(each.level == "must" for each in self.remaining)
        fails = self.front.candidates[0].fails or self.rear.candidates[0].fails
        return not (stays or fails or self.not_checked)

    def plan(self, path: str | os.PathLike[str] | None = None) -> str:
        """Return the first candidate of both ends as the text of a NAME.build.toml, a plan.

        The old file's comments are kept; what is only read on a finished damper is not copied. With
        the path that it is for, the comment that names its schema leads there from that folder.
        Raises PathError for a file that is laid out so that it cannot be changed.
        """
        if self._file is None or not self._file.data:
            raise PathError(f"{clean(self.build)} stands in no file: there is no text to keep")
        try:
            self.build.encode()
        except UnicodeEncodeError:
            said = f"the name of {clean(self.build)} is not UTF-8, so that no file can name it"
            raise PathError(said) from None
        text = text_of(self._file.data.decode("utf-8-sig"), self._changes)
        return text if path is None else schema_seen_from(text, self._file.path, path_of(path))


def adapt(
    build: str | os.PathLike[str], event: str | os.PathLike[str], team: Team | None = None
) -> Adaptation:
    """Find what a build should be built with for another event, to feel most like itself there.

    End by end, over every oil, piston, bladder and hold-back, and the temperature of the bench only
    where nothing else holds: the damping when cold and when hot comes as near as it can to that at
    the build's own event. Build and event are given by the path of the file or by the id; without a
    team, in the repository of the working directory. Nothing is printed or written.

    Raises PathError where there is no such build or event, or where there is nothing to adapt;
    SettingsError and RulebookError where settings or rules cannot be used.

    >>> found = adapt("examples/saltmarsh/builds/heron-estuary.build.toml", "quarry-six-hour")
    >>> found.front.candidates[0].oil, round(found.front.candidates[0].hot, 2)
    ('o450', -0.15)
    """
    with_it, path = build_of(build, team)
    job = _Job.of(with_it, with_it.file(path), event)
    return job.done()


@dataclass(frozen=True)
class _Job:
    """A build of a team, and the event that it is carried to."""

    team: Team
    file: FileRead
    model: Build
    event: str
    judge: Judge
    judge_of_plan: Judge
    here: list[Damper]
    mistakes: tuple[str, ...]

    @classmethod
    def of(cls, team: Team, file: FileRead, event: str | os.PathLike[str]) -> _Job:
        """Look at what is given; raises PathError where it cannot be adapted."""
        model, name, force = file.model, clean(file.id), rules_of(team)
        mistakes = mistakes_in(team, file.path, force.book)
        if not isinstance(model, Build):
            raise PathError("\n".join(mistakes) or f"there is nothing in {name}")
        to_file = team.file(find_event(event, team)[1])
        to = to_file.id
        mistakes += mistakes_told(FindingWriter(team, force.book).in_file(to_file))
        if model.event is None:
            raise PathError(f"{name} names no event, so it is not known how the car felt with it")
        if is_plan(file):
            like = f", such as {clean(model.like)}" if model.like is not None else ""
            raise PathError(f"{name} is a plan, which nobody has driven: adapt one that was{like}")
        if to == model.event:
            raise PathError(f"{name} is built for {clean(to)} already: name another event")
        judge = Judge(_but_likeness(force.book), force.sure)
        of_plan = Judge(force.book, force.sure)
        job = cls(team, file, model, to, judge, of_plan, dampers(team, file), mistakes)
        job._check_choice()
        job._check_known(job.here, f"at {clean(model.event)}")
        job._check_known(job.planned(job.changes(None)), f"at {clean(to)}")
        return job

    def _check_choice(self) -> None:
        parts = {kind: offered(self.team, kind) for kind in ("oil", "piston", "bladder")}
        if all(damper.bladder is None for damper in self.here):
            del parts["bladder"]
        for kind, ids in parts.items():
            if not ids:
                self._refuse(f"there is no {kind} in the parts files to choose from")
        if len(parts["oil"]) == len(parts["piston"]) == 1:
            self._refuse("there is no other oil and no other piston in the parts files")

    def _check_known(self, made: list[Damper], where: str) -> None:
        lacks = {
            missing
            for damper in made
            for condition in ("cold", "hot")
            for missing in lacking(damper, "damping", condition)
        }
        if lacks or len(made) < 4:
            needs = listed(sorted(lacks)) or "both ends"
            which = clean(self.file.id)
            self._refuse(f"the damping of {which} {where} is not known: it needs {needs}")

    def _refuse(self, said: str) -> NoReturn:
        """Raise PathError, with the mistakes in the files that may be why."""
        raise PathError("\n".join((said, *self.mistakes)))

    def changes(
        self, ends: Mapping[str, Candidate] | None, bench_temperature: float | None = None
    ) -> Changes:
        """Return what makes the plan of the build's file."""
        car, _ = self.team.car_of(self.model)
        return changes_for(self.model, car, self.event, self.file.id, ends, bench_temperature)

    def planned(self, changes: Changes) -> list[Damper]:
        """Return the dampers of a plan, as they would be read from its file."""
        path = self.file.path.with_name(f"{self.file.id} at {self.event}.build.toml")
        team = self.team.with_files({str(path): carried(self.model.as_table(), changes)})
        return dampers(team, team.file(path))

    # --- searched --------------------------------------------------------------------------------

    def searches(self, bench_temperature: float | None = None) -> dict[str, EndSearch]:
        there = self.planned(self.changes(None, bench_temperature))
        return {e: EndSearch(self.judge, self.team, self.here, there, e) for e in _ENDS}

    def done(self) -> Adaptation:
        """Search both ends, and judge what comes nearest at both together."""
        searches, bench = self.searches(), None
        found = {end: search.candidates() for end, search in searches.items()}
        if not all(found.values()):
            known = "no oil and piston in the parts files give a known damping"
            raise PathError(f"{clean(self.file.id)} cannot be carried over: {known}")
        if any(each[0].fails for each in found.values()):
            bench = self._other_bench(searches)
            if bench is not None:
                searches = self.searches(bench)
                found = {end: search.candidates() for end, search in searches.items()}
        first = self._together(found, bench)
        # how like it comes out is no part of the search, and is told all the same
        judgements = self.judge_of_plan.judge(self.planned(self.changes(first, bench)))
        front, rear = (self._end(searches[end], found[end], first[end]) for end in _ENDS)
        remaining = tuple(self._remaining(judgements))
        chances = [j.chance for j in judgements if j.rule.level == "must" and j.chance is not None]
        return Adaptation(
            build=self.file.id,
            event=self.event,
            from_event=self.model.event or "",
            from_temperatures=_temperatures(self.here[0]),
            temperatures=_temperatures(searches["front"].there[0]),
            front=front,
            rear=rear,
            bench_temperature=bench,
            balance_cold=(1.0 + first["front"].cold) / (1.0 + first["rear"].cold) - 1.0,
            balance_hot=(1.0 + first["front"].hot) / (1.0 + first["rear"].hot) - 1.0,
            chance=min(chances, default=1.0),
            remaining=remaining,
            not_checked=tuple(_not_checked(judgements, searches["front"])),
            mistakes=self.mistakes,
            _file=self.file,
            _changes=self.changes(first, bench),
        )

    def _other_bench(self, searches: Mapping[str, EndSearch]) -> float | None:
        """Return the temperature nearest to the bench's at which both ends can hold (degC).

        None where they can at the one now, or at none.
        """
        now = self.here[0].bench_temperature
        if now is None:
            return None
        every = np.append(BENCH_TEMPERATURES, now)
        good = np.logical_and.reduce([search.benches(every) for search in searches.values()])
        if good[-1] or not good.any():
            return None
        nearest = float(min(every[good], key=lambda value: abs(value - now)))
        return round(nearest - _ZERO_CELSIUS, 6)

    def _together(
        self, found: Mapping[str, Sequence[Candidate]], bench: float | None
    ) -> dict[str, Candidate]:
        """Return the first candidates of both ends that no should of the whole car newly fails."""
        ranks = sorted(product(*(range(len(found[end])) for end in _ENDS)), key=sum)
        every = [{end: found[end][n] for end, n in zip(_ENDS, r, strict=True)} for r in ranks]
        for first in every:
            judgements = self.judge.judge(self.planned(self.changes(first, bench)))
            if not any(j.measure.of and self._newly_fails(j) for j in judgements):
                return first
        return every[0]

    @cached_property
    def _fails_here(self) -> set[tuple[str, str]]:
        """The shoulds that fail at the build's own event, each with the end or the car."""
        failing = (j for j in self.judge.judge(self.here) if j.verdict == "fails")
        return {(j.rule.id, place) for j in failing for place in _places(j)}

    def _newly_fails(self, judgement: Judgement) -> bool:
        should = judgement.rule.level == "should" and judgement.verdict == "fails"
        return should and any(
            (judgement.rule.id, place) not in self._fails_here for place in _places(judgement)
        )

    def _remaining(self, judgements: Sequence[Judgement]) -> Iterator[Remaining]:
        for j in sorted(judgements, key=lambda j: -BADNESS[j.verdict]):
            must = j.rule.level == "must" and j.verdict in ("fails", "borderline")
            if must or self._newly_fails(j):
                fails = must and j.verdict == "fails"
                yield Remaining(
                    j.rule.id,
                    j.rule.level,
                    j.verdict,
                    j.subject,
                    message(j),
                    f"{j.rule.heading(j.verdict)}: {in_short(j)}",
                    j.rule.caution if fails else "",
                )

    def _end(self, search: EndSearch, found: Sequence[Candidate], first: Candidate) -> AdaptedEnd:
        blend = nearest_blend(search) if first.error > WORTH_A_PART else None
        return AdaptedEnd(
            end=search.end,
            unchanged=search.unchanged,
            least_error=min(abs(pair.cold - pair.hot) / 2.0 for pair in search.pairs),
            tried=len(search.pairs),
            candidates=(first, *(each for each in found if each is not first)),
            blend=blend if blend and blend.error < first.error - WORTH_A_PART else None,
        )


def _but_likeness(book: Rulebook) -> Rulebook:
    """Return the rules without those on how like the build it is: that is what is searched for."""
    return Rulebook({ident: rule for ident, rule in book.rules.items() if rule.group != "like"})


def _temperatures(damper: Damper) -> tuple[float, float]:
    cold, hot = damper.coldest or nan, damper.hottest or nan
    return round(in_unit(cold, "degC"), 6), round(in_unit(hot, "degC"), 6)


def _places(judgement: Judgement) -> set[str]:
    return {"car"} if judgement.measure.of else {d.end for d in judgement.dampers}


def _not_checked(judgements: Sequence[Judgement], search: EndSearch) -> Iterator[str]:
    """Yield what is missing for musts that what may be changed enters."""
    entered = {rule.id for rule in search.tries.entered_by(MOVED)}
    unknown = (j for j in judgements if j.verdict == "not checked" and j.rule.id in entered)
    told = (each for j in unknown if j.rule.level == "must" for each in j.missing)
    yield from dict.fromkeys(told)
