"""Tolerances of readings, combined as standard uncertainties."""

import math

from buildlint.physics._checks import not_negative, positive


def combined(halves: tuple[float, ...] | list[float]) -> float:
    """Combined standard uncertainty of a figure, in its own unit.

    `halves`: for each reading, half the width of what it can do to the figure (the reading's limit
    of error times the figure's sensitivity to it), in the figure's unit, zero or above. Readings
    are taken as independent, and as equally likely anywhere within their limits. An empty list
    gives zero. Raises ValueError for a half that is negative or not finite.
    Source: JCGM 100:2008 (GUM): root-sum-square of a/sqrt(3).

    Shaft 3.5 +- 0.02 mm, hold-back 10 +- 0.5 mm, so 96.211 mm^3 displaced: 1.0996 from the
    shaft, 4.8106 from the hold-back.

    >>> round(combined((1.0996, 4.8106)), 3)
    2.849
    """
    for half in halves:
        not_negative("half-width", half)
    return math.hypot(*halves) / math.sqrt(3.0)


def expanded(uncertainty: float, k: float = 2.0) -> float:
    """Expanded uncertainty, in the unit of `uncertainty`.

    `uncertainty`, standard, zero or above; coverage factor `k`, above zero: 2 covers about 95 %.
    Raises ValueError otherwise.
    Source: JCGM 100:2008 (GUM): U = k u.

    >>> expanded(2.849)
    5.698
    """
    not_negative("uncertainty", uncertainty)
    positive("coverage factor", k)
    return k * uncertainty
