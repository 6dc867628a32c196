"""Hold signals back while something is written, so that it is written whole or not at all."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator
from typing import Any

__all__ = ["undisturbed"]

# What ends a process that does not say otherwise, and can be made to wait.
_ENDS = ("SIGINT", "SIGTERM", "SIGHUP", "SIGQUIT", "SIGBREAK")


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """Let whatever would end this process wait until what is done here is whole, or given up."""
    waiting: list[int] = []

    def wait(number: int, _: Any) -> None:
        waiting.append(number)

    before: dict[int, Any] = {}
    if threading.current_thread() is threading.main_thread():
        for name in _ENDS:
            number = getattr(signal, name, None)
            # one that is passed over, or is another language's, stays so
            if number is not None and signal.getsignal(number) not in (signal.SIG_IGN, None):
                before[number] = signal.signal(number, wait)
    try:
        yield
    finally:
        for number, action in before.items():
            signal.signal(number, action)
        for number in waiting:
            signal.raise_signal(number)
