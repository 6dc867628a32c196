"""What stands on a cap, read against what is inside: any order, any separators, any case.

A label is words. Those that name the oil are found, then those that name the piston, never the same
ones twice; what is left over may say a hold-back, the air of an emulsion or a corner. A figure or a
corner that is not surely one is passed over: a label may say more than the build does.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from buildlint.files.amounts import amount
from buildlint.measures.label_words import (
    Number,
    Words,
    at_most,
    date_at,
    numbers_in,
    plain_text,
    words_of,
)
from buildlint.text.words import clean

__all__ = ["CORNER_CODES", "label_disagreements"]

#: The trade's names of the corners, as they stand on caps.
CORNER_CODES: dict[tuple[str, str], str] = {
    ("front", "left"): "FL",
    ("front", "right"): "FR",
    ("rear", "left"): "RL",
    ("rear", "right"): "RR",
}

# A hold-back is read to so much (m); what the label rounds off comes on top.
_HOLD_BACK_WITHIN = 0.3e-3
# The share to which poured-in air is measured, as a volume's default tolerance.
_AIR_WITHIN = 0.1
# No hold-back is larger (m).
_MOST_HOLD_BACK = 0.15
# Where an id stands more often in one label, those in the middle are passed over.
_MOST_PLACES = 8

_HOLD_BACK_WORDS = frozenset({"hb", "holdback", "back"})
# A figure beside one of these is something else than the hold-back.
_OTHER_THINGS = re.compile(
    "bladder|body|bore|clearance|collar|diameter|droop|eye|gap|holes?|length|limiters?|piston|"
    "preload|rebound|ride|rod|shaft|spacers?|spring|stroke|tube|wire|x|batch|lot|no|nr|rev|set|version"
)
_OTHER_UNITS = re.compile(
    "bar|[cmk]?m[23]|cc|[cm]?st|cp|days?|(?:deg)?[cfk]|ft|[ckm]?g|[gkn]f|[kl]gf|lbf?|hours?|hrs?|h|hz|"
    "in|inch|inhg|c?m|um|k?n|nm|[hkm]?pa|mbar|min|m?l|oz|psi|pct|percent|rpm|s|sec|sus|thou|[vw]|wt|"
    "weight|m?ah|[gk]|mph"
)
_OTHER_SIGNS = tuple("%°\"'^:")
_PLUS_MINUS = ("±", "+/-", "+-")
_CODES = {code.casefold(): corner for corner, code in CORNER_CODES.items()}
_ENDS, _SIDES = ("front", "rear"), ("left", "right")


def label_disagreements(
    label: str,
    oil: str,
    piston: str,
    hold_back: float | None = None,
    *,
    air: float | None = None,
    end: str = "",
    side: str = "",
) -> tuple[str, ...]:
    """Say in words how a label disagrees with oil, piston, hold-back (m), air (m^3) and corner.

    Nothing, where it agrees. An id is named by its words, whole and in their order, whatever stands
    between them. Words joined on by `-`, `_` or a point count as part of an id, unless the other id
    is joined on too: "four-18-new" is not four-18. Ids that differ only in case and in what stands
    between their words cannot be told apart. Air is that of an emulsion; None for a bladder.

    >>> label_disagreements("6,4mm FOUR 18 | O450", "o450", "four-18", 6.4e-3)
    ()
    >>> label_disagreements("o500/four-18/9.5", "o450", "four-18", 6.4e-3)
    ('does not name the oil o450', 'says hold-back 9.5 mm, but it is 6.4 mm')
    >>> label_disagreements("FL new o450 four-18", "o450", "four-18", end="front", side="right")
    ('says FL, but this is FR',)
    """
    cap = words_of(label)
    best: tuple[tuple[int, ...], tuple[str, ...]] | None = None
    for oil_at in _places(cap, label, oil):
        for piston_at in _places(cap, label, piston):
            if set(oil_at or ()) & set(piston_at or ()):
                continue
            taken = dict.fromkeys(oil_at or (), "oil") | dict.fromkeys(piston_at or (), "piston")
            named = [at for at in (oil_at, piston_at) if at is not None]
            numbers = list(numbers_in(cap, taken))
            joined = sum(_joined_on(cap, at, taken, numbers, hold_back) for at in named)
            if joined and len(named) == 2:
                continue
            said = (
                *_figure_disagreements(cap, taken, numbers, hold_back, air),
                *_corner_disagreements(cap, taken, end, side),
            )
            badness = (2 - len(named), joined, -len(taken), _torn(cap, taken), len(said))
            if best is None or badness < best[0]:
                missing = [
                    f"does not name the {kind} {clean(ident)}"
                    for kind, ident, at in (("oil", oil, oil_at), ("piston", piston, piston_at))
                    if at is None
                ]
                best = badness, (*missing, *said)
    assert best is not None  # that neither is named can always be said
    return best[1]


def _places(cap: Words, label: str, ident: str) -> list[range | None]:
    """Give the words of a label that may name an id; None last: it may not be named at all."""
    wanted = words_of(ident).words
    if not wanted:
        # an id of signs only is named as it stands
        return [range(0) if plain_text(ident).strip() in plain_text(label) else None]
    count = len(wanted)
    found = [
        range(i, i + count)
        for i in range(len(cap.words) - count + 1)
        if cap.words[i : i + count] == wanted
    ]
    if len(found) > 2 * _MOST_PLACES:
        found = found[:_MOST_PLACES] + found[-_MOST_PLACES:]
    return [*found, None]


# --- is it the id, the whole id ------------------------------------------------------------------


def _joined_on(
    cap: Words,
    at: range,
    taken: dict[int, str],
    numbers: Sequence[Number],
    hold_back: float | None,
) -> bool:
    """Say whether an id is only a part of what it stands in: other words are joined on to it."""
    if not at:
        return False
    first, last = at[0], at[-1]
    while cap.is_glued(first):
        first -= 1
    while cap.is_glued(last + 1):
        last += 1
    around = range(first, last + 1)
    if any(taken.get(i, taken[at[0]]) != taken[at[0]] for i in around):
        return False  # the other id is joined on too: here this is how labels are written
    known = {i for i in range(len(cap.words)) if cap.words[i] in _CODES or cap.words[i] == "mm"}
    known |= {i for i in range(len(cap.words)) if cap.words[i] in _HOLD_BACK_WORDS}
    for number in numbers:
        exact = hold_back is not None and abs(number.value - hold_back * 1e3) < 5e-3
        of_its_own = not any(cap.is_point(i) for i in (number.at[0], number.at[-1] + 1))
        if exact or len(number.at) == 2 or (number.unit == "mm" and of_its_own):
            known.update(number.at)
    for i in range(len(cap.words)):
        if date_at(cap, i):
            date = set(range(i, i + 3))
            known = known - date if date & set(taken) else known | date
    return any(i not in taken and i not in known for i in around)


def _torn(cap: Words, taken: dict[int, str]) -> int:
    """Count the numbers that are torn apart where words are taken for ids."""
    torn = 0
    for i in range(1, len(cap.words)):
        apart = taken.get(i) != taken.get(i - 1)
        if apart and cap.is_point(i) and cap.is_digits(i - 1) and cap.is_digits(i):
            torn += 1
        elif i not in taken and i - 1 in taken and cap.words[i] in ("mm", "ml") and cap.is_next(i):
            torn += cap.is_digits(i - 1)
    return torn


# --- what is left over ---------------------------------------------------------------------------


def _figure_disagreements(
    cap: Words,
    taken: dict[int, str],
    numbers: Sequence[Number],
    hold_back: float | None,
    air: float | None,
) -> Iterator[str]:
    if hold_back is not None:
        marked = [n for n in numbers if _is_marked(cap, taken, n)]
        found = marked or [n for n in numbers if _is_hold_back(cap, taken, n)]
        off = not any(n.is_about(hold_back * 1e3, _HOLD_BACK_WITHIN * 1e3) for n in found)
        # of two that differ, one is surely something else
        if off and len({n.value for n in found}) == 1:
            yield f"says hold-back {found[0].written} mm, but it is {amount(hold_back, 'mm')}"
    if air is not None:
        poured = [n for n in numbers if n.unit == "ml" and "air" in _beside(cap, taken, n)]
        off = not any(n.is_about(air * 1e6, _AIR_WITHIN * air * 1e6) for n in poured)
        if off and len({n.value for n in poured}) == 1:
            yield f"says {poured[0].written} ml of air, but it is {round(air * 1e6, 3):g} ml"


def _beside(cap: Words, taken: dict[int, str], number: Number) -> set[str]:
    """Give the words before and after a number and its unit, where nothing stands between."""
    before, after = number.at[0] - 1, number.at[-1] + 1
    if number.unit in ("mm", "ml"):
        after += 1
    found = set()
    if before >= 0 and before not in taken and cap.is_next(before + 1):
        found.add(cap.words[before])
    if after < len(cap.words) and after not in taken and cap.is_next(after):
        found.add(cap.words[after])
        if after + 1 < len(cap.words) and cap.words[after : after + 2] == ("hold", "back"):
            found.add("back")
    return found


def _is_marked(cap: Words, taken: dict[int, str], number: Number) -> bool:
    """Say whether the label calls a number its hold-back."""
    return not _OTHER_UNITS.fullmatch(number.unit) and bool(
        _HOLD_BACK_WORDS & _beside(cap, taken, number)
    )


def _is_hold_back(cap: Words, taken: dict[int, str], number: Number) -> bool:
    """Say whether a number is surely a hold-back: in mm, or bare with a point and no date."""
    start, after = number.at[0], number.at[-1] + 1
    if number.value > _MOST_HOLD_BACK * 1e3 or any(
        map(_OTHER_THINGS.fullmatch, _beside(cap, taken, number))
    ):
        return False
    if cap.gaps[start].strip().endswith(_PLUS_MINUS):
        return False
    if any(date_at(cap, i) for i in range(start - 2, after) if i >= 0):
        return False
    if number.unit == "mm":
        behind = cap.gaps[after + 1]
        a_speed = behind == "/" and cap.words[after + 1 : after + 2] == ("s",)
        return not behind.startswith("^") and not a_speed
    if len(number.at) != 2 or _OTHER_UNITS.fullmatch(number.unit):
        return False
    if cap.gaps[after].lstrip().startswith(_OTHER_SIGNS) or cap.gaps[after].startswith("."):
        return False
    day, month = cap.words[start], cap.words[start + 1]
    return not (len(month) == 2 and at_most(day, 31) and at_most(month, 12))


def _corner_disagreements(cap: Words, taken: dict[int, str], end: str, side: str) -> Iterator[str]:
    if (end, side) not in CORNER_CODES:
        return
    said = dict.fromkeys(_corners(cap, taken))
    if said and not any(e == end and s in (side, "") for e, s in said):
        names = " and ".join(CORNER_CODES.get((e, s), e) for e, s in said)
        yield f"says {names}, but this is {CORNER_CODES[end, side]}"


def _corners(cap: Words, taken: dict[int, str]) -> Iterator[tuple[str, str]]:
    """Give the corners that a label speaks of; the side is empty where it says only the end."""
    free = ["" if i in taken else word for i, word in enumerate(cap.words)]
    both_sides = all(side in free for side in _SIDES)
    for i, word in enumerate(free):
        if word in _CODES:
            yield _CODES[word]
        elif word in _ENDS:
            beside = [w for w in (free[i - 1] if i else "", *free[i + 1 : i + 2]) if w in _SIDES]
            yield word, beside[0] if beside and not both_sides else ""
