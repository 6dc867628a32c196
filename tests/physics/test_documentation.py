"""Every formula says its source, its units, its range, and shows an example that runs.

SOURCES.md beside the formulas has a line for each, and the sections that other pages cite.
"""

from __future__ import annotations

import inspect
import pkgutil
import re
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

import buildlint.physics
from buildlint.measures import MEASURES, uncertainty
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

DEFAULTS = sorted(
    name
    for module in {module for module, _, _ in (each.partition(".") for each in FORMULAS)}
    for name in vars(import_module(f"buildlint.physics.{module}"))
    if re.fullmatch(r"[A-Z][A-Z_]+", name)
)

PAGE = Path(buildlint.physics.__file__).with_name("SOURCES.md").read_text(encoding="utf-8")
PROJECT = Path(__file__).parents[2]


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


def section(heading: str) -> str:
    """Give the one section of SOURCES.md whose heading holds these words."""
    (found,) = (each for each in PAGE.split("\n## ") if heading in each.partition("\n")[0])
    return found


@pytest.mark.parametrize("name", FORMULAS)
def test_sources_tells_of_every_formula_in_the_section_of_its_module(name: str):
    module, _, formula = name.partition(".")
    assert f"`{formula}`" in section(f"(`{module}`)")


@pytest.mark.parametrize("name", DEFAULTS)
def test_sources_tells_of_every_default(name: str):
    assert f"`{name}`" in PAGE


@pytest.mark.parametrize("name", FUNCTIONS)
def test_sources_tells_of_every_figure(name: str):
    assert f"`{name}`" in section("Figures of a damper")


def test_sources_tells_how_sure_a_figure_is():
    functions = [n for n in uncertainty.__all__ if inspect.isfunction(getattr(uncertainty, n))]
    assert functions
    for name in functions:
        assert f"`{name}`" in section("How sure a figure is")


def test_sections_that_are_cited_are_there():
    sections = re.findall(r"^## (\d+)\. ", PAGE, re.MULTILINE)
    assert sections == [str(number) for number in range(1, len(sections) + 1)]
    citing = [*PROJECT.glob("buildlint/**/*.py"), *PROJECT.glob("tests/**/*.py")]
    texts = [path.read_text(encoding="utf-8") for path in citing]
    cited = {
        number
        for text in texts
        for found in re.findall(r"SOURCES\.md, (\d+)(?: and (\d+))?", text)
        for number in found
        if number
    }
    assert cited and cited <= set(sections)
