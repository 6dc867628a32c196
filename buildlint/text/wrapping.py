"""Lines of a report in text, none longer than its width."""

from __future__ import annotations

import re
import textwrap

__all__ = ["WIDTH", "wrapped"]

WIDTH = 80

# A figure stays on one line with its unit, a line with its number.
_KEPT_TOGETHER = re.compile(
    r"(?<=[0-9]) (?=[%a-zA-Z^/]+\b|%|[0-9]+/[0-9]|x [0-9])"
    r"|(?<=[0-9] x) (?=[0-9])|(?<=line) (?=[0-9])"
)


def wrapped(text: str, indent: int, first: str | None = None) -> list[str]:
    """Wrap a text to the report's width; `first` stands before its first line."""
    lines = textwrap.wrap(
        _KEPT_TOGETHER.sub("\0", text),
        WIDTH,
        initial_indent=first if first is not None else " " * indent,
        subsequent_indent=" " * indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace("\0", " ") for line in lines]
