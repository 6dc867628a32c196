"""The words and numbers of a label, split so that ids, figures and corners can be found in them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

__all__ = [
    "GOES_ON",
    "Number",
    "Words",
    "at_most",
    "date_at",
    "numbers_in",
    "only_names_both",
    "plain_text",
    "words_of",
]

#: Begins a line of a cap that goes on with the word of the line above.
GOES_ON = "…"

_WORD = re.compile(r"[^\W_]+")
_WITH_UNIT = re.compile(r"([0-9]+)(mm|ml|cst)")


@dataclass(frozen=True, slots=True)
class Words:
    """The words of a text in small letters, and what stands before each and after the last."""

    words: tuple[str, ...]
    gaps: tuple[str, ...]

    def is_digits(self, i: int) -> bool:
        """Whether a word is of digits alone."""
        word = self.words[i]
        return word.isascii() and word.isdigit()

    def is_point(self, i: int) -> bool:
        """Whether a decimal point may stand before a word: digits, a point or comma, digits."""
        return (
            0 < i < len(self.words)
            and self.gaps[i] in (".", ",")
            and self.words[i - 1][-1:].isdigit()
            and self.words[i][:1].isdigit()
        )

    def is_glued(self, i: int) -> bool:
        """Whether a word may be one with that before it, as the words of an id are."""
        return 0 < i < len(self.words) and (self.gaps[i] in ("-", "_", ".", "") or self.is_point(i))

    def is_next(self, i: int) -> bool:
        """Whether a word follows the one before it with nothing but room, a colon or an equals."""
        return 0 < i < len(self.words) and not self.gaps[i].strip(" \t:=")


@dataclass(frozen=True, slots=True)
class Number:
    """A number in a label: the words that it takes, its value and what one of its last digit is."""

    at: range
    value: float
    digit: float
    unit: str

    @property
    def written(self) -> str:
        """The number with the digits that it was written with."""
        return f"{self.value:.{0 if self.digit == 1.0 else len(f'{self.digit:.9g}') - 2}f}"

    def is_about(self, value: float, within: float) -> bool:
        """Whether a value may be written so, give or take that much."""
        return abs(self.value - value) <= within + self.digit / 2.0 + 1e-9


def plain_text(text: str) -> str:
    """Give a label's text in small letters, its lines joined where one goes on."""
    joined = re.sub(rf"\s*\n{GOES_ON}", "", text)
    return unicodedata.normalize("NFKC", joined).casefold().replace("×", "x").replace("\u2212", "-")


def words_of(text: str) -> Words:
    """Split a text into words; a unit that clings to its number is a word of its own.

    >>> words_of("O450/6,4mm").words
    ('o450', '6', '4', 'mm')
    """
    plain = plain_text(text)
    words: list[str] = []
    gaps: list[str] = []
    end = 0
    for match in _WORD.finditer(plain):
        with_unit = _WITH_UNIT.fullmatch(match[0])
        parts = with_unit.groups() if with_unit else (match[0],)
        words += parts
        gaps += [plain[end : match.start()], ""][: len(parts)]
        end = match.end()
    return Words(tuple(words), (*gaps, plain[end:]))


def numbers_in(cap: Words, taken: dict[int, str]) -> Iterator[Number]:
    """Give the numbers among the words that name no part: whole, or with one point or comma."""
    i = 0
    while i < len(cap.words):
        start = i
        i += 1
        if start in taken or not cap.is_digits(start):
            continue
        while i < len(cap.words) and cap.is_point(i) and cap.is_digits(i) and i not in taken:
            i += 1
        if i - start > 2 or (cap.is_point(start) and start - 1 not in taken):
            continue  # of a date, or of a word such as 4x1.8
        whole = cap.words[start]
        part = cap.words[start + 1] if i - start == 2 else ""
        if len(whole) > 6 or len(part) > 6:
            continue
        unit = ""
        if i < len(cap.words) and i not in taken and cap.is_next(i):
            unit = cap.words[i]
        yield Number(range(start, i), float(f"{whole}.{part}"), 10.0 ** -len(part), unit)


def date_at(cap: Words, i: int) -> bool:
    """Say whether three words from one on are a date: day, month, year in some usual order."""
    if i + 3 > len(cap.words) or not all(cap.is_digits(k) for k in range(i, i + 3)):
        return False
    if cap.gaps[i + 1] != cap.gaps[i + 2] or cap.gaps[i + 1] not in ("-", "/", "."):
        return False
    a, b, c = cap.words[i : i + 3]
    if len(a) == 4:
        return at_most(b, 12) and at_most(c, 31)
    in_order = (at_most(a, 31) and at_most(b, 12)) or (at_most(a, 12) and at_most(b, 31))
    return in_order and len(c) in (2, 4)


def at_most(word: str, most: int) -> bool:
    """Say whether a word of digits may be a day or a month: one or two digits, not above most."""
    return len(word) <= 2 and 1 <= int(word) <= most


def only_names_both(label: str, oil: str, piston: str) -> bool:
    """Say whether a label names oil and piston and says nothing else, so that it agrees.

    >>> only_names_both("O450 / four-18", "o450", "four-18")
    True
    >>> only_names_both("o450 four-18 6.4", "o450", "four-18")
    False
    """
    words = words_of(label).words
    named = words_of(oil).words, words_of(piston).words
    return all(named) and words in (named[0] + named[1], named[1] + named[0])
