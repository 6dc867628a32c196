"""The kinds of reading by name, and how each refuses."""

from typing import get_args

import pytest

from buildlint.files.fields import Quantity
from buildlint.files.kind import Kind
from buildlint.files.readings import Mistake

NAMES = [name for name in vars(Quantity) if not name.startswith("_")]


def kind(name: str) -> Kind:
    found = get_args(getattr(Quantity, name))[1]
    assert isinstance(found, Kind)
    return found


def refusal(name: str, given_: object) -> tuple[str, str]:
    with pytest.raises(Mistake) as caught:
        kind(name).read(given_)
    return caught.value.rule, caught.value.message
