"""Change the code one small thing at a time and see whether the tests notice.

    python tests/mutants.py                                 physics, measures and judging
    python tests/mutants.py physics/oil judging             these only
    python tests/mutants.py judging --sample 50 --seed 1    so many of a module, picked at random

Operators and comparisons are swapped, conditions turned over, `not` dropped, numbers moved by one,
`min` and `max` exchanged, a returned value left out. Messages, annotations and decorators stay as
they are. Each mutant is tried in a copy of the repository: with the tests nearest to its module,
and where these notice nothing with those of the room; properties with few examples of a fixed seed.
What no test noticed is printed: a hole in the tests, or a change that makes no difference, which
`mutants.toml` then says why. Needs the test extra and a system that can fork.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

import tomli

ROOT = Path(__file__).resolve().parent.parent

_FIGURES = ("measures/test_figures", "measures/test_graph")
_SUBJECTS = ("heat_and_air", "bladder", "damping", "springs", "record")

#: Tests that are tried first, besides those of the module's own name and its doctests.
FIRST: dict[str, tuple[str, ...]] = {
    "physics/values": ("physics",),
    "physics/holes": ("physics/test_flow",),
    **{f"measures/{name}": (*_FIGURES, "measures/test_any_damper") for name in _SUBJECTS},
    "measures/arrays": ("measures/test_uncertainty", "judging/test_like"),
    "measures/evaluate": ("measures/test_arrays", "measures/test_uncertainty"),
    "measures/graph": ("measures/test_figures", "judging/test_figures_of_builds"),
    "measures/lookups": ("measures/test_figures",),
    "measures/marks": _FIGURES,
    "measures/missing": (*_FIGURES, "judging/test_like", "judging/test_figures_of_builds"),
    "measures/vocabulary": _FIGURES,
    "judging/adapt_blend": ("judging/test_adapt",),
    "judging/adapt_end": ("judging/test_adapt",),
    "judging/asks": ("judging/test_rule", "judging/test_rule_reader"),
    "judging/candidates": ("judging/test_cures",),
    "judging/carried": ("judging/test_adapt",),
    "judging/combine": ("measures/test_uncertainty", "judging/test_like"),
    "judging/concessions": ("judging/test_inspection",),
    "judging/driver": ("judging/test_adapt",),
    "judging/each_cause": ("judging/test_inspection",),
    "judging/figures": ("judging/test_figures_of_builds",),
    "judging/inspector": ("judging/test_inspection",),
    "judging/judge": ("test_rules",),
    "judging/judgement": ("judging/test_verdicts", "judging/test_judge"),
    "judging/named": ("team/test_nearly_named",),
    "judging/reading_changes": ("judging/test_compare",),
    "judging/rule_schemas": ("judging/test_rulebook",),
    "judging/rulebook": ("judging/test_own_rules",),
    "judging/rules_in_force": ("judging/test_inspection",),
    "judging/values": ("judging/test_compare", "measures/test_graph"),
    "judging/weigh": ("judging/test_judge", "judging/test_verdicts", "judging/test_bands"),
    "files/edit": (),
    "files/concession": ("judging/test_concessions",),
    "files/settings": ("judging/test_rules_in_force",),
    "team/blends": (),
    "team/commit": (),
}

#: What is tried of a room where those noticed nothing.
THEN: dict[str, tuple[str, ...]] = {
    "physics": ("physics", "measures"),
    "measures": (
        *("measures", "judging/test_judge", "judging/test_cures", "judging/test_like"),
        *("judging/test_figures_of_builds", "test_rules", "test_examples"),
    ),
    "judging": ("judging", "reports", "test_rules", "test_examples", "commands/test_adapt"),
    "files": ("files", "judging/test_inspection", "test_bad_input"),
    "team": ("team", "judging/test_named"),
}
_ROOMS = ("physics", "measures", "judging")

_PRELOADED = (
    *("ambiance", "chemicals", "CoolProp.CoolProp", "fluids", "hypothesis.strategies", "pydantic"),
    *("pytest", "scipy.constants", "scipy.integrate", "scipy.optimize", "tree_sitter_toml"),
    "uncertainties",
)

_SWAPS: dict[type[ast.AST], tuple[type[ast.AST], ...]] = {
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.Pow: (ast.Mult,),
    ast.BitOr: (ast.BitAnd,),
    ast.BitAnd: (ast.BitOr,),
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
    ast.And: (ast.Or,),
    ast.Or: (ast.And,),
}
_NAMES = {"min": "max", "max": "min", "any": "all", "all": "any", "ceil": "floor", "floor": "ceil"}

_Way = tuple[tuple[str, int | None], ...]


def variants(node: ast.AST) -> Iterator[ast.AST]:
    """Give what may stand in the place of a node."""
    if isinstance(node, (ast.BinOp, ast.BoolOp, ast.AugAssign)):
        for other in _SWAPS.get(type(node.op), ()):
            yield _with(node, op=other())
    elif isinstance(node, ast.Compare):
        for i, op in enumerate(node.ops):
            for other in _SWAPS[type(op)]:
                yield _with(node, ops=[*node.ops[:i], other(), *node.ops[i + 1 :]])
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, (ast.Not, ast.USub)):
        yield node.operand
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
        yield ast.Constant(not node.value)
    elif isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
        yield ast.Constant(node.value + 1)
        yield ast.Constant(node.value - 1)
    elif isinstance(node, (ast.If, ast.IfExp, ast.While)):
        yield _with(node, test=ast.UnaryOp(ast.Not(), node.test))
    elif isinstance(node, ast.comprehension) and node.ifs:
        yield _with(node, ifs=[ast.UnaryOp(ast.Not(), node.ifs[0]), *node.ifs[1:]])
    elif isinstance(node, ast.Return) and node.value is not None:
        if not (isinstance(node.value, ast.Constant) and node.value.value is None):
            yield ast.Return(None)
    elif isinstance(node, ast.Continue):
        yield ast.Break()
    elif isinstance(node, ast.Break):
        yield ast.Continue()
    elif isinstance(node, ast.Name) and node.id in _NAMES and isinstance(node.ctx, ast.Load):
        yield ast.Name(_NAMES[node.id], ast.Load())
    elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
        yield ast.Pass()


def _with(node: Any, **fields: Any) -> Any:
    other = copy.copy(node)
    for name, value in fields.items():
        setattr(other, name, value)
    return other


def _children(node: ast.AST) -> Iterator[tuple[str, int | None, ast.AST]]:
    """Give what a node is made of, but annotations, decorators, messages and `strict=`."""
    if isinstance(node, (ast.Raise, ast.JoinedStr)):
        return
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "op", "ops"):
            continue
        if isinstance(node, ast.keyword) and node.arg == "strict":
            continue
        for i, item in enumerate(value) if isinstance(value, list) else ((None, value),):
            if isinstance(item, ast.AST):
                yield name, i, item


def mutants(source: str) -> Iterator[tuple[str, str]]:
    """Give each mutant of a module: what is changed, and its source."""
    tree = ast.parse(source)

    def below(node: ast.AST, way: _Way) -> Iterator[tuple[_Way, ast.AST]]:
        yield way, node
        for name, i, child in _children(node):
            yield from below(child, (*way, (name, i)))

    line = 0
    for way, node in list(below(tree, ())):
        line = getattr(node, "lineno", line)
        for other in variants(node):
            changed = copy.deepcopy(tree)
            _put(changed, way, other)
            was, now = (_short(n) for n in (node, other))
            yield f"{line}: {was}  ->  {now}", ast.unparse(ast.fix_missing_locations(changed))


def _put(tree: ast.AST, way: _Way, other: ast.AST) -> None:
    at: Any = tree
    for name, i in way[:-1]:
        at = getattr(at, name) if i is None else getattr(at, name)[i]
    name, i = way[-1]
    if i is None:
        setattr(at, name, other)
    else:
        getattr(at, name)[i] = other


def _short(node: ast.AST) -> str:
    text = ast.unparse(ast.fix_missing_locations(copy.deepcopy(node))).split("\n")[0].strip()
    return text if len(text) <= 90 else f"{text[:87]}..."


class _Quick:
    """A plugin of pytest: few examples of a property, and short tests before long ones."""

    def __init__(self, examples: int, took: dict[str, float]) -> None:
        self._examples = examples
        self.took = took

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        from hypothesis import Phase, settings

        items.sort(key=lambda item: self.took.get(item.nodeid, 0.0))
        for item in items:
            test = getattr(item, "obj", None)
            was = getattr(test, "_hypothesis_internal_use_settings", None)
            if was is not None:
                test._hypothesis_internal_use_settings = settings(
                    was,
                    max_examples=min(was.max_examples, self._examples),
                    phases=(Phase.explicit, Phase.generate),
                    database=None,
                )

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.took[report.nodeid] = self.took.get(report.nodeid, 0.0) + report.duration


def _run(tree: Path, paths: Sequence[str], examples: int, took: dict[str, float]) -> int:
    """Run some tests here, in a process of their own: nothing of ours is imported yet.

    Where `took` is empty, how long each test takes is written to the file `times`.
    """
    import pytest

    os.chdir(tree)
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    sys.dont_write_bytecode = bool(took)
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    if took:
        os.dup2(silence, 2)
    plugin = _Quick(examples, took)
    first = not took
    # hypothesis is imported before pytest can rewrite it
    quiet = ["-q", "--tb=no", "-W", "ignore::pytest.PytestAssertRewriteWarning"]
    arguments = ["-x", "-m", "not whole", "--hypothesis-seed=0", *quiet, *paths]
    code = int(pytest.main(arguments, plugins=[plugin]))
    if first:
        (tree / "times").write_text(repr(plugin.took), encoding="utf-8")
    return code


def _start(limit: float, *arguments: Any) -> int:
    """Run the tests in a child, and give its id."""
    child = os.fork()
    if child:
        return child
    code = 1
    try:
        signal.alarm(int(limit) + 1)  # ends the child: a mutant that hangs is noticed
        code = _run(*arguments)
    finally:
        os._exit(code)


def _copy(to: Path) -> Path:
    ignore = shutil.ignore_patterns(".*", "__pycache__")
    shutil.copytree(ROOT, to, ignore=ignore, dirs_exist_ok=True)
    return to


def _preload() -> None:
    """Import what the tests stand on once, for all children."""
    for name in _PRELOADED:
        import_module(name)


def _modules(asked: Sequence[str]) -> list[str]:
    """Return the modules that are meant by their names, or by those of their rooms."""
    found: list[str] = []
    for name in asked or _ROOMS:
        at = ROOT / "buildlint" / name
        files = sorted(at.glob("*.py")) if at.is_dir() else [at.with_suffix(".py")]
        if not all(f.is_file() for f in files) or name.partition("/")[0] not in THEN:
            raise SystemExit(f"mutants: no module or room whose tests are known: {name}")
        found += [f.relative_to(ROOT / "buildlint").with_suffix("").as_posix() for f in files]
    return found


def _nearest(module: str) -> list[str]:
    """Return the tests of a module's own name, others that are named for it, and its doctests."""
    room, _, name = module.partition("/")
    own = f"{room}/test_{name}"
    names = [own, *FIRST.get(module, ())]
    paths = [at for each in names for at in (f"tests/{each}.py", f"tests/{each}")]
    return [*(at for at in paths if (ROOT / at).exists()), f"buildlint/{module}.py"]


def main(arguments: Sequence[str]) -> int:
    """Try mutants; 1 where one survived unexplained, 2 where the tests fail as it is."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("modules", nargs="*", help=f"or rooms (left out: {', '.join(_ROOMS)})")
    parser.add_argument("--sample", type=int, help="try so many of a module, picked at random")
    parser.add_argument("--seed", type=int, default=0, help="of the sample (0)")
    parser.add_argument("--examples", type=int, default=10, help="most of each property (10)")
    parser.add_argument("--processes", type=int, default=2, help="at a time (2)")
    asked = parser.parse_args(arguments)
    explained = tomli.loads((ROOT / "tests/mutants.toml").read_text(encoding="utf-8"))
    modules = _modules(asked.modules)
    _preload()
    tried = noticed = same = 0
    with tempfile.TemporaryDirectory() as folder:
        trees = [_copy(Path(folder, str(i))) for i in range(asked.processes)]
        for module in modules:
            found = list(mutants((ROOT / f"buildlint/{module}.py").read_text(encoding="utf-8")))
            count = len(found)
            if asked.sample and asked.sample < count:
                found = random.Random(asked.seed).sample(found, asked.sample)
            if not found:
                continue
            started = time.monotonic()
            alive = _survivors(module, [text for _, text in found], trees, asked.examples)
            if alive is None:
                print(f"{module}: the tests fail without a change")
                return 2
            why = explained.get(module, {})
            holes = [n for n in alive if found[n][0].partition(": ")[2] not in why]
            tried, noticed = tried + len(found), noticed + len(found) - len(alive)
            same += len(alive) - len(holes)
            spent = f"{time.monotonic() - started:.0f} s"
            print(f"{module}: {_score(len(found), len(alive), len(alive) - len(holes))}, {spent}")
            if len(found) < count:
                print(f"  a sample of {count}, seed {asked.seed}")
            for number in holes:
                print(f"  {module}:{found[number][0]}")
            sys.stdout.flush()
    print(f"in all: {_score(tried, tried - noticed, same)}")
    return 1 if tried > noticed + same else 0


def _score(tried: int, alive: int, explained: int) -> str:
    rate = f"{100 * (tried - alive) / tried:.1f} %"
    return f"{tried - alive} of {tried} noticed, {rate}; {explained} of {alive} others explained"


def _survivors(
    module: str, texts: Sequence[str], trees: Sequence[Path], examples: int
) -> list[int] | None:
    """Try each text in the place of a module, and give the numbers of those that no test noticed.

    None where the tests fail without a change.
    """
    original = ROOT / f"buildlint/{module}.py"
    unchanged = ast.unparse(ast.parse(original.read_text(encoding="utf-8")))
    left = list(range(len(texts)))
    room = [f"tests/{name}" for name in THEN[module.partition("/")[0]]]
    behind = [at if (ROOT / at).is_dir() else f"{at}.py" for at in room]
    for paths in (_nearest(module), behind):
        if left:
            for tree in trees:
                _put_module(tree, module, unchanged, 0)
                if os.waitpid(_start(3600.0, tree, paths, examples, {}), 0)[1]:
                    return None
            took = ast.literal_eval((trees[0] / "times").read_text(encoding="utf-8"))
            left = _unnoticed(module, {n: texts[n] for n in left}, trees, paths, examples, took)
    for tree in trees:
        shutil.copy2(original, tree / f"buildlint/{module}.py")
    return left


def _unnoticed(
    module: str,
    texts: dict[int, str],
    trees: Sequence[Path],
    paths: Sequence[str],
    examples: int,
    took: dict[str, float],
) -> list[int]:
    limit = 10.0 + 5.0 * sum(took.values())
    free, waiting = list(trees), list(texts)
    running: dict[int, tuple[int, Path]] = {}
    alive = []
    while waiting or running:
        while waiting and free:
            number, tree = waiting.pop(0), free.pop()
            _put_module(tree, module, texts[number], number + 1)
            running[_start(limit, tree, paths, examples, took)] = (number, tree)
        child, status = os.wait()
        number, tree = running.pop(child)
        free.append(tree)
        if status == 0:
            alive.append(number)
    return sorted(alive)


def _put_module(tree: Path, module: str, text: str, number: int) -> None:
    file = tree / f"buildlint/{module}.py"
    file.write_text(text, encoding="utf-8")
    at = 1_000_000_000 + number  # so that no bytecode of another fits
    os.utime(file, (at, at))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
