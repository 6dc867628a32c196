"""Every formula says its source, its units, its range, and shows an example that runs."""

from __future__ import annotations

import inspect
import pkgutil
import re
from collections.abc import Callable
from importlib import import_module
from typing import Any

import pytest

import buildlint.physics
from buildlint.measures import MEASURES
from buildlint.measures.graph import FUNCTIONS

FORMULAS: dict[str, Callable[..., Any]] = {
    f"{info.name}.{name}": found
    for info in pkgutil.iter_modules(buildlint.physics.__path__)
    if info.name not in ("values", "holes")  # what formulas are made with
    for name, found in vars(import_module(f"buildlint.physics.{info.name}")).items()
    if inspect.isfunction(found)
    and found.__module__ == f"buildlint.physics.{info.name}"
    and not name.startswith("_")
}


def test_there_are_formulas():
    assert len(FORMULAS) > 40


@pytest.mark.parametrize("name", FORMULAS)
def test_a_formula_is_documented(name: str):
    said = " ".join((FORMULAS[name].__doc__ or "").split())
    assert re.search(r"Source:\s+\w", said), "where does it come from?"
    assert ">>>" in said, "it shows no example"
    assert said.startswith("Return ") and "Return nan" in said, "where does it give nothing?"


@pytest.mark.parametrize(
    "measure", [m for m in MEASURES.values() if m.name in FUNCTIONS], ids=lambda m: m.name
)
def test_a_measure_says_what_it_is_and_its_unit(measure):
    assert measure.means and measure.unit
    assert len((FUNCTIONS[measure.name].__doc__ or "").strip()) > 10
