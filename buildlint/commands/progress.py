"""How far a long run is, for whoever waits for it at a terminal."""

from __future__ import annotations

import os
import sys
import time
from typing import TextIO

__all__ = ["Progress"]

# Nobody needs to be told of a run that is over by then, nor more often.
_FIRST = 1.0
_AGAIN = 0.1


class Progress:
    """Says how many builds are judged, on a line that is wiped away at the end.

    Says nothing where the stream is no terminal, and nothing in the first second.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream = stream if stream is not None else sys.stderr
        self.next = time.monotonic() + _FIRST
        self.shown = False
        # a program that calls us may have no such stream, or have closed it
        there = self.stream is not None and not self.stream.closed and self.stream.isatty()
        self.wanted = there and os.environ.get("TERM") != "dumb"

    def __call__(self, done: int, of: int) -> None:
        """Tell that so many builds of so many are judged."""
        if not self.wanted or time.monotonic() < self.next:
            return
        self.next = time.monotonic() + _AGAIN
        self.shown = True
        # what a longer line left behind is wiped away
        self._put(f"\r{done:,} of {of:,} builds judged\x1b[K")

    def close(self) -> None:
        """Wipe the line away."""
        if self.shown:
            self._put("\r\x1b[K")
            self.shown = False

    def _put(self, text: str) -> None:
        try:
            self.stream.write(text)
            self.stream.flush()
        except OSError:
            # nobody watches any more: the report does not wait for that
            self.wanted = False
