"""Change the code one small thing at a time and see whether the tests notice.

    python tests/mutants.py                                 physics, measures and judging
    python tests/mutants.py physics/oil judging             these only
    python tests/mutants.py judging --sample 50 --seed 1    so many of a module, picked at random

Operators and comparisons are swapped, conditions turned over, `not` dropped, numbers moved by one,
`min` and `max` exchanged, a returned value left out. Messages, annotations, decorators, asserts,
`strict=` and what a dataclass shows stay as they are. Each mutant is tried with the tests that run
its line: those that noticed others, those of its module's name, and of the rest the quickest, as
many as take ten seconds; properties with few examples of a fixed seed. What no test noticed is
printed: a hole in the tests, or a change that makes no difference: `mutants.toml` then says why.
Needs the test extra and a system that can fork.

mutmut leaves out decorated functions, which all formulas are, and cosmic-ray starts the tests anew
for each change.
"""

from __future__ import annotations

import argparse
import ast
import compileall
import copy
import gc
import os
import pickle
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from functools import _lru_cache_wrapper
from itertools import accumulate
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, NamedTuple, NoReturn

import tomli
from coverage import Coverage

ROOT = Path(__file__).resolve().parent.parent

#: The tests that are tried of each room, besides its doctests.
TESTS: dict[str, tuple[str, ...]] = {
    "physics": ("physics", "measures"),
    "measures": ("measures", "judging", "test_rules.py", "test_examples.py"),
    "judging": ("judging", "reports", "test_rules.py", "test_examples.py", "test_limits.py"),
    "team": ("team", "judging", "test_bad_input.py"),
    "files": ("files", "team", "judging", "test_bad_input.py"),
}
_ROOMS = ("physics", "measures", "judging")
# Where a module's tests do not have its name, or not all of them.
_TESTED_BY = {
    "judging/inspector": ("judging/test_inspection",),
    "judging/reading_changes": ("judging/test_compare",),
    "judging/rulebook": ("judging/test_own_rules",),
    "judging/weigh": ("judging/test_verdicts",),
}
# These look at a page in a browser, which takes longer than all others.
_BROWSER = "tests/reports/test_sheet.py"
# Asserts need not be rewritten: only whether they hold is asked.
_QUICK = ("-qqs", "--tb=no", "--assert=plain", f"--ignore={_BROWSER}", "--hypothesis-seed=0")
# So long the tests of one mutant may take besides its module's own, as they took when their lines
# were noted (s).
_LONGEST = 10.0
# So many examples are tried of a property.
_EXAMPLES = 10
# Where a child leaves the name of the test that failed.
_FAILED = "failed"

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
    """Give what a node is made of, but what stays as it is."""
    if isinstance(node, (ast.Raise, ast.JoinedStr, ast.Assert)):
        return
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "op", "ops"):
            continue
        if isinstance(node, ast.keyword) and node.arg in ("strict", "repr", "compare"):
            continue
        for i, item in enumerate(value) if isinstance(value, list) else ((None, value),):
            if isinstance(item, ast.AST):
                yield name, i, item


class Mutant(NamedTuple):
    """A change: the line, and the first line of what it stands in; what, and where in the tree."""

    line: int
    within: int
    what: str
    way: _Way
    other: ast.AST

    def of(self, source: str) -> ast.Module:
        """Return the module with it."""
        tree = at = ast.parse(source)
        for name, i in self.way[:-1]:
            at = getattr(at, name) if i is None else getattr(at, name)[i]
        name, i = self.way[-1]
        if i is None:
            setattr(at, name, self.other)
        else:
            getattr(at, name)[i] = self.other
        return ast.fix_missing_locations(tree)


def mutants(source: str) -> Iterator[Mutant]:
    """Give each mutant of a module."""

    def below(node: ast.AST, way: _Way, within: ast.AST) -> Iterator[tuple[_Way, ast.AST, ast.AST]]:
        if len(way) == 1 or isinstance(node, ast.FunctionDef):
            within = node
        yield way, node, within
        for name, i, child in _children(node):
            yield from below(child, (*way, (name, i)), within)

    tree = ast.parse(source)
    line = 0
    for way, node, within in below(tree, (), tree):
        line = getattr(node, "lineno", line)
        where = f"{within.name}: " if isinstance(within, (ast.FunctionDef, ast.ClassDef)) else ""
        for other in variants(node):
            what = f"{where}{_short(node)}  ->  {_short(other)}"
            yield Mutant(line, getattr(within, "lineno", 0), what, way, other)


def _short(node: ast.AST) -> str:
    text = ast.unparse(ast.fix_missing_locations(copy.deepcopy(node))).split("\n")[0].strip()
    return text if len(text) <= 90 else f"{text[:87]}..."


class Watched(NamedTuple):
    """How long each test takes, and for each module which tests run which line; "": an import."""

    took: dict[str, float]
    lines: dict[str, dict[int, list[str]]]


class Result(NamedTuple):
    """What came of one module: how many mutants were tried, and those that no test noticed."""

    module: str
    tried: int
    alive: list[tuple[int, str]]
    spent: float


class _Trial:
    """A plugin of pytest: the tests of a room are collected once; each mutant is tried in a child.

    In the child, the functions that are changed get their new code. What cannot be changed like
    that, or is run at the import too, is tried in a process of its own, in a copy of the
    repository.
    """

    def __init__(
        self, modules: Mapping[str, Sequence[Mutant]], folder: Path, processes: int
    ) -> None:
        self._modules = modules
        self._folder = folder
        self._places = [folder / str(i) for i in range(processes)]
        self._coverage = Coverage(data_file=None, source=[str(ROOT / "buildlint")])
        self._coverage.start()
        self._items: dict[str, Any] = {}
        self._took: dict[str, float] = {}
        self.results: list[Result] = []

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        from hypothesis import Phase, settings

        self._items = {item.nodeid: item for item in items}
        for item in items:
            test: Any = getattr(item, "obj", None)
            was = getattr(test, "_hypothesis_internal_use_settings", None)
            if was is not None:
                test._hypothesis_internal_use_settings = settings(
                    was,
                    max_examples=min(was.max_examples, _EXAMPLES),
                    phases=(Phase.explicit, Phase.generate),
                    database=None,
                )

    def pytest_runtest_logreport(self, report: Any) -> None:
        self._took[report.nodeid] = self._took.get(report.nodeid, 0.0) + report.duration

    def pytest_runtestloop(self, session: Any) -> bool:
        session.config.option.maxfail = 1
        child = self._child(self._places[0], 3600.0)
        if not child:
            self._watch(session)
        if not self._ended_well(child):
            return True
        self._coverage.stop()
        seen = Watched(*pickle.loads((self._folder / "watched").read_bytes()))
        # in the order in which they are tried they have to pass too
        child = self._child(self._places[0], 3600.0)
        if not child:
            order = sorted(seen.took, key=lambda test: seen.took[test])
            _end(_pass(session, [self._items[test] for test in order]))
        if not self._ended_well(child):
            return True
        functions = _functions()
        gc.freeze()  # children need not look through it
        for module, found in self._modules.items():
            started = time.monotonic()
            alive = self._unnoticed(session, module, found, seen, functions)
            result = Result(module, len(found), alive, time.monotonic() - started)
            self.results.append(result)
            _tell(result)
        return True

    def _ended_well(self, child: int) -> bool:
        ended = os.waitpid(child, 0)[1] == 0
        if not ended:
            print(f"fails without a change: {_failed(self._places[0])}")
        shutil.rmtree(self._places[0] / "temporary")
        return ended

    def _watch(self, session: Any) -> NoReturn:
        """Run all tests as it is, note which lines each runs, and end; with 1 where one fails."""
        for item in self._items.values():
            # what is kept from one test to the next would be seen run by the first alone
            _forget()
            self._coverage.switch_context(item.nodeid)
            if not _pass(session, [item]):
                _end(well=False)
        self._coverage.stop()
        data = self._coverage.get_data()
        lines = {
            Path(file).relative_to(ROOT / "buildlint").with_suffix("").as_posix(): {
                line: list(tests) for line, tests in data.contexts_by_lineno(file).items()
            }
            for file in data.measured_files()
        }
        (self._folder / "watched").write_bytes(pickle.dumps((self._took, lines)))
        _end(well=True)

    def _unnoticed(
        self,
        session: Any,
        module: str,
        found: Sequence[Mutant],
        seen: Watched,
        functions: Mapping[CodeType, list[FunctionType]],
    ) -> list[tuple[int, str]]:
        """Try each mutant, and give the line and the change of those that no test noticed."""
        source = (ROOT / f"buildlint/{module}.py").read_text(encoding="utf-8")
        original = compile(source, "", "exec", dont_inherit=True)
        waiting = [(mutant, True) for mutant in reversed(found)]
        free, running = list(self._places), dict[int, tuple[Path, Mutant, bool]]()
        alive, noticed, number = [], list[str](), 0
        while waiting or running:
            while waiting and free:
                (mutant, at_once), place, number = waiting.pop(), free.pop(), number + 1
                tree = mutant.of(source)
                code = compile(tree, "", "exec", dont_inherit=True)
                now = _changed(original, code, functions) if at_once else []
                at_once = bool(now)
                tests, also_at_import = _tests(module, mutant, seen, at_once, noticed)
                child = self._child(place, 10.0 + 2.0 * sum(seen.took[t] for t in tests))
                if not child and at_once:
                    _forget()
                    for function, changed in now:
                        function.__code__ = changed
                    _end(_pass(session, [self._items[test] for test in tests]))
                elif not child:
                    _run_anew(place, module, ast.unparse(tree), tests, number)
                running[child] = place, mutant, at_once and also_at_import
            child, status = os.wait()
            place, mutant, once_more = running.pop(child)
            free.append(place)
            noticed.insert(0, _failed(place))  # it comes first for the next ones
            shutil.rmtree(place / "temporary", ignore_errors=True)
            if status == 0 and once_more:
                waiting.append((mutant, False))
            elif status == 0:
                alive.append((mutant.line, mutant.what))
        for place in self._places:
            shutil.copy2(ROOT / f"buildlint/{module}.py", place / f"buildlint/{module}.py")
        return sorted(alive)

    def _child(self, place: Path, limit: float) -> int:
        """Start a child that is quiet, has a folder for the tests, and ends in time; 0 in it."""
        child = os.fork()
        if not child:
            signal.alarm(int(limit) + 1)  # a mutant that hangs is noticed
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 1)
            os.dup2(nowhere, 2)
            (place / "temporary").mkdir()
            os.environ["PYTEST_DEBUG_TEMPROOT"] = str(place / "temporary")
        return child


def _end(well: bool) -> NoReturn:
    os._exit(0 if well else 1)


def _pass(session: Any, items: Sequence[Any]) -> bool:
    """Run tests until one fails, and leave its name."""
    for item, after in zip(items, [*items[1:], None], strict=True):
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
        if session.testsfailed:
            Path(os.environ["PYTEST_DEBUG_TEMPROOT"], _FAILED).write_text(item.nodeid, "utf-8")
            return False
    return True


def _failed(place: Path) -> str:
    """Return the test whose name a child left; "" where it left none."""
    file = place / "temporary" / _FAILED
    return file.read_text(encoding="utf-8") if file.is_file() else ""


def _run_anew(place: Path, module: str, source: str, tests: Sequence[str], number: int) -> None:
    """Put a mutant in the place of its module in a copy of the repository, and test it there."""
    file = place / f"buildlint/{module}.py"
    file.write_text(source, encoding="utf-8")
    at = 1_000_000_000 + number  # so that no bytecode of another fits
    os.utime(file, (at, at))
    (place / "tests.txt").write_text("\n".join(tests), encoding="utf-8")
    os.chdir(place)
    os.execv(sys.executable, [sys.executable, "-m", "pytest", "-x", *_QUICK, "@tests.txt"])


def _forget() -> None:
    """Let go of what functions of ours keep."""
    for name in [name for name in sys.modules if name.startswith("buildlint")]:
        for each in list(vars(sys.modules[name]).values()):
            if isinstance(each, _lru_cache_wrapper):
                each.cache_clear()


def _functions() -> dict[CodeType, list[FunctionType]]:
    """Return all functions of ours, by their code."""
    found: dict[CodeType, list[FunctionType]] = {}
    for each in gc.get_objects():
        if type(each) is FunctionType and (each.__module__ or "").startswith("buildlint"):
            found.setdefault(each.__code__, []).append(each)
    return found


def _changed(
    was: CodeType, now: CodeType, functions: Mapping[CodeType, list[FunctionType]]
) -> list[tuple[FunctionType, CodeType]]:
    """Return the functions that have other code, with that; nothing where that is not all."""
    inside, others = (
        [each for each in code.co_consts if isinstance(each, CodeType)] for code in (was, now)
    )
    if len(inside) != len(others):
        return []
    found: list[tuple[FunctionType, CodeType]] = []
    for one, other in zip(inside, others, strict=True):
        if one == other:
            continue
        below = _changed(one, other, functions)
        here = functions.get(one, [])
        if any(len(f.__code__.co_freevars) != len(other.co_freevars) for f in here):
            return []
        if not here and not below:
            return []
        found += [*((function, other) for function in here), *below]
    return found


def _copy(to: Path) -> None:
    ignore = shutil.ignore_patterns(".*", "__pycache__")
    shutil.copytree(ROOT, to, ignore=ignore, dirs_exist_ok=True)
    compileall.compile_dir(to, quiet=1)


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
    parser.add_argument("--processes", type=int, default=2, help="at a time (2)")
    asked = parser.parse_args(arguments)
    _look_for_stale()
    found: dict[str, dict[str, list[Mutant]]] = {}
    for module in _modules(asked.modules):
        every = list(mutants((ROOT / f"buildlint/{module}.py").read_text(encoding="utf-8")))
        if asked.sample and asked.sample < len(every):
            every = random.Random(asked.seed).sample(every, asked.sample)
        if every:
            found.setdefault(module.partition("/")[0], {})[module] = every
    results: list[Result] = []
    with tempfile.TemporaryDirectory() as folder:
        for place in range(asked.processes):
            _copy(Path(folder, str(place)))
        for room, modules in found.items():
            child = os.fork()
            if not child:
                _try_room(room, modules, Path(folder), asked.processes)
            if os.waitpid(child, 0)[1]:
                return 2
            results += pickle.loads(Path(folder, "results").read_bytes())
    holes = sum(len(_holes(result)) for result in results)
    tried, alive = sum(r.tried for r in results), sum(len(r.alive) for r in results)
    print(f"in all: {_score(tried, alive, alive - holes)}")
    return 1 if holes else 0


def _try_room(
    room: str, modules: Mapping[str, Sequence[Mutant]], folder: Path, processes: int
) -> NoReturn:
    """Try mutants of one room, and end; with 1 where the tests fail without a change."""
    import pytest

    os.chdir(ROOT)
    os.environ |= {"PYTHONDONTWRITEBYTECODE": "1", "OPENBLAS_NUM_THREADS": "1"}
    sys.dont_write_bytecode = True
    trial = _Trial(modules, folder, processes)
    paths = [f"tests/{name}" for name in TESTS[room]]
    pytest.main([*_QUICK, *paths, f"buildlint/{room}"], plugins=[trial])
    (folder / "results").write_bytes(pickle.dumps(trial.results))
    _end(len(trial.results) == len(modules))


def _tests(
    module: str, mutant: Mutant, seen: Watched, at_once: bool, noticed: Sequence[str]
) -> tuple[list[str], bool]:
    """Return the tests that may notice a mutant, in their order; and whether others may too.

    They are those that run its line, but for a line that is run at the import all tests where it is
    not tried `at_once`. Those that noticed others come first, then those of the module's name, then
    the quickest of the rest.
    """
    lines = seen.lines.get(module, {})
    here = [n for n in range(mutant.within + 1, mutant.line + 1) if lines.get(n)]
    tests = set(lines[here[-1]]) if here else {""}
    at_import = "" in tests
    tests = set(seen.took) if at_import and not at_once else tests & set(seen.took)
    names = module.replace("/", "/test_"), *_TESTED_BY.get(module, ())
    own = {test for test in tests if any(name in test for name in names)}
    first = {test: n for n, test in enumerate(dict.fromkeys(noticed))}
    order = sorted(tests, key=lambda t: (first.get(t, len(first)), t not in own, seen.took[t]))
    spent = accumulate(0.0 if test in own else seen.took[test] for test in order)
    return [t for t, time_ in zip(order, spent, strict=True) if time_ <= _LONGEST], at_import


def _every_reason() -> Mapping[str, Mapping[str, str]]:
    return tomli.loads((ROOT / "tests/mutants.toml").read_text(encoding="utf-8"))


def _explained(module: str) -> Mapping[str, str]:
    return _every_reason().get(module, {})


def _look_for_stale() -> None:
    """Refuse to start where a change that is explained cannot be made."""
    for module, reasons in _every_reason().items():
        source = (ROOT / f"buildlint/{module}.py").read_text(encoding="utf-8")
        stale = reasons.keys() - {mutant.what for mutant in mutants(source)}
        if stale:
            raise SystemExit(f"mutants: explained, but no such change: {module}: {stale}")


def _holes(result: Result) -> list[tuple[int, str]]:
    """Return what no test noticed and nothing explains."""
    explained = _explained(result.module)
    return [(line, what) for line, what in result.alive if what not in explained]


def _tell(result: Result) -> None:
    holes, alive = _holes(result), len(result.alive)
    score = _score(result.tried, alive, alive - len(holes))
    print(f"{result.module}: {score}, {result.spent:.0f} s")
    for line, what in holes:
        print(f"  {result.module}:{line}: {what}")
    sys.stdout.flush()


def _score(tried: int, alive: int, explained: int) -> str:
    noticed = tried - alive
    rate = f"{100 * noticed / max(tried - explained, 1):.1f} %"
    return f"{noticed} of {tried} noticed, {explained} explained: {rate} of those that can be"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
