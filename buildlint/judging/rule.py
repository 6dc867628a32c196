"""One rule: what it asks of which measure, and its texts."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, ClassVar, NamedTuple

from pydantic import ConfigDict, Field

from buildlint.files.mistakes import Line, ReadBy, due, line, wrong
from buildlint.files.readings import Mistake
from buildlint.files.rule_keys import (
    ASKS,
    ASKS_OF_A_BAND,
    TURNABLE,
    Asks,
    Band,
    Level,
    Only,
    Turned,
)
from buildlint.files.tables import Complaint
from buildlint.judging.asks import Ask, BandAsk, limit_figures, limit_in_words, read_ask, read_limit
from buildlint.judging.finding import Verdict
from buildlint.measures import MEASURES
from buildlint.measures.damper import KEY_IN_PART
from buildlint.measures.graph import stands_on
from buildlint.text.words import clean, nearest, shown

__all__ = [
    "KEYS",
    "LONGEST_ID",
    "Ask",
    "Band",
    "BandAsk",
    "Only",
    "Rule",
    "asked",
    "limit_figures",
    "limit_in_words",
]

#: The most characters of a rule's id.
LONGEST_ID = 100


def _measure(given: Any) -> str:
    if isinstance(given, str) and given in MEASURES:
        return str(given)
    if not isinstance(given, str):
        raise wrong("this is not a measure: its name in quotes belongs here")
    near = nearest(given, MEASURES)
    hint = f"; did you mean {near}?" if near else ""
    raise wrong(f"{shown(given)} is not a measure{hint}")


def _figure(given: Any) -> str:
    name = _measure(given)
    if name not in FIGURES:
        raise wrong(f"{name} is not a figure of a damper, and bands go by such a figure")
    return name


#: The measures that are figures of one damper.
FIGURES = tuple(n for n, m in MEASURES.items() if m.unit not in ("id", "yes") and not m.of)

MeasureName = Annotated[str, ReadBy(_measure, type="string", enum=[*MEASURES])]
FigureName = Annotated[str, ReadBy(_figure, type="string", enum=[*FIGURES])]


def _ident(given: Any) -> str:
    if not isinstance(given, str) or not given:
        raise wrong('a rule\'s id is text, such as "pair/length"')
    if len(given) > LONGEST_ID or clean(given) != given:
        raise wrong(f"a rule's id has at most {LONGEST_ID} characters, all of them plain")
    return str(given)


class Asking(NamedTuple):
    """What a rule asks, read into SI, and what is wrong with it."""

    ask: Ask | None = None
    by_band: tuple[BandAsk, ...] = ()
    complaints: tuple[Complaint, ...] = ()


_A_LIST = 'turn takes a list of readings or parts, such as ["hold_back"]'
_IN_BRACKETS = 'only is written with its keys in brackets, such as { style = "bladder" }'


class Rule(Asks):
    """One rule: what it asks of a figure, where its limit comes from, and why.

    The name of its file says its id. A rule of the group file/ has no measure: the reader of
    the files raises it.

    >>> Rule.model_validate({
    ...     "id": "ours/hold-back", "title": "The hold-back is a little", "level": "should",
    ...     "measure": "hold_back", "at_most": "10 mm", "source": "ours, not published",
    ...     "why": "More leaves no room.", "cure": "Hold less back.",
    ... }).ask.at_most
    0.01
    """

    model_config = ConfigDict(title="rules/GROUP/NAME.toml")
    called: ClassVar[str] = "rule"

    id: Annotated[str, ReadBy(_ident, type="string")] = Field(
        description="GROUP/NAME: the path of the rule's file below rules/, without .toml."
    )
    path: Path | None = Field(default=None, description="The rule's file; of none, left out.")
    title: Line = Field(description="What holds, in a line.")
    fault: Annotated[str, line(blank=True)] = Field(
        default="",
        description="What a report says in place of the title where it does not hold, in a line.",
    )
    costs: Annotated[str, line(30, blank=True)] = Field(
        default="",
        description="What a builder loses where it does not hold, in a word or two.",
        examples=["locks", "draws air", "unlike sides", "record"],
    )
    level: Level = Field(description="Whether it must hold or should.")
    measure: MeasureName | None = Field(
        default=None,
        description="The figure that the rule asks something of.",
        examples=["hold_back"],
    )
    by: FigureName | None = Field(
        default=None, description="The figure that the bands go by.", examples=["body_length"]
    )
    turn: Annotated[tuple[Turned, ...], due((list, tuple), _A_LIST)] = Field(
        default=(),
        description="Readings to solve for, and parts to try, when a figure is offered that "
        "mends it.",
        examples=[["hold_back"]],
    )
    only: Annotated[Only, due((dict, Only), _IN_BRACKETS)] = Field(
        default_factory=Only, description="Which dampers the rule speaks of; left out, all."
    )
    source: Line = Field(description="Where the limit comes from.")
    why: Line = Field(
        description="A paragraph for someone at the bench: what goes wrong otherwise."
    )
    cure: Line = Field(description="What to do, in words.")
    caution: Annotated[str, line(blank=True)] = Field(
        default="", description="The caution to show, where someone can be hurt."
    )

    def __repr_args__(self) -> Iterator[tuple[str, Any]]:
        """Show which rule it is, on a line."""
        yield "id", self.id
        yield "level", self.level

    @classmethod
    def known_keys(cls) -> list[str]:
        """Return the keys of a rule's file: its name says the id."""
        return [each for each in super().known_keys() if each not in ("id", "path")]

    def heading(self, verdict: Verdict) -> str:
        """Return what stands over a finding: the fault where it fails, else what should hold."""
        return self.fault if verdict == "fails" and self.fault else self.title

    @property
    def group(self) -> str:
        """The group that its id begins with."""
        return self.id.rpartition("/")[0]

    @cached_property
    def asking(self) -> Asking:
        """What it asks in SI, and what is wrong with it."""
        return _asking(self)

    @property
    def ask(self) -> Ask | None:
        """The limit in SI; None where there is none, or bands."""
        return self.asking.ask

    @property
    def by_band(self) -> tuple[BandAsk, ...]:
        """The limits of its bands in SI."""
        return self.asking.by_band

    @property
    def limits(self) -> bool:
        """Whether it asks anything of its measure."""
        return self.ask is not None or bool(self.bands)

    @property
    def weighed(self) -> str | None:
        """The measure whose figure is held against the limit: of a plan, what a reading is off."""
        planned = self.ask is not None and self.ask.as_planned_within is not None
        return f"{self.measure}_off_plan" if planned else self.measure

    @property
    def compares_sides(self) -> bool:
        """Whether left is compared with right."""
        return self.ask is not None and (self.ask.exactly or self.ask.same_within is not None)

    def complaints(self) -> Iterator[Complaint]:
        """It asks one thing that its measure takes; what it turns moves that measure."""
        asked = self.asked
        if (self.id or "").startswith("file/"):
            for key in ("measure", "by", "turn", *asked):
                if key in asked or getattr(self, key):
                    yield (key,), Mistake("", f"{key}: a rule about files has no measure")
            return
        if self.measure is None:
            what = "measure is missing: every rule needs it"
            yield (), Mistake("", what, with_keys=("measure",))
        if len(asked) != 1:
            what = f"this one has {' and '.join(asked)}" if asked else "this one has none"
            what = f"a rule asks one of {', '.join(ASKS)}; {what}"
            yield tuple(asked)[1:2], Mistake("", what, with_keys=ASKS)
            return
        yield from self.asking.complaints
        yield from self._moved()

    def _moved(self) -> Iterator[Complaint]:
        """Complain of what is turned and moves neither the measure nor what bands go by."""
        if self.measure is None:
            return
        these = _turnable(self.measure, self.by)
        hint = f"{' and '.join(these)} would" if these else "nothing that can be turned would"
        for name in self.turn:
            if name not in these:
                yield ("turn",), Mistake("", f"{name} does not move {self.measure}; {hint}")


#: The keys of a rule's file.
KEYS = tuple(Rule.known_keys())


def _turnable(measure: str, by: str | None = None) -> list[str]:
    """Return what can be turned that moves a measure, or what its bands go by.

    >>> _turnable("hold_back")
    ['hold_back']
    """
    names = (measure,) if by is None else (measure, by)
    moving = {reading for name in names for reading in stands_on(name)}
    moving |= {KEY_IN_PART[name][0] for name in moving if name in KEY_IN_PART}
    return [name for name in TURNABLE if name in moving]


def _asking(rule: Rule) -> Asking:
    asked = rule.asked
    if rule.measure is None or len(asked) != 1:
        return Asking()
    ((kind, given),) = asked.items()
    of_car = MEASURES[rule.measure].of
    if of_car and kind in ("same_within", "bands"):
        what = (
            f"{rule.measure} is a figure of the whole car: it has no left and right, and no bands"
        )
        return Asking(complaints=(((kind,), Mistake("", what)),))
    if kind == "bands":
        return _asking_by_band(rule, rule.measure)
    if rule.by is not None:
        return Asking(complaints=((("by",), Mistake("", "by goes with bands")),))
    try:
        return Asking(ask=read_ask(kind, given, rule.measure))
    except Mistake as mistake:
        return Asking(complaints=(((kind,), mistake),))


def _asking_by_band(rule: Rule, measure: str) -> Asking:
    if rule.by is None:
        missing = Mistake("", "by is missing: bands go by a measure", with_keys=("by",))
        return Asking(complaints=(((), missing),))
    found: list[BandAsk] = []
    complaints: list[Complaint] = []
    edge = 0.0
    for number, band in enumerate(rule.bands):
        above = ("bands", str(number))
        up_to = None
        if (band.up_to is None) != (number == len(rule.bands) - 1):
            what = "every band but the last has up_to; the last has none"
            complaints.append((above, Mistake("", what)))
        try:
            if band.up_to is not None:
                up_to = read_limit(band.up_to, rule.by)
                if found and up_to <= edge:
                    raise Mistake("", "up_to has to be larger than in the band before")
                edge = up_to
        except Mistake as mistake:
            complaints.append(((*above, "up_to"), mistake))
        for key in ASKS_OF_A_BAND:
            given = getattr(band, key)
            if given is None:
                continue
            try:
                ask = read_ask(key, given, measure)
                found.append(BandAsk(up_to, ask, clean(band.up_to or "")))
            except Mistake as mistake:
                complaints.append(((*above, key), mistake))
    return Asking(by_band=tuple(found), complaints=tuple(complaints))


def asked(rule: Rule) -> str:
    """Say what a rule asks of which measure; nothing for a rule about files."""
    if rule.measure is None:
        return ""
    if rule.by is not None:
        bands = [
            f"{f'up to {b.up_to_text}' if b.up_to is not None else 'from there on'}: "
            f"{limit_in_words(b.ask)}"
            for b in rule.by_band
        ]
        return f"{rule.measure} by {rule.by}, {'; '.join(bands)}"
    return f"{rule.measure} {limit_in_words(rule.ask)}" if rule.ask is not None else rule.measure
