"""The names of a team's files: which kind and which id a name says."""

from __future__ import annotations

import unicodedata
from pathlib import PurePath

from buildlint.files.models import KINDS
from buildlint.files.settings import OWN, SETTINGS
from buildlint.text.words import nearest

__all__ = ["folded", "is_ours", "kind_and_id", "like_toml", "meant_name", "meant_rule"]


def kind_and_id(name: str) -> tuple[str, str] | None:
    """Return the kind and the id that a file's name says, or None for any other file.

    >>> kind_and_id("heron.car.toml"), kind_and_id("pyproject.toml"), kind_and_id(".car.toml")
    (('car', 'heron'), None, None)
    """
    stem, dot, ending = name.rpartition(".")
    if ending != "toml":
        return None
    ident, dot, kind = stem.rpartition(".")
    return (kind, ident) if dot and ident and kind in KINDS else None


def meant_name(name: str) -> str | None:
    """Return the name that a file nearly has; None for a file that is named well, or of no kind.

    Settings are a kind of their own here.

    >>> meant_name("heron.bulid.toml"), meant_name("Heron.Car.toml"), meant_name("x.car.toml.txt")
    ('heron.build.toml', 'Heron.car.toml', 'x.car.toml')
    >>> meant_name("heron.car.toml"), meant_name("pyproject.toml"), meant_name("x.lock.toml")
    (None, None, None)
    >>> meant_name("x.build.tml"), meant_name("x.toml"), meant_name("build.toml")
    ('x.build.toml', None, None)
    >>> meant_name("Buildlint.toml"), meant_name("buildlint.toml.txt"), meant_name("buildlint.toml")
    ('buildlint.toml', 'buildlint.toml', None)
    """
    if name == SETTINGS or kind_and_id(name) is not None:
        return None
    if _as_toml(name).casefold() == SETTINGS:
        return SETTINGS
    plain = _as_toml(name)
    ident, _, kind = plain[: -len(".toml")].rpartition(".")
    if not plain.endswith(".toml") or not ident or ident.startswith("."):
        return None
    near = kind.casefold() if kind.casefold() in KINDS else nearest(kind.casefold(), KINDS, 0.78)
    return f"{ident}.{near}.toml" if near is not None else None


def meant_rule(path: PurePath) -> PurePath | None:
    """Return the place that a rule's file, named from the root, nearly has; None for other files.

    >>> str(meant_rule(PurePath("Rules/x/y.TOML"))), str(meant_rule(PurePath("rules/x/y.toml.txt")))
    ('rules/x/y.toml', 'rules/x/y.toml')
    >>> meant_rule(PurePath("rules/x/y.toml")), meant_rule(PurePath("rules/x/notes.txt"))
    (None, None)
    """
    if len(path.parts) < 2:
        return None
    folder, *rest = path.parts
    meant = PurePath(OWN, *rest).with_name(_as_toml(path.name))
    like_it = folder.casefold() == OWN and meant.name.endswith(".toml")
    return meant if like_it and meant != path else None


def like_toml(name: str) -> bool:
    """Return whether a file's name ends like that of a TOML file, or nearly so."""
    return _as_toml(name).endswith(".toml")


def _as_toml(name: str) -> str:
    """Return a name with the ending .toml, where it has one that is nearly that.

    >>> _as_toml("a.TOML"), _as_toml("a.toml.txt"), _as_toml("a.tml"), _as_toml("a.md")
    ('a.toml', 'a.toml', 'a.toml', 'a.md')
    """
    for ending in (".toml", ".toml.txt", ".tml"):
        if name.casefold().endswith(ending) and len(name) > len(ending):
            return f"{name[: -len(ending)]}.toml"
    return name


def is_ours(name: str) -> bool:
    """Return whether a file's name is of one of the kinds, or nearly so, or nearly of settings."""
    return kind_and_id(name) is not None or meant_name(name) is not None


def folded(name: str) -> str:
    """Return what is left of a name on a disk that minds neither capitals nor forms of letters."""
    if name.isascii():
        return name.lower()
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
