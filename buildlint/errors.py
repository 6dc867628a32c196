"""What cannot be inspected at all: paths, settings and rules that are of no use."""

from __future__ import annotations

__all__ = ["MissingExtraError", "PathError", "RulebookError", "SettingsError"]


class PathError(ValueError):
    """A path that cannot be inspected: there is no such file, or it is none of ours."""


class SettingsError(ValueError):
    """Settings that cannot be followed; nothing is judged with settings that were not meant."""


class MissingExtraError(ValueError):
    """Something that only some reports need is not installed; the message says what to install."""


class RulebookError(ValueError):
    """A rule that cannot be used: every mistake found, each with its file and line."""

    def __init__(self, mistakes: list[str]) -> None:
        """Keep the mistakes, one line each."""
        super().__init__("\n".join(mistakes))
        self.mistakes = mistakes
