"""Ids and names that stand twice: of a part, of a file, or of two that many disks take for one."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import islice
from pathlib import Path

from buildlint.files.fault import Fault
from buildlint.files.names import folded
from buildlint.text.words import clean, counted, listed, shown

__all__ = ["alike_on_some_disks", "file_twice", "one_file_on_some_disks", "part_twice"]

# So many of the other files are named.
_MOST_NAMED = 3

#: How the path of a file is shown, or what of it must be one file's only.
_Name = Callable[[Path], str]


def part_twice(kind: str, ident: str, homes: Sequence[Path], own: Path, relative: _Name) -> Fault:
    """Return the mistake that a part of one parts file, `own`, has its id in others too."""
    what = f"the {kind} {shown(ident)} is also in {_others(homes, own, relative)}"
    ask = "give one of the two another id" if len(homes) == 2 else "give each an id of its own"
    return Fault("file/id-twice", f"{what}: {ask}", (kind, ident), on_key=True)


def file_twice(kind: str, ident: str, paths: Sequence[Path], own: Path, relative: _Name) -> Fault:
    """Return the mistake that other files have the kind and id of `own`."""
    what = f"the {kind} {shown(ident)} is also {_others(paths, own, relative)}"
    return Fault("file/id-twice", f"{what}: {_rename(paths)}")


def alike_on_some_disks(paths: Sequence[Path], name_of: _Name) -> dict[str, dict[str, Path]]:
    """Return the names that some disks take for another's too, each with all that are alike.

    Of those, a checkout on such a disk has one file: a build would be judged with another than
    here, and nobody told.
    """
    named: dict[str, dict[str, Path]] = {}
    for path in paths:
        named.setdefault(folded(name_of(path)), {}).setdefault(name_of(path), path)
    # nearly every name is one file's
    return {name: alike for alike in named.values() if len(alike) > 1 for name in alike}


def one_file_on_some_disks(name: str, alike: Mapping[str, Path], relative: _Name) -> Fault:
    """Return the mistake that the file of a name has others that are alike to it on some disks."""
    first = alike[name]
    message = (
        f"{shown(first.name)} and {_others(alike.values(), first, relative)} differ only in "
        "capitals or in how an accent is put on its letter: many disks can hold only "
        f"one of them; {_rename(alike)}"
    )
    return Fault("file/id-twice", message)


def _rename(files: Collection[object]) -> str:
    two = len(files) == 2
    return "give one file another name" if two else "give each file a name of its own"


def _others(paths: Collection[Path], own: Path, relative: _Name) -> str:
    """Name the first few of some files but one, and say how many more there are."""
    some = [path for path in islice(paths, _MOST_NAMED + 1) if path != own][:_MOST_NAMED]
    more = len(paths) - 1 - len(some)
    names = [clean(relative(path)) for path in some]
    return listed([*names, f"{counted(more, 'more file', ',')}"] if more else names)
