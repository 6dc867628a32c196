"""Nothing that a repository's own settings of git name is run, whatever is asked.

The settings are those of the git-config manual whose value is a command, or the name of one.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from buildlint.commands.cli import main
from tests.in_git import git, own_git  # noqa: F401 - every test here has it
from tests.making import repository

pytestmark = [
    pytest.mark.whole,
    pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed"),
    pytest.mark.skipif(os.name == "nt", reason="the programs are scripts of a shell"),
]

#: Each takes a command line.
SETTINGS = [
    *(f"filter.trap.{way}" for way in ("clean", "smudge", "process")),
    *("diff.external", "diff.trap.command", "diff.trap.textconv", "interactive.diffFilter"),
    *("merge.trap.driver", "merge.tool", "mergetool.trap.cmd", "diff.tool", "difftool.trap.cmd"),
    *("core.fsmonitor", "core.alternateRefsCommand", "core.sshCommand", "core.gitProxy"),
    *("core.askPass", "core.editor", "sequence.editor", "core.pager", "credential.helper"),
    *(f"pager.{name}" for name in ("status", "diff", "ls-files", "ls-tree", "cat-file", "var")),
    *(f"gpg{form}.program" for form in ("", ".ssh", ".x509", ".openpgp")),
    *("gpg.ssh.defaultKeyCommand", "uploadpack.packObjectsHook", "receive.procReceiveRefs"),
    *("trailer.trap.command", "trailer.trap.cmd", "ssh.variant", "submodule.trap.update"),
    *("remote.origin.uploadpack", "remote.origin.receivepack", "remote.origin.vcs"),
    *("remote.origin.proxy", "browser.trap.cmd", "man.trap.cmd", "web.browser", "help.browser"),
    *("sendemail.smtpServer", "sendemail.toCmd", "sendemail.ccCmd", "imap.tunnel"),
    *("instaweb.httpd", "instaweb.browser", "guitool.trap.cmd", "tar.trap.command"),
    *("maintenance.strategy", "init.templateDir", "notes.rewriteRef", "bisect.run"),
]
#: Each is a command of git's that an alias would stand in for.
ALIASED = ["status", "diff", "diff-index", "diff-tree", "ls-files", "ls-tree", "rev-parse", "var"]
HOOKS = ["post-index-change", "post-checkout", "pre-auto-gc", "fsmonitor-watchman", "pre-commit"]
#: Each names a program, or a file to write to.
VARIABLES = [
    *("GIT_EXTERNAL_DIFF", "GIT_SSH", "GIT_SSH_COMMAND", "GIT_PAGER", "GIT_EDITOR", "PAGER"),
    *("GIT_SEQUENCE_EDITOR", "GIT_ASKPASS", "SSH_ASKPASS", "GIT_PROXY_COMMAND", "EDITOR"),
]
TRACES = ["GIT_TRACE", "GIT_TRACE2", "GIT_TRACE2_EVENT", "GIT_TRACE_SETUP", "GIT_TRACE_PACKFILE"]

COMMANDS = [
    ["inspect"],
    ["inspect", "--named", "heron-quarry.build.toml"],
    ["inspect", "--named", "drawers.parts.toml", "rules/x.toml"],
    ["inspect", "heron-quarry.build.toml", "--as", "json"],
    ["compare", "HEAD", "heron-quarry"],
    ["compare", "HEAD~9", "heron-quarry"],
    ["figures", "heron-quarry"],
    ["labels", "heron-quarry"],
    ["sheet", "heron-quarry"],
    ["rulebook"],
    ["begin", "new"],
]


def _trap(root: Path, ran: Path) -> dict[str, str]:
    """Have every setting, hook and attribute lead to a program; give it to set in variables."""
    ran.mkdir()
    script = root.parent / "trap"
    script.write_text(f'#!/bin/sh\n: > "{ran}/$(basename "$1")"\n', encoding="utf-8")
    script.chmod(0o755)
    config = []
    for setting in SETTINGS:
        *section, key = setting.split(".")
        sub = f' "{section[1]}"' if len(section) > 1 else ""
        value = f"{script} {setting}"
        config.append(f'[{section[0]}{sub}]\n{key} = "{value}"\n')
    config += [f'[alias]\n{name} = "!{script} alias.{name}"\n' for name in ALIASED]
    # what is not there would be fetched from a remote that a program is asked for
    config.append(f'[remote "origin"]\npromisor = true\nurl = "ext::{script} ext"\n')
    config.append('[extensions]\npartialClone = origin\n[protocol "ext"]\nallow = always\n')
    config.append("[core]\nrepositoryformatversion = 1\n")
    hooks = root / "hooks-of-a-stranger"
    hooks.mkdir()
    for name in HOOKS:
        (hooks / name).write_text(f"#!/bin/sh\n{script} hook.{name}\n", encoding="utf-8")
        (hooks / name).chmod(0o755)
    config.append(f"[core]\nhooksPath = {hooks}\n")
    included = root / "included.config"
    included.write_text("".join(config), encoding="utf-8")
    own = root / ".git" / "config"
    with own.open("a", encoding="utf-8") as file:
        file.write(f"[include]\npath = {included}\n")
    (root / ".gitattributes").write_text("* filter=trap diff=trap merge=trap\n", encoding="utf-8")
    variables = {name: f"{script} {name}" for name in VARIABLES}
    return variables | {name: f"{ran}/{name}" for name in TRACES}


def _touched(root: Path) -> None:
    """Have git think that every file was changed, so that it looks what each holds."""
    for path in root.glob("*.toml"):
        path.write_text(path.read_text(encoding="utf-8") + "\n", encoding="utf-8")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    folder = repository(tmp_path.resolve() / "team")
    git(folder, "init", "-q")
    git(folder, "add", ".")
    git(folder, "commit", "-q", "-m", "a start")
    return folder


def _embedded(root: Path) -> Path:
    """Make a folder of files in the repository that is also what git takes for a repository."""
    guests = root / "guests"
    shutil.copytree(root / ".git", guests)
    for path in root.glob("*.toml"):
        shutil.copyfile(path, guests / path.name)
    shutil.copyfile(root / ".gitattributes", guests / ".gitattributes")
    with (guests / "config").open("a", encoding="utf-8") as file:
        file.write("[core]\nworktree = .\nbare = false\n")
    return guests


@pytest.mark.parametrize("where", ["own", "embedded", "lacking", "from a hook"])
@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_no_program_that_is_named_to_git_is_run(
    root: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    command: list[str],
    where: str,
) -> None:
    ran = tmp_path / "ran"
    variables = _trap(root, ran)
    folder = _embedded(root) if where == "embedded" else root
    if where == "lacking":
        # a clone that lacks files' contents: git would fetch them
        for path in (root / ".git" / "objects").glob("??/*"):
            kind = subprocess.run(
                ["git", "cat-file", "-t", path.parent.name + path.name],
                cwd=root,
                capture_output=True,
                text=True,
                check=True,
            ).stdout
            if kind == "blob\n":
                path.unlink()
    if where == "from a hook":
        monkeypatch.setenv("GIT_DIR", ".git")
        monkeypatch.setenv("PRE_COMMIT_FROM_REF", "HEAD")
        monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    _touched(folder)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    monkeypatch.chdir(folder)
    try:
        code = main(command)
    except SystemExit as ended:
        code = int(str(ended.code))
    # what only looks like a repository is none to ask for a commit
    assert code in ((2,) if where == "embedded" and "--named" in command else (0, 1, 2))
    assert [path.name for path in ran.iterdir()] == []


@pytest.mark.parametrize(
    ("where", "words", "told"),
    [
        ("own", ["status"], {"filter.trap.process", "core.fsmonitor"}),
        ("embedded", ["status"], {"filter.trap.process", "core.fsmonitor"}),
        ("own", ["cat-file", "-p", "0" * 39 + "1"], {"ext"}),
    ],
)
def test_git_itself_runs_them(
    root: Path, tmp_path: Path, where: str, words: list[str], told: set[str]
) -> None:
    """So that the test above is one."""
    _trap(root, tmp_path / "ran")
    folder = _embedded(root) if where == "embedded" else root
    _touched(folder)
    subprocess.run(["git", *words], cwd=folder, capture_output=True, check=False)
    assert told <= {path.name for path in (tmp_path / "ran").iterdir()}
