"""Lines of a report in text, none longer than its width."""

from __future__ import annotations

import re
import textwrap

__all__ = ["WIDTH", "width_of", "wrapped"]

#: The width of a report where nobody asks for another.
WIDTH = 80

# Narrower or wider than this no report can be read.
_NARROWEST, _WIDEST = 40, 200

# A figure stays on one line with its unit, a line with its number.
_KEPT_TOGETHER = re.compile(
    r"(?<=[0-9]) (?=[%a-zA-Z^/]+\b|%|[0-9]+/[0-9]|x [0-9])"
    r"|(?<=[0-9] x) (?=[0-9])|(?<=line) (?=[0-9])"
)


def width_of(columns: int) -> int:
    """Return the width of a report on a terminal of so many columns.

    >>> width_of(20), width_of(120), width_of(1_000)
    (40, 120, 200)
    """
    return max(_NARROWEST, min(_WIDEST, columns))


def wrapped(text: str, indent: int, first: str | None = None, width: int = WIDTH) -> list[str]:
    """Wrap a text to the report's width; `first` stands before its first line."""
    lines = textwrap.wrap(
        _KEPT_TOGETHER.sub("\0", text),
        width,
        initial_indent=first if first is not None else " " * indent,
        subsequent_indent=" " * indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace("\0", " ") for line in lines]
