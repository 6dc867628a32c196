"""What formulas take and give: numbers or arrays of numbers, nan where there is no answer.

Comparisons are written so that nan, a reading that is missing, is never within a range.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce, wraps
from math import inf, nan
from operator import and_
from typing import Any, TypeAlias, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Values: TypeAlias = float | NDArray[np.float64]
"""A number or an array of numbers: arrays of one call need shapes that broadcast."""

Mask: TypeAlias = bool | np.bool_ | NDArray[np.bool_]
"""Whether each number is within a range."""

Formula = TypeVar("Formula", bound=Callable[..., Values])


def formula(work: Formula) -> Formula:
    """Decorate a formula: let it work on numpy's numbers and without warnings.

    Python's own floats raise an exception where numpy's give inf or nan. Where all that is given
    are floats, a float is returned.
    """

    @wraps(work)
    def quiet(*given: Any, **named: Any) -> Values:
        with np.errstate(all="ignore"):
            found = work(
                *(_numbers(each) for each in given),
                **{name: _numbers(each) for name, each in named.items()},
            )
        return found if np.ndim(found) else float(found)

    return cast(Formula, quiet)


def _numbers(given: Any) -> Any:
    """Return an argument as numpy's numbers; a sequence as a tuple of them, None as it is."""
    if isinstance(given, (tuple, list)):
        return tuple(map(_numbers, given))
    return None if given is None else np.asarray(given, dtype=np.float64)[()]


def within(ok: Mask, values: Values) -> Values:
    """Return the values where they are in order, nan elsewhere.

    >>> [round(float(each), 1) for each in within(np.array([True, False]), np.array([1.5, 2.5]))]
    [1.5, nan]
    """
    return cast(Values, np.where(ok, values, nan))


def finite(*values: Values) -> Mask:
    """Return where all of the values are finite.

    >>> bool(finite(-1.0, 2.0)), bool(finite(2.0, nan))
    (True, False)
    """
    return _all([np.isfinite(each) for each in values])


def positive(*values: Values) -> Mask:
    """Return where all of the values are finite and above zero.

    >>> bool(positive(0.016, 0.0035)), bool(positive(0.016, 0.0))
    (True, False)
    """
    return _all([(each > 0.0) & (each < inf) for each in values])


def not_negative(*values: Values) -> Mask:
    """Return where all of the values are finite and zero or above.

    >>> bool(not_negative(0.0, 0.001)), bool(not_negative(-0.001))
    (True, False)
    """
    return _all([(each >= 0.0) & (each < inf) for each in values])


def _all(masks: list[Any]) -> Mask:
    return cast(Mask, reduce(and_, masks, True))
