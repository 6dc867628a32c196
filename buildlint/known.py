"""A figure that a formula gives, or words for why it gives none."""

from __future__ import annotations

from math import isnan

from buildlint.physics._arrays import Values

__all__ = ["known"]


def known(figure: Values, words: str = "no figure can be worked out from them") -> float:
    """Return a figure as a float; raise ValueError with these words where it is nan.

    >>> known(0.5)
    0.5
    >>> known(float("nan"), "the limiter leaves no stroke")
    Traceback (most recent call last):
    ValueError: the limiter leaves no stroke
    """
    found = float(figure)
    if isnan(found):
        raise ValueError(words)
    return found
