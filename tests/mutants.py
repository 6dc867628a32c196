"""Change the code one small thing at a time and see whether the tests notice.

    python tests/mutants.py                                 physics, measures and judging
    python tests/mutants.py physics/oil judging             these only
    python tests/mutants.py judging --sample 50 --seed 1    so many of a module, picked at random

Operators and comparisons are swapped, conditions turned over, `not` dropped, numbers moved by one,
`min` and `max` exchanged, a returned value left out. Messages, annotations, decorators and asserts
stay as they are. Each mutant is tried in a copy of the repository with the tests that run its line,
the nearest and the quickest first, as many as take half a minute; properties with few examples of a
fixed seed. What no test noticed is printed: a hole in the tests, or a change that makes no
difference: `mutants.toml` then says why. Needs the test extra and a system that can fork.

mutmut leaves out decorated functions, which all formulas are, and cosmic-ray starts the tests anew
for each change.
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
from collections.abc import Callable, Iterator, Sequence
from functools import _lru_cache_wrapper
from importlib import import_module
from itertools import accumulate
from pathlib import Path
from typing import Any, NamedTuple

import tomli
from coverage import Coverage

ROOT = Path(__file__).resolve().parent.parent

#: The tests that are tried of each room, besides its doctests.
TESTS: dict[str, tuple[str, ...]] = {
    "physics": ("physics", "measures"),
    "measures": ("measures", "judging", "test_rules.py", "test_examples.py"),
    "judging": ("judging", "reports", "test_rules.py", "test_examples.py"),
    "team": ("team", "judging", "test_bad_input.py"),
    "files": ("files", "team", "judging", "test_bad_input.py"),
}
_ROOMS = ("physics", "measures", "judging")
# So many tests are tried before the others are looked at, and so long at most (s).
_QUICKEST = 80
_LONGEST = 30.0

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
    """Give what a node is made of, but annotations, decorators, messages, asserts, `strict=`."""
    if isinstance(node, (ast.Raise, ast.JoinedStr, ast.Assert)):
        return
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "op", "ops"):
            continue
        if isinstance(node, ast.keyword) and node.arg == "strict":
            continue
        for i, item in enumerate(value) if isinstance(value, list) else ((None, value),):
            if isinstance(item, ast.AST):
                yield name, i, item


class Mutant(NamedTuple):
    """A changed module: the line, and the first line of what it stands in; what, and its source."""

    line: int
    within: int
    what: str
    text: str


def mutants(source: str) -> Iterator[Mutant]:
    """Give each mutant of a module."""
    tree = ast.parse(source)

    def below(node: ast.AST, way: _Way) -> Iterator[tuple[_Way, ast.AST]]:
        yield way, node
        for name, i, child in _children(node):
            yield from below(child, (*way, (name, i)))

    line = within = 0
    for way, node in list(below(tree, ())):
        line = getattr(node, "lineno", line)
        if len(way) == 1 or isinstance(node, ast.FunctionDef):
            within = line
        for other in variants(node):
            changed = copy.deepcopy(tree)
            _put(changed, way, other)
            was, now = (_short(n) for n in (node, other))
            text = ast.unparse(ast.fix_missing_locations(changed))
            yield Mutant(line, within, f"{was}  ->  {now}", text)


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
    """A plugin of pytest: some tests alone, short ones first, few examples of a property."""

    def __init__(self, examples: int, wanted: dict[str, float] | None) -> None:
        self._examples = examples
        self._wanted = wanted

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        from hypothesis import Phase, settings

        wanted = self._wanted
        if wanted is not None:
            items[:] = sorted(
                (i for i in items if i.nodeid in wanted), key=lambda i: wanted[i.nodeid]
            )
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


class _Watching(_Quick):
    """Notes how long each test takes, and which lines of ours it runs."""

    def __init__(self, examples: int, source: Path) -> None:
        super().__init__(examples, None)
        self.took: dict[str, float] = {}
        self.coverage = Coverage(data_file=None, source=[str(source)])

    def pytest_runtest_protocol(self, item: Any) -> None:
        for name in [name for name in sys.modules if name.startswith("buildlint")]:
            for each in list(vars(sys.modules[name]).values()):
                # what is kept from one test to the next would be seen run by the first alone
                if isinstance(each, _lru_cache_wrapper):
                    each.cache_clear()
        self.coverage.switch_context(item.nodeid)

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.took[report.nodeid] = self.took.get(report.nodeid, 0.0) + report.duration


def _pytest(tree: Path, paths: Sequence[str], plugin: _Quick) -> int:
    """Run tests in this process, which is one of its own: nothing of ours is imported yet."""
    import pytest

    os.chdir(tree)
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    sys.dont_write_bytecode = True
    if not isinstance(plugin, _Watching):
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    # hypothesis is imported before pytest can rewrite it
    quiet = ["-q", "--tb=no", "-W", "ignore::pytest.PytestAssertRewriteWarning"]
    arguments = ["-x", "-m", "not whole", "--hypothesis-seed=0", *quiet, *paths]
    return int(pytest.main(arguments, plugins=[plugin]))


class Watched(NamedTuple):
    """How long each test takes, and for each module which tests run which line; "": an import."""

    took: dict[str, float]
    lines: dict[str, dict[int, list[str]]]


def _watch(tree: Path, paths: Sequence[str], examples: int) -> int:
    plugin = _Watching(examples, tree / "buildlint")
    plugin.coverage.start()
    code = _pytest(tree, paths, plugin)
    plugin.coverage.stop()
    data = plugin.coverage.get_data()
    lines = {
        Path(file).relative_to(tree / "buildlint").with_suffix("").as_posix(): {
            line: list(tests) for line, tests in data.contexts_by_lineno(file).items()
        }
        for file in data.measured_files()
    }
    (tree / "watched").write_text(repr((plugin.took, lines)), encoding="utf-8")
    return code


def _watched(tree: Path, room: str, examples: int) -> Watched | None:
    """Run the tests of a room as it is; None where they fail."""
    paths = [f"tests/{name}" for name in TESTS[room]]
    if os.waitpid(_start(3600.0, _watch, tree, [*paths, f"buildlint/{room}"], examples), 0)[1]:
        return None
    return Watched(*ast.literal_eval((tree / "watched").read_text(encoding="utf-8")))


def _start(limit: float, run: Callable[..., int], *arguments: Any) -> int:
    """Run something in a child, and give its id."""
    child = os.fork()
    if child:
        return child
    code = 1
    try:
        signal.alarm(int(limit) + 1)  # ends the child: a mutant that hangs is noticed
        code = run(*arguments)
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
        if not all(f.is_file() for f in files) or name.partition("/")[0] not in TESTS:
            raise SystemExit(f"mutants: no module or room whose tests are known: {name}")
        found += [f.relative_to(ROOT / "buildlint").with_suffix("").as_posix() for f in files]
    return found


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
    tried = alive = same = 0
    watched: dict[str, Watched | None] = {}
    with tempfile.TemporaryDirectory() as folder:
        trees = [_copy(Path(folder, str(i))) for i in range(asked.processes)]
        for module in modules:
            original = ROOT / f"buildlint/{module}.py"
            found = list(mutants(original.read_text(encoding="utf-8")))
            count = len(found)
            if asked.sample and asked.sample < count:
                found = random.Random(asked.seed).sample(found, asked.sample)
            if not found:
                continue
            room = module.partition("/")[0]
            if room not in watched:
                watched[room] = _watched(trees[0], room, asked.examples)
            seen = watched[room]
            if seen is None:
                print(f"{room}: the tests fail without a change")
                return 2
            started = time.monotonic()
            left = _unnoticed(module, found, trees, asked.examples, seen)
            for tree in trees:
                shutil.copy2(original, tree / f"buildlint/{module}.py")
            holes = [m for m in left if m.what not in explained.get(module, {})]
            tried, alive = tried + len(found), alive + len(left)
            same += len(left) - len(holes)
            spent = f"{time.monotonic() - started:.0f} s"
            print(f"{module}: {_score(len(found), len(left), len(left) - len(holes))}, {spent}")
            if len(found) < count:
                print(f"  a sample of {count}, seed {asked.seed}")
            for mutant in holes:
                print(f"  {module}:{mutant.line}: {mutant.what}")
            sys.stdout.flush()
    if tried:
        print(f"in all: {_score(tried, alive, same)}")
    return 1 if alive > same else 0


def _score(tried: int, alive: int, explained: int) -> str:
    rate = f"{100 * (tried - alive) / tried:.1f} %"
    return f"{tried - alive} of {tried} noticed, {rate}; {explained} of {alive} others explained"


def _unnoticed(
    module: str, found: Sequence[Mutant], trees: Sequence[Path], examples: int, seen: Watched
) -> list[Mutant]:
    """Try each mutant in the place of its module, and give those that no test noticed."""
    waiting = [(mutant, _tests(module, mutant, seen)) for mutant in reversed(found)]
    free = list(enumerate(trees))
    running: dict[int, tuple[int, Path, Mutant, list[list[str]]]] = {}
    alive, number = [m for m, tests in waiting if not tests], 0
    waiting = [each for each in waiting if each[1]]
    while waiting or running:
        while waiting and free:
            mutant, (tests, *rest) = waiting.pop()
            (place, tree), number = free.pop(), number + 1
            wanted = {test: seen.took[test] for test in tests}
            files = dict.fromkeys(test.partition("::")[0] for test in wanted)
            _put_module(tree, module, mutant.text, number)
            limit = 10.0 + 5.0 * sum(wanted.values())
            child = _start(limit, _pytest, tree, [*files], _Quick(examples, wanted))
            running[child] = place, tree, mutant, rest
        child, status = os.wait()
        place, tree, mutant, rest = running.pop(child)
        free.append((place, tree))
        if status == 0 and rest:
            waiting.append((mutant, rest))
        elif status == 0:
            alive.append(mutant)
    return sorted(alive)


def _tests(module: str, mutant: Mutant, seen: Watched) -> list[list[str]]:
    """Return the tests that run the line of a mutant, in the groups that they are tried in.

    First those of its module's name, then some that are quick, then the others. Of what is run at
    the import, any may notice it.
    """
    lines = seen.lines.get(module, {})
    here = [n for n in range(mutant.within + 1, mutant.line + 1) if lines.get(n)]
    tests = set(lines[here[-1]]) if here else {""}
    tests = set(seen.took) if "" in tests else tests & set(seen.took)
    own = module.replace("/", "/test_") + ".py"
    order = sorted(tests, key=lambda t: (own not in t, seen.took[t]))
    spent = accumulate(seen.took[test] for test in order)
    order = [test for test, time_ in zip(order, spent, strict=True) if time_ <= _LONGEST]
    first = sum(own in test for test in order)
    groups = order[:first], order[first : first + _QUICKEST], order[first + _QUICKEST :]
    return [group for group in groups if group]


def _put_module(tree: Path, module: str, text: str, number: int) -> None:
    file = tree / f"buildlint/{module}.py"
    file.write_text(text, encoding="utf-8")
    at = 1_000_000_000 + number  # so that no bytecode of another fits
    os.utime(file, (at, at))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
