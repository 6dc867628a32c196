"""Refusals shared by the formulas. Comparisons are written so that nan is refused too."""

from math import inf


def finite(name: str, value: float) -> None:
    """Raise ValueError unless `value` is a finite number.

    >>> finite("growth", -1.0)
    >>> finite("growth", float("nan"))
    Traceback (most recent call last):
    ValueError: growth must be a finite number, not nan
    """
    if not -inf < value < inf:
        raise ValueError(f"{name} must be a finite number, not {value}")


def positive(name: str, value: float) -> None:
    """Raise ValueError unless `value` is finite and above zero.

    >>> positive("bore", 0.016)
    >>> positive("bore", 0.0)
    Traceback (most recent call last):
    ValueError: bore must be above zero, not 0.0
    """
    if not 0.0 < value < inf:
        raise ValueError(f"{name} must be above zero, not {value}")


def not_negative(name: str, value: float) -> None:
    """Raise ValueError unless `value` is finite and zero or above.

    >>> not_negative("depth", 0.0)
    >>> not_negative("depth", -0.001)
    Traceback (most recent call last):
    ValueError: depth must be zero or above, not -0.001
    """
    if not 0.0 <= value < inf:
        raise ValueError(f"{name} must be zero or above, not {value}")
