"""What the rulebook says of a build, in brief, so that nobody builds past what fails."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from buildlint.files.concession import Concession
from buildlint.judging.judgement import Judgement
from buildlint.judging.messages import in_short
from buildlint.text.words import clean, counted

__all__ = ["Line", "Standing", "grouped", "standing"]


@dataclass(frozen=True, slots=True)
class Line:
    """One finding in one line: where, what ought to hold, what was found, by which rule."""

    where: str
    title: str
    found: str
    rule: str


@dataclass(frozen=True, slots=True)
class Standing:
    """How a build stands: how many judgements came out how, and what must hold and does not."""

    holds: int
    must_fail: tuple[Line, ...]
    should_fail: tuple[Line, ...]
    borderline: int
    borderline_must: tuple[Line, ...]
    not_checked: int
    not_checked_must: tuple[Line, ...]
    missing: tuple[str, ...]
    mistakes: int = 0
    conceded: tuple[Line, ...] = ()

    @property
    def judged(self) -> bool:
        """Whether anything was judged at all."""
        found = (self.must_fail, self.should_fail, self.borderline, self.conceded)
        return bool(self.holds or any(found))

    @property
    def sound(self) -> bool:
        """Whether every must was checked and holds."""
        return self.judged and not (self.must_fail or self.not_checked_must or self.mistakes)

    @property
    def headline(self) -> str:
        """The first thing to know, in a few words."""
        mistakes = counted(self.mistakes, "mistake")
        if self.must_fail:
            fail = _musts(self.must_fail)
            also = f", and the files have {mistakes}" if self.mistakes else ""
            verb = "fails" if fail.startswith("1 ") else "fail"
            return f"Do not build from this sheet yet: {fail} {verb}{also}."
        if self.mistakes:
            return f"Do not build from this sheet yet: the files have {mistakes}."
        if not self.judged:
            return "Nothing could be judged."
        if self.not_checked_must:
            left = _musts(self.not_checked_must)
            verb = "was" if left.startswith("1 ") else "were"
            return f"No must fails, but {left} {verb} not checked."
        if self.borderline_must:
            left = _musts(self.borderline_must)
            verb = "is" if left.startswith("1 ") else "are"
            return f"No must fails, but {left} {verb} borderline."
        if self.conceded:
            return "Every must was checked and holds, except what is conceded."
        return "Every must was checked and holds."


def standing(
    judgements: Sequence[Judgement],
    mistakes: int = 0,
    concession: Callable[[Judgement], Concession | None] = lambda judgement: None,
) -> Standing:
    """Sum up the judgements of a build and how many mistakes its files have.

    What the team has given leave for stands by itself, with the reason and the last day.
    """
    conceded: list[Line] = []
    by: dict[tuple[str, str], list[Line]] = {}
    missing: dict[str, None] = {}
    for judgement in judgements:
        given = concession(judgement) if judgement.verdict in ("fails", "borderline") else None
        if given is not None:
            line = _line(judgement)
            reason = f"Conceded until {given.until}: {clean(given.reason)}"
            conceded.append(replace(line, found=f"{line.found}. {reason}"))
            continue
        key = (judgement.verdict, judgement.rule.level)
        by.setdefault(key, []).append(_line(judgement))
        if judgement.verdict == "not checked":
            missing.update(dict.fromkeys(map(clean, judgement.missing)))

    def lines(verdict: str, *levels: str) -> tuple[Line, ...]:
        return tuple(line for level in levels for line in by.get((verdict, level), ()))

    both = ("must", "should")
    return Standing(
        holds=len(lines("holds", *both)),
        must_fail=lines("fails", "must"),
        should_fail=lines("fails", "should"),
        borderline=len(lines("borderline", *both)),
        borderline_must=lines("borderline", "must"),
        not_checked=len(lines("not checked", *both)),
        not_checked_must=lines("not checked", "must"),
        missing=tuple(missing),
        mistakes=mistakes,
        conceded=tuple(conceded),
    )


def _line(judgement: Judgement) -> Line:
    rule, where = judgement.rule, judgement.subject.replace(".", " ")
    return Line(where, rule.heading(judgement.verdict), in_short(judgement), rule.id)


def grouped(lines: Sequence[Line]) -> tuple[Line, ...]:
    """Put lines together that say the same of several places."""
    places: dict[tuple[str, str, str], dict[str, None]] = {}
    for line in lines:
        places.setdefault((line.title, line.found, line.rule), {})[line.where] = None
    return tuple(Line(" and ".join(where), *said) for said, where in places.items())


def _musts(lines: Sequence[Line]) -> str:
    """Count the musts that some lines are about: one that is told of twice is one."""
    return counted(len({line.rule for line in lines}), "must")
