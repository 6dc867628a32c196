"""What cannot be inspected at all: paths, settings and rules that are of no use."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = [
    "BuildlintError",
    "MissingExtraError",
    "PathError",
    "RulebookError",
    "SettingsError",
    "UnknownKindError",
]


class BuildlintError(ValueError):
    """Whatever buildlint cannot do, and why, in words for whoever asked."""


class PathError(BuildlintError):
    """A path that cannot be inspected: there is no such file, or it is none of ours."""


class UnknownKindError(BuildlintError):
    """A kind of file of which there is no schema."""


class MissingExtraError(BuildlintError):
    """Something that only some reports need is not installed; the message says what to install."""


class _MistakesError(BuildlintError):
    mistakes: list[str]
    """Every mistake that was found, one line each: FILE:LINE:COL: what is wrong."""

    def __init__(self, mistakes: Sequence[str]) -> None:
        """Keep the mistakes, one line each."""
        super().__init__("\n".join(mistakes))
        self.mistakes = list(mistakes)


class SettingsError(_MistakesError):
    """Settings that cannot be followed; `mistakes` lists all, one line each, with its place.

    A line is FILE:LINE:COL: what is wrong; the error's own text is all of them.
    Nothing is judged with settings that were not meant.
    """


class RulebookError(_MistakesError):
    """Rules that cannot be used; `mistakes` lists every one found, one line each, with its place.

    A line is FILE:LINE:COL: what is wrong, where there is a place; the error's own text is all of
    them.
    """
