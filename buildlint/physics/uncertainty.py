"""Tolerances of readings, combined as standard uncertainties."""

import math
from collections.abc import Sequence

import numpy as np

from buildlint.physics.values import Values, formula, not_negative, positive, within


@formula
def combined(halves: Sequence[Values]) -> Values:
    """Return the combined standard uncertainty of a figure, in its own unit.

    `halves`: for each reading, half the width of what it can do to the figure (the reading's limit
    of error times the figure's sensitivity to it), in the figure's unit, zero or above. Readings
    are taken as independent, and as equally likely anywhere within their limits. An empty list
    gives zero. Return nan where a half is negative or not finite.
    Source: JCGM 100:2008 (GUM): root-sum-square of a/sqrt(3).

    Shaft 3.5 +- 0.02 mm, hold-back 10 +- 0.5 mm, so 96.211 mm^3 displaced: 1.0996 from the
    shaft, 4.8106 from the hold-back.

    >>> round(combined((1.0996, 4.8106)), 3)
    2.849
    """
    whole: Values = 0.0
    for half in halves:
        whole = np.hypot(whole, half)
    return within(not_negative(*halves), whole / math.sqrt(3.0))


@formula
def expanded(uncertainty: Values, k: Values = 2.0) -> Values:
    """Return the expanded uncertainty, in the unit of `uncertainty`.

    `uncertainty`, standard, zero or above; coverage factor `k`, above zero: 2 covers about 95 %.
    Return nan outside that.
    Source: JCGM 100:2008 (GUM): U = k u.

    >>> expanded(2.849)
    5.698
    """
    return within(not_negative(uncertainty) & positive(k), k * uncertainty)
