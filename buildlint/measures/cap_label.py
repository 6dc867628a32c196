"""What stands on a cap: holes and viscosity, or the ids of piston and oil, in any order."""

from __future__ import annotations

import re
import unicodedata
from math import inf, isfinite, nan

from buildlint.files.amounts import amount, plain_number
from buildlint.measures.damper import Damper
from buildlint.measures.damping import viscosity_slope
from buildlint.physics.oil import REFERENCE_TEMPERATURE, viscosity_at
from buildlint.text.words import clean

__all__ = ["holes_on_cap", "label_disagreements", "viscosity_on_cap"]

# Letters, digits and hyphens joined on make a longer word, and a point a longer number.
_START, _END = r"(?<![\w-])(?<![0-9]\.)", r"(?![\w-]|\.[0-9])"
# How many holes, where it is said, and a number.
_NUMBER = re.compile(rf"{_START}(?:([0-9]+) ?x ?)?([0-9]+(?:\.[0-9]+)?)(?: ?mm| ?cst)?{_END}")

# The most by which a size of hole may be rounded, mm: "2" is not 1.8.
_MOST_OFF = 0.05


def label_disagreements(damper: Damper) -> tuple[str, ...]:
    """Say in words how the label on the cap disagrees with what is inside; nothing if it agrees.

    The viscosity at 25 degC and the size of the holes are to stand on it, or the ids of oil and
    piston. All else on it may say what it likes.

    >>> inside = {"oil": "o450", "piston": "four-18", "holes": ((4, 1.8e-3),)}
    >>> label_disagreements(Damper(end="front", side="left", label="4x1,8 O450 FL", **inside))
    ()
    >>> label_disagreements(Damper(end="front", side="left", label="o500/four-18", **inside))
    ('does not name the oil o450',)
    """
    label, oil, piston = damper.label, damper.oil, damper.piston
    assert label is not None and oil is not None and piston is not None
    cap = _plain(label)
    numbers = _NUMBER.findall(cap)
    said = []
    if not _stands(oil, cap):
        viscosity = _viscosity(damper)
        if viscosity is None:
            said.append(f"does not name the oil {clean(oil)}")
        elif not any(not count and _is_about(number, viscosity * 1e6) for count, number in numbers):
            its = amount(viscosity, "cSt")
            said.append(f"names neither the oil {clean(oil)} nor its viscosity, {its}")
    if not _stands(piston, cap):
        if not damper.holes:
            said.append(f"does not name the piston {clean(piston)}")
        elif not all(
            any(
                count in ("", str(many)) and _is_about(number, size * 1e3, _MOST_OFF)
                for count, number in numbers
            )
            for many, size in damper.holes
        ):
            its = " + ".join(f"{n} x {plain_number(size, 'mm')}" for n, size in damper.holes)
            said.append(f"names neither the piston {clean(piston)} nor its holes, {its}")
    return tuple(said)


def holes_on_cap(damper: Damper) -> str | None:
    """Return the holes of the piston as they are written on a cap; None where they are not known.

    >>> holes_on_cap(Damper(end="front", side="left", holes=((2, 1.8e-3), (2, 1.55e-3))))
    '2x1.8+2x1.55'
    """
    if not damper.holes:
        return None
    return "+".join(f"{many}x{round(size * 1e3, 2):g}" for many, size in damper.holes)


def viscosity_on_cap(damper: Damper) -> str | None:
    """Return the oil's viscosity at 25 degC (cSt), as it is written on a cap."""
    viscosity = _viscosity(damper)
    return None if viscosity is None else f"{viscosity * 1e6:.0f}"


def _plain(text: str) -> str:
    """Return a text in small letters, its numbers with a point."""
    text = " ".join(unicodedata.normalize("NFKC", text).casefold().split())
    return re.sub("(?<=[0-9]),(?=[0-9])", ".", text.replace("×", "x"))


def _stands(ident: str, cap: str) -> bool:
    return re.search(_START + re.escape(_plain(ident)) + _END, cap) is not None


def _is_about(number: str, value: float, most: float = inf) -> bool:
    """Return whether a number is a value, off by half of its last digit or `most` at most."""
    half = 0.5 / 10.0 ** len(number.partition(".")[2])
    return abs(float(number) - value) <= min(half, most) + 1e-9


def _viscosity(damper: Damper) -> float | None:
    """Return the oil's viscosity at 25 degC (m^2/s); None where it is not known."""
    given, at = damper.viscosity_given, damper.viscosity_given_at
    if given is None or at is None:
        return None
    rest = (damper.slope_given, damper.second_viscosity, damper.second_viscosity_at)
    slope = viscosity_slope(given, at, *(nan if each is None else each for each in rest))
    found = float(viscosity_at(given, at, REFERENCE_TEMPERATURE, slope))
    return found if isfinite(found) else None
