"""A starting repository for a team: files of every kind with comments, settings, and the hook."""

from __future__ import annotations

import contextlib
import os
import shlex
import sys
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

from buildlint.commands.outcome import Outcome
from buildlint.commands.signals import undisturbed
from buildlint.team.git import git
from buildlint.text.errors import PathError
from buildlint.text.words import clean, seen_from_here

__all__ = ["begin", "lines_for_hook", "next_steps", "run", "starting_files"]

_STARTING = Path(__file__).parent / "starting"

# One that a team has already does as well.
_KEPT = ".gitignore"
_HOOK = ".pre-commit-config.yaml"


def starting_files() -> dict[str, str]:
    """Return what a starting repository holds: the text of each file, by its path.

    >>> sorted(name for name in starting_files() if name.endswith(".build.toml"))
    ['builds/first-club-day.build.toml']
    """
    from buildlint.reports.schemas import FILE_KINDS, schema_text

    files = {
        path.relative_to(_STARTING).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(_STARTING.rglob("*"))
        if path.is_file()
    }
    return files | {f"schemas/{kind}.schema.json": schema_text(kind) for kind in FILE_KINDS}


def begin(folder: str | os.PathLike[str]) -> list[Path]:
    """Make a starting repository in a folder, which is made if need be; give the files made.

    Nothing is written over: raises PathError where one of the files is there already, or where the
    folder cannot be made, and OSError where a file cannot be written; nothing is left behind then.
    A `.gitignore` that is there stays as it is and is in nobody's way, and so do settings of
    pre-commit's, which reads those at the top of a git repository alone (see `lines_for_hook`).
    """
    if not os.fspath(folder):
        raise PathError("a path is empty")
    root = Path(os.path.abspath(folder))  # noqa: PTH100 - resolve() would follow links
    if os.path.lexists(root) and not root.is_dir():
        raise PathError(f"{clean(seen_from_here(root))} is there already and is not a folder")
    files = starting_files()
    if os.path.lexists(root / _KEPT):
        del files[_KEPT]
    if _hook_file(root) != root / _HOOK or os.path.lexists(root / _HOOK):
        del files[_HOOK]
    blocks = (_in_the_way(root, PurePosixPath(name)) for name in files)
    in_the_way = list(dict.fromkeys(block for block in blocks if block is not None))
    if in_the_way:
        some = ", ".join(in_the_way[:3]) + (", …" if len(in_the_way) > 3 else "")
        there = "is there" if len(in_the_way) == 1 else "are there"
        raise PathError(f"{clean(seen_from_here(root))}: {some} {there} already; nothing was made")
    made: list[Path] = []
    with undisturbed():
        try:
            for name, text in files.items():
                path = root / name
                made += _folders_made(path.parent)
                # "x" fails where somebody was quicker
                with path.open("x", encoding="utf-8", newline="\n") as file:
                    made.append(path)
                    file.write(text)
        except OSError as error:
            _take_back(made)
            # a full disk does not say which file
            raise OSError(error.errno, error.strerror, error.filename or str(path)) from None
        except BaseException:
            _take_back(made)
            raise
    return [path for path in made if path.is_file()]


def lines_for_hook(folder: str | os.PathLike[str]) -> list[str]:
    """Return what to add to the settings of pre-commit's that are there, if the hook is not."""
    path = _hook_file(Path(os.path.abspath(folder)))  # noqa: PTH100 - resolve() would follow links
    with contextlib.suppress(OSError, ValueError):
        if path.is_file() and "id: buildlint" in path.read_text(encoding="utf-8"):
            return []
    lines = (_STARTING / _HOOK).read_text(encoding="utf-8").splitlines()
    return [
        f"for the hook, add to {clean(seen_from_here(path))}",
        "(what is below repos: to the repos that are there):",
        *(f"  {line}" for line in lines if not line.startswith("#")),
    ]


def _hook_file(root: Path) -> Path:
    """Return the file that pre-commit reads: at the top of the git repository around a folder."""
    there = next(folder for folder in (root, *root.parents) if folder.is_dir())
    top = Path(_says(there, "rev-parse", "--show-toplevel") or root)
    return (root if os.path.realpath(root) == os.path.realpath(top) else top) / _HOOK


def next_steps(folder: str | os.PathLike[str]) -> list[str]:
    """Return the commands to type after `begin`, in the working directory of this process.

    Only what is needed there: git is asked whether it has a repository around the folder, and knows
    whose its commits are.
    """
    import shutil

    root = Path(os.path.abspath(folder))  # noqa: PTH100 - resolve() would follow links
    steps = [] if shutil.which("buildlint") is not None else _switched_on(Path(sys.prefix))
    here = clean(seen_from_here(root))
    if here != ".":
        steps.append(f"cd {shlex.quote(here)}")
    steps.append("buildlint inspect")
    if _says(root, "rev-parse", "--is-inside-work-tree") != "true":
        steps.append("git init")
    whose = ("GIT_AUTHOR_IDENT", "GIT_COMMITTER_IDENT")
    if shutil.which("git") is not None and not all(_says(root, "var", who) for who in whose):
        steps.append('git config --global user.name "YOUR NAME"')
        steps.append('git config --global user.email "YOU@EXAMPLE.ORG"')
    steps += ["pip install pre-commit", "pre-commit install"]
    hook = _hook_file(root)
    # settings that are changed and not added hold every commit up
    other = f" {shlex.quote(os.path.relpath(hook, root))}" if hook.parent != root else ""
    steps.append(f"git add .{other}")
    # without a message git opens an editor, and not everybody knows the way out of it
    return [*steps, 'git commit -m "a start"']


def _switched_on(environment: Path, windows: bool = os.name == "nt") -> list[str]:
    """Return the command that activates an environment, if it has one."""
    script = environment / ("Scripts/Activate.ps1" if windows else "bin/activate")
    if not script.is_file():
        return []
    path = clean(str(script))
    if windows:
        quoted = path.replace("'", "''")
        return [f"& '{quoted}'"]
    return [f". {shlex.quote(path)}"]


def _says(folder: Path, *words: str) -> str:
    """Return what git answers, or nothing where it does not or is not there."""
    try:
        return "".join(git(folder, *words)).strip()
    except PathError:
        return ""


def _in_the_way(root: Path, name: PurePosixPath) -> str | None:
    """Return what stands where a file or its folder would go, as seen from the root."""
    for part in list(name.parents)[-2::-1]:
        path = root / part
        # a link to a folder would have the file written somewhere else
        if path.is_symlink() or (os.path.lexists(path) and not path.is_dir()):
            return part.as_posix()
    return name.as_posix() if os.path.lexists(root / name) else None


def _folders_made(folder: Path) -> Iterator[Path]:
    missing = [folder]
    while not missing[-1].parent.exists():
        missing.append(missing[-1].parent)
    for path in reversed(missing):
        if not path.is_dir():
            path.mkdir()
            yield path


def _take_back(made: list[Path]) -> None:
    for path in reversed(made):
        with contextlib.suppress(OSError):
            path.rmdir() if path.is_dir() else path.unlink()


def run(chosen: Namespace) -> Outcome:
    """Make a starting repository."""
    made = [clean(seen_from_here(path)) for path in begin(chosen.folder)]
    steps = next_steps(chosen.folder)
    lines = ["made:", *(f"  {path}" for path in made), ""]
    if to_add := lines_for_hook(chosen.folder):
        lines += [*to_add, ""]
    lines += ["next:", *(f"  {step}" for step in steps)]
    lines += ["", "Every figure in these files is invented: put your own figures in their place."]
    return Outcome("\n".join(lines) + "\n")
