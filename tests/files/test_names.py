"""The names of files: which kind and id they say."""

import pytest

from buildlint.files.models import KINDS
from buildlint.files.names import kind_and_id


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("heron.car.toml", ("car", "heron")),
        ("drawers.parts.toml", ("parts", "drawers")),
        ("quarry-six-hour.event.toml", ("event", "quarry-six-hour")),
        ("heron.quarry.build.toml", ("build", "heron.quarry")),
        (".build.toml", None),
        ("build.toml", None),
        ("heron.build.tom", None),
        ("heron.build.toml.bak", None),
        ("heron.Build.toml", None),
        ("heron.rule.toml", None),
        ("buildlint.toml", None),
        ("", None),
    ],
)
def test_the_end_of_a_name_says_the_kind(name: str, expected: tuple[str, str] | None) -> None:
    assert kind_and_id(name) == expected


def test_there_are_four_kinds() -> None:
    assert sorted(KINDS) == ["build", "car", "event", "parts"]
