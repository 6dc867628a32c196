"""The house: nothing goes in a ring, formulas stand by themselves, no room is too large."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "buildlint"
MODULES = {
    ".".join(("buildlint", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(
        ".__init__"
    ): path
    for path in sorted(PACKAGE.rglob("*.py"))
}

#: The rooms, from the top down: each needs only those below it.
ROOMS = ("commands", "reports", "judging", "team", "measures", "files", "physics", "text")


def imported(name: str) -> Iterator[str]:
    """Give the modules of ours that a module imports, wherever in it; not those for types alone."""
    tree = ast.parse(MODULES[name].read_text(encoding="utf-8"))
    for_types = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in for_types:
            continue
        if isinstance(node, ast.ImportFrom) and node.module in MODULES:
            yield node.module
            yield from (f"{node.module}.{a.name}" for a in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def test_no_module_needs_itself_by_any_way():
    # packages only name what is in them
    packages = {name for name, path in MODULES.items() if path.name == "__init__.py"}
    needs = {
        name: {other for other in imported(name) if other in MODULES} - packages
        for name in MODULES
        if name not in packages
    }
    assert len(needs) > 100
    TopologicalSorter(needs).prepare()


def test_the_package_has_these_rooms_and_no_other():
    flat = [path.name for path in PACKAGE.glob("*.py")]
    assert sorted(flat) == ["__init__.py", "__main__.py"]
    assert {name.split(".")[1] for name in MODULES if name.count(".") == 2} == {*ROOMS}


@pytest.mark.parametrize("name", [name for name in MODULES if name.count(".") >= 2])
def test_a_room_needs_only_itself_and_those_below_it(name: str):
    own = ROOMS.index(name.split(".")[1])
    for other in imported(name):
        if other.startswith("buildlint.") and other in MODULES:
            room = other.split(".")[1]
            assert ROOMS.index(room) >= own, f"{name} needs {other}"
            if ROOMS[own] == "physics":
                assert room == "physics", "formulas stand by themselves"


@pytest.mark.parametrize("name", MODULES)
def test_a_module_can_be_read_in_one_go(name: str):
    lines = MODULES[name].read_text(encoding="utf-8").count("\n")
    assert lines <= 400


@pytest.mark.parametrize("name", MODULES)
def test_a_screen_holds_every_function(name: str):
    for node in ast.walk(ast.parse(MODULES[name].read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            documentation = node.body[0] if ast.get_docstring(node) else None
            shown = (node.end_lineno or 0) - node.lineno + 1
            if documentation is not None:
                shown -= (documentation.end_lineno or 0) - documentation.lineno + 1
            assert shown <= 54, f"{node.name} has {shown} lines"
