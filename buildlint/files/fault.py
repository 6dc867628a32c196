"""A mistake in a file."""

from __future__ import annotations

from dataclasses import dataclass, replace

from buildlint.files.places import KeyPath, Place
from buildlint.text.words import short

__all__ = ["Fault", "with_keys"]


@dataclass(frozen=True, slots=True)
class Fault:
    """A mistake in a file: which rule, what, and where (a key's path, or a place known already)."""

    rule: str
    message: str
    path: KeyPath = ()
    on_key: bool = False
    place: Place | None = None


def with_keys(fault: Fault) -> Fault:
    """Give a fault that says of itself where it is, for a table that stands on no lines.

    >>> with_keys(Fault("file/not-a-reading", "oil: no text", ("front", "left", "oil"))).message
    'front.left.oil: no text'
    """
    if len(fault.path) < 2:
        return fault
    keys, message = fault.path, fault.message
    if fault.rule in ("file/missing-key", "file/unknown-key"):
        # most of these name the table that they are about
        keys = keys[:-1]
        if all(short(key) in message for key in keys):
            return fault
    where = ".".join(map(short, keys)) + ": "
    if message.startswith(where):
        return fault
    # an item of a list goes by the list's name
    own = next((key for key in reversed(keys) if not key.isdigit()), "")
    return replace(fault, message=where + message.removeprefix(f"{short(own)}: "))
