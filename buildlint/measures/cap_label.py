"""What stands on a cap, read against what is inside: oil and piston, in any order."""

from __future__ import annotations

import re
import unicodedata
from math import isfinite, nan

from buildlint.files.amounts import amount, plain_number
from buildlint.measures.damper import Damper
from buildlint.measures.damping import viscosity_slope
from buildlint.physics.oil import REFERENCE_TEMPERATURE, viscosity_at
from buildlint.text.words import clean

__all__ = ["GOES_ON", "label_disagreements"]

#: Begins a line of a cap that goes on with the word of the line above.
GOES_ON = "…"

# Letters, digits and hyphens joined on make a longer word, and a point a longer number.
_START, _END = r"(?<![\w-])(?<![0-9]\.)", r"(?![\w-]|\.[0-9])"
_NUMBER = r"([0-9]+)(\.[0-9]+)?"
_VISCOSITY = re.compile(rf"{_START}{_NUMBER}(?:cst)?{_END}")
_HOLES = re.compile(rf"{_START}([0-9]+)\s*x\s*{_NUMBER}(?:mm)?{_END}")


def label_disagreements(damper: Damper) -> tuple[str, ...]:
    """Say in words how the label on the cap disagrees with what is inside; nothing if it agrees.

    It is to name the oil, by its id or its viscosity at 25 degC, and the piston, by its id or its
    holes, in any order. All else on it may say what it likes.

    >>> inside = {"oil": "o450", "piston": "four-18", "holes": ((4, 1.8e-3),)}
    >>> label_disagreements(Damper(end="front", side="left", label="4x1,8 O450 FL", **inside))
    ()
    >>> label_disagreements(Damper(end="front", side="left", label="o500/four-18", **inside))
    ('does not name the oil o450',)
    """
    label, oil, piston = damper.label, damper.oil, damper.piston
    assert label is not None and oil is not None and piston is not None
    cap = _plain(label)
    said = []
    if not _stands(oil, cap):
        viscosity = _viscosity(damper)
        if viscosity is None:
            said.append(f"does not name the oil {clean(oil)}")
        elif not any(_is_about(viscosity * 1e6, *found) for found in _VISCOSITY.findall(cap)):
            its = amount(viscosity, "cSt")
            said.append(f"names neither the oil {clean(oil)} nor its viscosity, {its}")
    if not _stands(piston, cap):
        drilled = _HOLES.findall(cap)
        if not damper.holes:
            said.append(f"does not name the piston {clean(piston)}")
        elif not all(
            any(float(n) == count and _is_about(size * 1e3, *number) for n, *number in drilled)
            for count, size in damper.holes
        ):
            its = " + ".join(f"{n} x {plain_number(size, 'mm')}" for n, size in damper.holes)
            said.append(f"names neither the piston {clean(piston)} nor its holes, {its}")
    return tuple(said)


def _plain(text: str) -> str:
    """Return a text in small letters, its lines joined where one goes on."""
    text = unicodedata.normalize("NFKC", text.replace(f"\n{GOES_ON}", "")).casefold()
    return re.sub("(?<=[0-9]),(?=[0-9])", ".", text.replace("×", "x"))


def _stands(ident: str, cap: str) -> bool:
    return re.search(_START + re.escape(_plain(ident)) + _END, cap) is not None


def _is_about(value: float, whole: str, part: str) -> bool:
    """Return whether a number is a value, to within half of its last digit."""
    return abs(float(whole + part) - value) <= 0.5 / 10.0 ** (len(part) - bool(part)) + 1e-9


def _viscosity(damper: Damper) -> float | None:
    """Return the oil's viscosity at 25 degC (m^2/s); None where it is not known."""
    given, at = damper.viscosity_given, damper.viscosity_given_at
    if given is None or at is None:
        return None
    rest = (damper.slope_given, damper.second_viscosity, damper.second_viscosity_at)
    slope = viscosity_slope(given, at, *(nan if each is None else each for each in rest))
    found = float(viscosity_at(given, at, REFERENCE_TEMPERATURE, slope))
    return found if isfinite(found) else None
