"""Where a reading stands."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

__all__ = ["Origin"]


class Origin(NamedTuple):
    """Where a reading stands: the file, and the keys that lead to it."""

    path: Path
    keys: tuple[str, ...]
