"""A mistake in a file."""

from __future__ import annotations

from dataclasses import dataclass

from buildlint.files.places import KeyPath, Place

__all__ = ["Fault"]


@dataclass(frozen=True, slots=True)
class Fault:
    """A mistake in a file: which rule, what, and where (a key's path, or a place known already)."""

    rule: str
    message: str
    path: KeyPath = ()
    on_key: bool = False
    place: Place | None = None
