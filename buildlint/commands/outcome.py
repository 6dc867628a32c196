"""What a command gives back."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FAILED", "Outcome"]

#: The exit code where a must fails.
FAILED = 1


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a command has to show: its report, the exit code, and notes beside the report."""

    report: str
    code: int = 0
    notes: tuple[str, ...] = ()
