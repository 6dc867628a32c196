"""A path that a program hands over, checked before it is used."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from buildlint.text.errors import PathError
from buildlint.text.words import shown

__all__ = ["path_of"]


def path_of(given: object) -> Path:
    r"""Give a path that a program names, whether or not there is such a file.

    Raises TypeError for what is neither text nor a path, PathError for what no file can be named.

    >>> path_of("a\0b")
    Traceback (most recent call last):
        ...
    buildlint.text.errors.PathError: "a\x00b" cannot be the name of a file
    """
    text = os.fspath(given) if isinstance(given, (str, os.PathLike)) else None
    if not isinstance(text, str):
        raise TypeError("a path is text, or a pathlib.Path")
    if not text:
        raise PathError("a path is empty")
    try:
        os.lstat(text)
    except ValueError:
        raise PathError(f"{shown(text)} cannot be the name of a file") from None
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            raise PathError(f"{shown(text)} is too long for the name of a file") from None
    return Path(text)
