"""One rule: what it asks of which measure, and its texts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from buildlint.amounts import in_unit
from buildlint.files.part_models import PART_KINDS

__all__ = [
    "ASKS",
    "KEYS",
    "ONLY",
    "TEXTS",
    "TURNABLE",
    "Ask",
    "Band",
    "Level",
    "Rule",
    "asked",
    "limit_figures",
    "limit_in_words",
]

Level = Literal["must", "should"]

#: The texts of a rule, and what one can ask.
TEXTS = ("title", "source", "why", "cure", "caution")
ASKS = ("at_most", "at_least", "between", "same_within", "bands", "is", "one_of")
#: What a rule may be narrowed to; None: any word.
ONLY = {
    "style": ("bladder", "emulsion"),
    "end": ("front", "rear"),
    "cap": ("vented", "sealed"),
    "class": None,
}
#: What a rule may name under turn: readings that are solved for, and parts that are tried.
TURNABLE = ("hold_back", "limiter", "collar", *PART_KINDS)

KEYS = ("level", "measure", "by", "turn", "only", *TEXTS, *ASKS)


@dataclass(frozen=True, slots=True)
class Ask:
    """A limit, in SI. One that is not asked for is None.

    `same_within` compares left with right: an amount, or a share of their mean where `relative`,
    or exactly. `texts` keeps the limits as the rule writes them.
    """

    at_least: float | None = None
    at_most: float | None = None
    same_within: float | None = None
    relative: bool = False
    exactly: bool = False
    is_true: bool = False
    one_of: tuple[str, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Band:
    """A limit that holds up to a value of another measure (None: from there on)."""

    up_to: float | None
    ask: Ask
    up_to_text: str = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule. A rule of the group file/ has no measure: the reader of the files raises it."""

    id: str
    title: str
    level: Level
    source: str
    why: str
    cure: str
    path: Path
    measure: str | None = None
    ask: Ask | None = None
    by: str | None = None
    bands: tuple[Band, ...] = ()
    turn: tuple[str, ...] = ()
    caution: str = ""
    only: Mapping[str, str] = field(default_factory=dict)

    @property
    def limits(self) -> bool:
        """Whether it asks anything of its measure."""
        return self.ask is not None or bool(self.bands)

    @property
    def compares_sides(self) -> bool:
        """Whether left is compared with right."""
        return self.ask is not None and (self.ask.exactly or self.ask.same_within is not None)


# A unit that words have one more letter for.
_DAYS = re.compile(r"(-?[0-9.]+) day\b")


def limit_in_words(ask: Ask) -> str:
    """Say a limit as the rule writes it.

    >>> limit_in_words(Ask(at_most=1.0, texts={"at_most": "100 %"}))
    'at most 100 %'
    """
    for key, written in ask.texts.items():
        text = _DAYS.sub(lambda found: found[0] if found[1] == "1" else f"{found[0]}s", written)
        if key == "same_within":
            return "the same" if text == "exactly" else f"the same within {text}"
        if key == "is":
            return "true"
        return f"{key.replace('_', ' ')} {text}"
    return ""


def limit_figures(ask: Ask, unit: str) -> dict[str, float | str | list[float] | list[str]]:
    """Give a limit as figures in a unit, by what is asked: `{"at_most": 1.0}`."""
    if ask.exactly:
        return {"same_within": "exactly"}
    if ask.same_within is not None:
        return {"same_within": in_unit(ask.same_within, unit)}
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


def asked(rule: Rule) -> str:
    """Say what a rule asks of which measure; nothing for a rule about files."""
    if rule.measure is None:
        return ""
    if rule.by is not None:
        bands = [
            f"{f'up to {b.up_to_text}' if b.up_to is not None else 'from there on'}: "
            f"{limit_in_words(b.ask)}"
            for b in rule.bands
        ]
        return f"{rule.measure} by {rule.by}, {'; '.join(bands)}"
    return f"{rule.measure} {limit_in_words(rule.ask)}" if rule.ask is not None else rule.measure
