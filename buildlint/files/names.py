"""The names of a team's files: which kind and which id a name says."""

from __future__ import annotations

import unicodedata

from buildlint.files.models import KINDS
from buildlint.words import nearest

__all__ = ["folded", "is_ours", "kind_and_id", "meant_name"]


def kind_and_id(name: str) -> tuple[str, str] | None:
    """Give the kind and the id that a file's name says, or None for any other file.

    >>> kind_and_id("heron.car.toml"), kind_and_id("pyproject.toml"), kind_and_id(".car.toml")
    (('car', 'heron'), None, None)
    """
    stem, dot, ending = name.rpartition(".")
    if ending != "toml":
        return None
    ident, dot, kind = stem.rpartition(".")
    return (kind, ident) if dot and ident and kind in KINDS else None


def meant_name(name: str) -> str | None:
    """Give the name that a file nearly has; None for a file that is named well, or of no kind.

    >>> meant_name("heron.bulid.toml"), meant_name("Heron.Car.toml"), meant_name("x.car.toml.txt")
    ('heron.build.toml', 'Heron.car.toml', 'x.car.toml')
    >>> meant_name("heron.car.toml"), meant_name("pyproject.toml"), meant_name("x.lock.toml")
    (None, None, None)
    """
    if kind_and_id(name) is not None:
        return None
    plain = name[: -len(".txt")] if name.casefold().endswith(".toml.txt") else name
    ident, _, kind = plain[: -len(".toml")].rpartition(".")
    if not plain.casefold().endswith(".toml") or not ident or ident.startswith("."):
        return None
    near = kind.casefold() if kind.casefold() in KINDS else nearest(kind.casefold(), KINDS, 0.78)
    return f"{ident}.{near}.toml" if near is not None else None


def is_ours(name: str) -> bool:
    """Say whether a file's name is of one of the kinds, or nearly so."""
    return kind_and_id(name) is not None or meant_name(name) is not None


def folded(name: str) -> str:
    """Give what is left of a name on a disk that minds neither capitals nor forms of letters."""
    if name.isascii():
        return name.lower()
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
