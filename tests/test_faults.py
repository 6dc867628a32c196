"""Faults of the world around the command: streams, disks, signals, names, what a file holds.

Nothing of it may end in a traceback, in a hang, or in another exit code than 0, 1 and 2.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import select
import signal
import stat
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from buildlint.commands import cli, progress
from buildlint.commands.begin import starting_files
from buildlint.commands.output import deliver
from buildlint.judging.inspector import inspect_team
from tests.bench.season import season
from tests.making import build_path, close, repository

pytestmark = pytest.mark.whole

POSIX = pytest.mark.skipif(os.name == "nt", reason="needs the streams and signals of POSIX")
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="knows how much a pipe holds on Linux")
FULL = Path("/dev/full")
NEEDS_FULL = pytest.mark.skipif(not FULL.exists(), reason="needs a device that is always full")

SHOWS: dict[str, tuple[str, ...]] = {
    "inspect": ("inspect",),
    "lines": ("inspect", "--as", "lines"),
    "json": ("inspect", "--as", "json"),
    "sarif": ("inspect", "--as", "sarif"),
    "junit": ("inspect", "--as", "junit"),
    "figures": ("figures", "heron-quarry"),
    "rulebook": ("rulebook",),
    "compare": ("compare", "heron-quarry", "heron-quarry"),
    "labels": ("labels", "heron-quarry"),
    "schema": ("schema", "build"),
    "complete": ("complete", "bash"),
    "help": ("--help",),
    "help of a command": ("inspect", "--help"),
    "version": ("--version",),
}
#: What is more than a pipe holds unread: while it is not read, it is still being written.
LONG = SHOWS["sarif"]
each_that_shows = pytest.mark.parametrize("words", SHOWS.values(), ids=SHOWS)
some_that_show = pytest.mark.parametrize("words", [SHOWS["inspect"], SHOWS["help"]])


def environment(**more: str) -> dict[str, str]:
    """The environment as it is, but for what changes how Python treats streams."""
    env = {k: v for k, v in os.environ.items() if k != "PYTHONUNBUFFERED"}
    return {**env, **more}


def command(*words: str) -> list[str]:
    return [sys.executable, "-m", "buildlint", *words]


def run(folder: Path, *words: str, **how: Any) -> subprocess.CompletedProcess[bytes]:
    how = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "env": environment(), **how}
    return subprocess.run(command(*words), cwd=folder, timeout=60, **how)


def left_behind(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sound repository with one collar that should be another, so that every report has text.

    Whoever takes it changes nothing in it.
    """
    return repository(tmp_path_factory.mktemp("sound"), build={"front.right.collar": "4 mm"})


def test_the_long_report_is_longer_than_a_pipe_holds(sound):
    assert len(run(sound, *LONG).stdout) > 65_536


# --- streams -------------------------------------------------------------------------------------


def closing(*numbers: int) -> Callable[[], None]:
    def close() -> None:
        for number in numbers:
            os.close(number)

    return close


@NEEDS_FULL
@each_that_shows
def test_a_report_to_a_full_disk_is_2_and_says_so(sound, words):
    with FULL.open("wb") as full:
        done = run(sound, *words, stdout=full)
    assert done.returncode == 2
    assert done.stderr == b"buildlint: standard output: No space left on device\n"


@POSIX
@each_that_shows
def test_a_report_to_a_closed_output_is_2_and_says_so(sound, words):
    done = run(sound, *words, stdout=None, preexec_fn=closing(1))
    assert done.returncode == 2
    assert done.stderr == b"buildlint: standard output: is closed\n"


@pytest.mark.parametrize("name", ["stdout", "stderr"])
@pytest.mark.parametrize("stream", ["none", "closed"])
def test_a_program_that_calls_without_streams_gets_a_code(monkeypatch, sound, name, stream):
    """A report that is not written is 2; what would be said beside it is no loss."""
    closed = io.StringIO()
    closed.close()
    monkeypatch.setattr(sys, name, closed if stream == "closed" else None)
    code = cli.main(["inspect", str(sound)])
    assert code == (2 if name == "stdout" else 0)
    assert cli.main(["inspect", str(sound / "missing")]) == 2


#: Runs the command with so many million bytes more than the process has by then.
LITTLE_ROOM = """
import resource, sys
import numpy, pydantic  # how a library fails to load is its own affair
from buildlint.commands.cli import run
has = int(open("/proc/self/statm").read().split()[0]) * resource.getpagesize()
most = has + int(sys.argv.pop(1)) * 1_000_000
resource.setrlimit(resource.RLIMIT_AS, (most, most))
run()
"""


@pytest.mark.newest
@LINUX
@pytest.mark.parametrize("words", [("inspect",), ("schema", "build")])
def test_too_little_memory_is_2_and_a_sentence(sound, words):
    said = set()
    for room in (0, 1, 2, 4, 8, 16, 32):
        how = [sys.executable, "-c", LITTLE_ROOM, str(room), *words]
        done = subprocess.run(how, cwd=sound, capture_output=True, timeout=60)
        if done.returncode == 2:
            (line,) = done.stderr.splitlines()
            assert line.startswith(b"buildlint: ")
            said.add(line)
        else:  # there was room enough
            assert done.returncode in (0, 1)
            assert (done.stderr, bool(done.stdout)) == (b"", True)
    assert any(b"there is too little memory" in line for line in said)


def test_memory_that_ends_while_builds_are_judged_is_2(monkeypatch, sound, capfd):
    def inspect_team(*_: object, **__: object) -> None:
        raise MemoryError

    monkeypatch.setattr("buildlint.judging.inspector.inspect_team", inspect_team)
    assert cli.main(["inspect", str(sound)]) == 2
    assert capfd.readouterr().err.startswith("buildlint: there is too little memory")


@NEEDS_FULL
def test_nothing_to_report_is_no_loss_on_a_full_disk(tmp_path):
    root = repository(tmp_path)
    with FULL.open("wb") as full:
        assert run(root, *SHOWS["lines"], stdout=full).returncode == 0
    if os.name != "nt":
        done = run(root, *SHOWS["lines"], stdout=None, preexec_fn=closing(1))
        assert done.returncode == 0


@POSIX
@each_that_shows
def test_a_reader_that_is_gone_is_2_and_nobody_is_told(sound, words):
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = run(sound, *words, stdout=writer)
    finally:
        os.close(writer)
    assert (done.returncode, done.stderr) == (2, b"")


@LINUX
def test_a_reader_that_goes_after_the_first_line(sound):
    with subprocess.Popen(
        command(*LONG),
        cwd=sound,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        bufsize=0,
    ) as process:
        assert process.stdout is not None and process.stderr is not None
        assert process.stdout.read(1) == b"{"
        process.stdout.close()
        said = process.stderr.read()
    assert (process.returncode, said) == (2, b"")


@POSIX
@some_that_show
def test_closed_streams_that_are_not_written_to_change_nothing(sound, words):
    plain = run(sound, *words)
    for numbers in ((0,), (2,), (0, 2)):
        done = run(sound, *words, stdin=None, stderr=None, preexec_fn=closing(*numbers))
        assert (done.returncode, done.stdout) == (plain.returncode, plain.stdout)


@NEEDS_FULL
def test_what_cannot_be_said_beside_the_report_changes_no_code(sound):
    with FULL.open("wb") as full:
        assert run(sound, "inspect", "nowhere", stderr=full).returncode == 2
        assert run(sound, "no-such-command", stderr=full).returncode == 2
        assert run(sound, stdout=full, stderr=full).returncode == 2


@POSIX
def test_with_every_stream_closed_a_file_gets_the_report_and_nothing_else(sound, tmp_path):
    """Were the file to take the number of a stream, what goes to the stream would land in it."""
    wanted = run(sound, "inspect").stdout
    target = tmp_path / "report"
    how = dict.fromkeys(("stdin", "stdout", "stderr"))
    done = run(sound, "inspect", "-o", str(target), **how, preexec_fn=closing(0, 1, 2))
    assert done.returncode == 0
    assert target.read_bytes() == wanted
    assert left_behind(tmp_path) == ["report"]
    assert run(sound, "inspect", **how, preexec_fn=closing(0, 1, 2)).returncode == 2


@POSIX
@pytest.mark.parametrize("number", [0, 1, 2])
def test_the_number_of_a_closed_stream_is_taken(sound, number):
    """So that no file that is opened later gets it."""
    code = (
        "import os, sys, buildlint.commands.cli as cli\n"
        "def main(words):\n"
        f"    return int(os.path.realpath('/dev/fd/{number}') != os.devnull)\n"
        "cli.main = main\n"
        "cli.run()\n"
    )
    if not Path("/dev/fd/0").exists():
        pytest.skip("needs a folder of open files")
    how: dict[str, Any] = {"stdin": None, "stdout": None, "stderr": None, "env": environment()}
    done = subprocess.run([sys.executable, "-c", code], **how, preexec_fn=closing(number))
    assert done.returncode == 0


# --- a file for the report -----------------------------------------------------------------------

WRITES: dict[str, tuple[str, ...]] = {
    name: SHOWS[name]
    for name in ("inspect", "json", "figures", "rulebook", "compare", "labels", "schema")
} | {"sheet": ("sheet", "heron-quarry")}
each_that_writes = pytest.mark.parametrize("words", WRITES.values(), ids=WRITES)


def at_most(size: int) -> Callable[[], None]:
    """Let no file of a process grow beyond a size: what a full disk does, without the disk."""

    def limit() -> None:
        import resource

        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    return limit


@pytest.fixture
def nobody_in(tmp_path: Path) -> Iterator[Callable[[Path], Path]]:
    """Give a folder to somebody without every right, and be that somebody from then on."""
    if os.name == "nt":
        pytest.skip("needs rights of files")
    if os.geteuid() != 0:
        yield lambda folder: folder
        return
    modes: dict[Path, int] = {}

    def give(folder: Path) -> Path:
        for path in (folder, *folder.parents):
            modes[path] = stat.S_IMODE(path.stat().st_mode)
            if not modes[path] & 0o001:
                path.chmod(modes[path] | 0o011)
        os.chown(folder, 65534, -1)
        os.seteuid(65534)
        return folder

    try:
        yield give
    finally:
        os.seteuid(0)
        for path, mode in modes.items():
            if stat.S_IMODE(path.stat().st_mode) != mode:
                path.chmod(mode)


@POSIX
@each_that_writes
def test_a_disk_that_is_full_half_way_keeps_the_old_file(sound, tmp_path, words):
    target = tmp_path / "report"
    target.write_text("old", encoding="utf-8")
    done = run(sound, *words, "-o", str(target), preexec_fn=at_most(20))
    assert done.returncode == 2
    # what draws the plots of a sheet may have something to say of its own
    assert done.stderr.splitlines()[-1] == f"buildlint: {target}: File too large".encode()
    assert done.stdout == b""
    assert target.read_text(encoding="utf-8") == "old"
    assert left_behind(tmp_path) == ["report"]


@POSIX
@pytest.mark.parametrize("size", [0, 1, 4096, 8191, 8192, 8193])
def test_wherever_the_disk_is_full_no_file_is_begun(sound, tmp_path, size):
    target = tmp_path / "report"
    done = run(sound, "rulebook", "-o", str(target), preexec_fn=at_most(size))
    assert done.returncode == 2
    assert left_behind(tmp_path) == []


@pytest.mark.parametrize(
    "step", ["tempfile.mkstemp", "os.fsync", "os.replace", "pathlib.Path.chmod", "write"]
)
@pytest.mark.parametrize("there", [True, False])
def test_a_disk_that_fails_at_any_step_is_named_by_the_file_asked_for(
    tmp_path, monkeypatch, step, there
):
    target = tmp_path / "report"
    if there:
        target.write_text("old", encoding="utf-8")

    def full(*_: Any, **__: Any) -> Any:
        raise OSError(errno.ENOSPC, "No space left on device", "something in between")

    if step == "write":
        monkeypatch.setattr(os, "fdopen", lambda handle, *_, **__: FailsToWrite(handle, "wb"))
    else:
        monkeypatch.setattr(step, full)
    with pytest.raises(OSError, match="No space left on device") as caught:
        deliver("new", str(target))
    assert caught.value.filename == str(target)
    assert left_behind(tmp_path) == (["report"] if there else [])
    assert not there or target.read_text(encoding="utf-8") == "old"


class FailsToWrite(io.FileIO):
    """A file on a disk that is full."""

    def write(self, text: Any) -> int:
        raise OSError(errno.ENOSPC, "No space left on device")


_ENDED = """
import os, signal, sys, pathlib
import buildlint.commands.begin, buildlint.commands.cli as cli
real = {step}
def ends(*words, **more):
    done = real(*words, **more)
    os.kill(os.getpid(), signal.{name})
    return done
{step} = ends
cli.run()
"""


@POSIX
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP", "SIGQUIT"])
@pytest.mark.parametrize("step", ["os.fsync", "pathlib.Path.chmod"])
def test_what_ends_the_command_waits_until_the_file_is_whole(sound, tmp_path, name, step):
    wanted = run(sound, "labels", "heron-quarry").stdout
    target = tmp_path / "report"
    target.write_text("old", encoding="utf-8")
    words = ["labels", "heron-quarry", "-o", str(target)]
    done = subprocess.run(
        [sys.executable, "-c", _ENDED.format(step=step, name=name), *words],
        cwd=sound,
        env=environment(),
        capture_output=True,
        preexec_fn=undisturbed,
    )
    # it ends as it was told to, afterwards
    assert done.returncode == (2 if name == "SIGINT" else -getattr(signal, name))
    assert b"Traceback" not in done.stderr
    assert target.read_bytes() == wanted
    assert left_behind(tmp_path) == ["report"]


def undisturbed() -> None:
    """Leave no core behind, and end by SIGHUP even where the tests run under nohup."""
    import resource

    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    signal.signal(signal.SIGHUP, signal.SIG_DFL)


@POSIX
def test_killed_outright_while_it_writes_the_old_file_stays(sound, tmp_path):
    target = tmp_path / "report"
    target.write_text("old", encoding="utf-8")
    code = _ENDED.format(step="os.fsync", name="SIGKILL")
    words = ["labels", "heron-quarry", "-o", str(target)]
    done = subprocess.run([sys.executable, "-c", code, *words], cwd=sound, env=environment())
    assert done.returncode == -signal.SIGKILL
    assert target.read_text(encoding="utf-8") == "old"


@POSIX
def test_what_is_passed_over_stays_passed_over_while_a_file_is_written(tmp_path, monkeypatch):
    """As under nohup: a terminal that is closed ends nothing then."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        real = os.fsync

        def fsync(handle: int) -> None:
            assert signal.getsignal(signal.SIGHUP) == signal.SIG_IGN
            real(handle)

        monkeypatch.setattr(os, "fsync", fsync)
        deliver("new", str(tmp_path / "report"))
        assert signal.getsignal(signal.SIGHUP) == signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)


def test_signals_do_afterwards_what_they_did_before(tmp_path):
    names = [name for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)]
    before = [signal.getsignal(getattr(signal, name)) for name in names]
    deliver("new", str(tmp_path / "report"))
    assert [signal.getsignal(getattr(signal, name)) for name in names] == before


def test_a_report_may_be_written_beside_the_main_thread(tmp_path):
    """Where nobody may say what signals do."""
    thread = threading.Thread(target=deliver, args=("new", str(tmp_path / "report")))
    thread.start()
    thread.join()
    assert (tmp_path / "report").read_text(encoding="utf-8") == "new"


def test_a_file_that_may_not_be_written_to_is_not_replaced(tmp_path, nobody_in):
    """A shell's > would not either; that the folder may be written to says nothing of the file."""
    folder = nobody_in(tmp_path)
    target = folder / "report"
    target.write_text("old", encoding="utf-8")
    target.chmod(0o444)
    with pytest.raises(PermissionError) as caught:
        deliver("new", str(target))
    assert caught.value.filename == str(target)
    assert target.read_text(encoding="utf-8") == "old"
    assert left_behind(folder) == ["report"]


def test_a_folder_that_may_not_be_written_to(tmp_path, nobody_in):
    folder = nobody_in(tmp_path)
    folder.chmod(0o555)
    try:
        with pytest.raises(PermissionError) as caught:
            deliver("new", str(folder / "report"))
        assert caught.value.filename == str(folder / "report")
        assert left_behind(folder) == []
    finally:
        folder.chmod(0o755)


@POSIX
def test_a_link_to_a_folder_and_a_link_to_nothing(tmp_path):
    (tmp_path / "folder").mkdir()
    (tmp_path / "to-folder").symlink_to("folder")
    (tmp_path / "to-nothing").symlink_to("new-report")
    with pytest.raises(IsADirectoryError):
        deliver("new", str(tmp_path / "to-folder"))
    deliver("new", str(tmp_path / "to-nothing"))
    assert (tmp_path / "new-report").read_text(encoding="utf-8") == "new"
    assert (tmp_path / "to-nothing").is_symlink()
    assert left_behind(tmp_path / "folder") == []
    assert left_behind(tmp_path) == ["folder", "new-report", "to-folder", "to-nothing"]


@LINUX
def test_a_pipe_with_a_name_that_nobody_reads_any_more_is_told_of(sound, tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    with subprocess.Popen(
        command(*LONG, "-o", str(pipe)),
        cwd=sound,
        env=environment(),
        stderr=subprocess.PIPE,
    ) as process:
        # less than the report, so that it is still being written
        while not select.select([reader], [], [], 0.01)[0] or not os.read(reader, 1):
            assert process.poll() is None
        os.close(reader)
        assert process.stderr is not None
        said = process.stderr.read()
    assert process.returncode == 2
    assert said == f"buildlint: {pipe}: Broken pipe\n".encode()


# --- long runs that are ended --------------------------------------------------------------------

PROCFS = pytest.mark.skipif(
    not Path("/proc/self/stat").exists(), reason="needs a list of processes"
)
DAY = "2027-06-05"


@pytest.fixture(scope="module")
def long_season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season that takes a while."""
    folder = tmp_path_factory.mktemp("season")
    season(folder, 450)
    return folder


_INTERRUPTED = """
import os, signal
from buildlint.commands import cli, progress
from buildlint.judging import inspector
progress._FIRST = progress._AGAIN = 0.0
real = inspector.Inspector._judged
told = []
def judged(self, *given):
    told.append(given)
    if len(told) == 260:
        os.kill(os.getpid(), signal.SIGINT)
    return real(self, *given)
inspector.Inspector._judged = judged
cli.run()
"""


@POSIX
def test_a_run_that_is_interrupted_says_so_in_a_line(long_season):
    words = [sys.executable, "-c", _INTERRUPTED, "inspect", "--past"]
    done = subprocess.run(words, cwd=long_season, env=environment(), capture_output=True)
    said = b"buildlint: interrupted\n"
    assert (done.returncode, done.stdout, done.stderr) == (2, b"", said)


@POSIX
def test_an_interrupted_run_wipes_its_line_off_the_terminal(long_season):
    import pty

    ours, theirs = pty.openpty()
    words = [sys.executable, "-c", _INTERRUPTED, "inspect", "--past"]
    done = subprocess.run(
        words, cwd=long_season, env=environment(TERM="xterm"), stdout=theirs, stderr=theirs
    )
    os.close(theirs)
    shown = b""
    with contextlib.suppress(OSError):  # a terminal without another end
        while more := os.read(ours, 65_536):
            shown += more
    os.close(ours)
    assert done.returncode == 2
    assert b" of 450 builds judged" in shown
    assert shown.endswith(b"\r\x1b[Kbuildlint: interrupted\r\n")


@POSIX
def test_a_terminal_that_is_gone_does_not_end_a_run(monkeypatch, sound):
    """As where a connection breaks and the run goes on under nohup."""

    class Gone(io.StringIO):
        def isatty(self) -> bool:
            return True

        def write(self, text: str) -> int:
            raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(progress, "_FIRST", 0.0)
    telling = progress.Progress(Gone())
    assert len(inspect_team(sound, progress=telling).builds) == 1
    telling.close()


@POSIX
def test_an_interruption_that_something_would_take_for_its_own_mistake_ends_the_run(long_season):
    """As the library that checks the files does, while it makes ready what it checks them by."""
    swallowed = _INTERRUPTED.replace(
        "        os.kill(os.getpid(), signal.SIGINT)\n",
        "        try:\n"
        "            os.kill(os.getpid(), signal.SIGINT)\n"
        "        except BaseException:\n"
        "            raise ValueError('no such validator') from None\n",
    )
    assert swallowed != _INTERRUPTED
    words = [sys.executable, "-c", swallowed, "inspect", "--past"]
    done = subprocess.run(words, cwd=long_season, env=environment(), capture_output=True)
    assert (done.returncode, done.stderr) == (2, b"buildlint: interrupted\n")


@POSIX
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM"])
def test_a_starting_repository_is_whole_before_the_command_ends(tmp_path, name):
    """Were it half there, the next `begin` would find files in its way."""
    code = _ENDED.format(step="buildlint.commands.begin._folders_made", name=name)
    words = [sys.executable, "-c", code, "begin", "team"]
    done = subprocess.run(words, cwd=tmp_path, env=environment(), capture_output=True)
    assert done.returncode == (2 if name == "SIGINT" else -getattr(signal, name))
    assert b"Traceback" not in done.stderr
    written = {p.relative_to(tmp_path / "team").as_posix() for p in files_in(tmp_path / "team")}
    assert written == set(starting_files())


def files_in(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


@POSIX
def test_a_starting_repository_on_a_full_disk_is_taken_back(tmp_path):
    done = run(tmp_path, "begin", "team", preexec_fn=at_most(20))
    assert done.returncode == 2
    assert done.stderr.startswith(b"buildlint: " + bytes(tmp_path / "team") + b"/")
    assert done.stderr.endswith(b": File too large\n")
    assert left_behind(tmp_path) == []


# --- where the command stands --------------------------------------------------------------------

_FROM_NOWHERE = """
import os, sys
os.mkdir(sys.argv[1])
os.chdir(sys.argv[1])
os.rmdir(sys.argv[1])
del sys.argv[1]
import buildlint.commands.cli as cli
cli.run()
"""


def from_nowhere(folder: Path, *words: str) -> subprocess.CompletedProcess[bytes]:
    """Run the command in a working directory that is removed under it."""
    return subprocess.run(
        [sys.executable, "-c", _FROM_NOWHERE, str(folder / "gone"), *words],
        env=environment(),
        capture_output=True,
        timeout=60,
    )


@LINUX
@pytest.mark.parametrize(
    "words", [("inspect",), ("rulebook",), ("figures", "heron"), ("begin", "x")]
)
def test_a_working_directory_that_is_gone_is_2_and_says_so(tmp_path, words):
    done = from_nowhere(tmp_path, *words)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr == b"buildlint: the working directory is gone\n"


@LINUX
@pytest.mark.parametrize("form", ["text", "lines", "json", "sarif", "junit"])
def test_from_a_working_directory_that_is_gone_a_whole_path_is_judged(tmp_path, sound, form):
    done = from_nowhere(tmp_path, "inspect", "--as", form, str(sound))
    assert (done.returncode, done.stderr) == (0, b"")
    assert str(sound / "heron-quarry.build.toml").encode() in done.stdout


@LINUX
def test_a_starting_repository_that_is_made_is_told_of_from_nowhere_too(tmp_path):
    done = from_nowhere(tmp_path, "begin", str(tmp_path / "team"))
    assert (done.returncode, done.stderr) == (0, b"")
    assert (tmp_path / "team" / "buildlint.toml").exists()


# --- what a file holds ---------------------------------------------------------------------------

Found = list[tuple[str, int, int, int]]
#: A length of the front's left damper, of which the team has the unit wrong.
SPOILT = {"front.left.hold_back": "6.4 mn"}
_LINE = "hold_back ="
NOT_TOML = "file/not-toml"


def found_in(folder: Path, name: str, change: Callable[[bytes], bytes]) -> Found:
    """Change the bytes of a file, and give what is wrong then: rule, line, column, end column."""
    path = folder / name
    path.write_bytes(change(path.read_bytes()))
    return [
        (f.rule, f.line, f.column, f.end_column)
        for f in inspect_team(folder).findings
        if f.verdict != "not checked"
    ]


@pytest.mark.parametrize(
    "change",
    [
        lambda data: data,
        lambda data: data.replace(b"\n", b"\r\n"),
        lambda data: b"\xef\xbb\xbf" + data,
        lambda data: b"\xef\xbb\xbf" + data.replace(b"\n", b"\r\n"),
        # no end of a line in TOML, though text editors and Python take them for one
        lambda data: data.replace(b"\n", " # \N{LINE SEPARATOR} \N{NEXT LINE}\n".encode()),
        lambda data: data.rstrip(b"\n"),
        lambda data: "\n".join(f"{x} # ü" for x in data.decode().split("\n")).encode(),
    ],
    ids=["plain", "CRLF", "mark of UTF-8", "both", "line separators", "no end", "comments"],
)
def test_a_mistake_is_found_where_it_stands_however_lines_end(tmp_path, change):
    root = repository(tmp_path, build=SPOILT)
    lines = build_path(root).read_text(encoding="utf-8").split("\n")
    line = next(n for n, text in enumerate(lines, 1) if text.startswith(_LINE))
    column = lines[line - 1].index('"') + 1
    wanted = [("file/unknown-unit", line, column, column + len('"6.4 mn"'))]
    assert found_in(root, build_path(root).name, change) == wanted


@pytest.mark.parametrize("name", ["heron-quarry.build.toml", "drawers.parts.toml"])
@pytest.mark.parametrize(
    ("change", "place"),
    [
        (lambda data: data.replace(b"\n", b"\r"), None),
        (lambda data: b"# one\n# two\r" + data, (2, 6)),
        (lambda data: b"#\xc3\xa9\n# \xc3\xa9 \xe9\n" + data, (2, 5)),
        (lambda data: b"\xef\xbb\xbf# \xff\n" + data, (1, 3)),
        (lambda data: data.decode().encode("utf-16"), (1, 1)),
        (lambda data: data.decode().encode("utf-16-le"), (1, 1)),
        (lambda data: data.decode().encode("utf-16-be"), (1, 1)),
        (lambda data: data.decode().encode("utf-32"), (1, 1)),
        (lambda data: b'# one\n#"\xed\xa0\x80"\n' + data, (2, 3)),
        (lambda data: bytes(100), (1, 1)),
    ],
    ids=[
        "CR",
        "one CR",
        "latin-1",
        "latin-1 behind a mark",
        "UTF-16",
        "UTF-16 without a mark",
        "the other UTF-16",
        "UTF-32",
        "half a surrogate pair",
        "NUL",
    ],
)
def test_what_is_no_utf_8_text_is_one_finding_and_nothing_is_missing(tmp_path, name, change, place):
    """What the file would have said is not told as missing, nor taken for another line."""
    root = repository(tmp_path)
    first = (root / name).read_text(encoding="utf-8").partition("\n")[0]
    line, column = place or (1, len(first) + 1)
    assert found_in(root, name, change) == [(NOT_TOML, line, column, column + 1)]


def test_a_nul_inside_a_reading_is_found_there_and_the_rest_is_read(tmp_path):
    root = repository(tmp_path, build=SPOILT)
    lines = build_path(root).read_text(encoding="utf-8").split("\n")
    line = next(n for n, text in enumerate(lines, 1) if text.startswith(_LINE))
    column = lines[line - 1].index(".4") + 1
    ((rule, *place),) = found_in(
        root, build_path(root).name, lambda data: data.replace(b"6.4 mn", b"6\0.4 mn", 1)
    )
    assert (rule, *place) == (NOT_TOML, line, column, column + 1)
    assert inspect_team(root).counts.holds > 0


@pytest.mark.parametrize("text", [b"", b"\n\n", b"# nothing\n# here", b"\xef\xbb\xbf", b"# x\r\n"])
def test_a_file_of_comments_alone_is_one_finding(tmp_path, text):
    root = repository(tmp_path)
    ((rule, *place),) = found_in(root, build_path(root).name, lambda _: text)
    assert (rule, *place) == ("file/missing-key", 1, 1, 1)


@pytest.mark.parametrize(
    ("data", "place"),
    [
        (b'# \xc3\xa9\n[change."x"]\nlevel = "\xff"\n', "3:10"),
        (b"\xef\xbb\xbf# \xe9", "1:3"),
        (b"# one\r# two", "1:6"),
        (b"\xff\xfe", "1:1"),
        (b"\0", "1:1"),
    ],
)
def test_settings_that_are_no_text_are_2_with_the_place(tmp_path, data, place):
    root = repository(tmp_path)
    (root / "buildlint.toml").write_bytes(data)
    done = run(root, "inspect")
    assert done.returncode == 2
    assert done.stderr.startswith(f"buildlint: buildlint.toml:{place}: ".encode())
    assert len(done.stderr.splitlines()) == 1


# --- what surrounds the command ------------------------------------------------------------------


@pytest.mark.skipif(os.name == "nt", reason="needs names that it refuses")
def test_a_sheet_says_nothing_of_the_libraries_that_draw_it(tmp_path):
    """Whatever letters stand in the files, and wherever fonts cannot be kept."""
    odd = "\u96ea\U0001f3ce \u0639\u0631\u0628\u064a <b> $\\frac{1}$ \u202e%s"
    root = repository(
        tmp_path,
        car={"name": odd, "class": odd},
        event={"name": odd},
        build={"front.label": odd, "rear.label": odd},
    )
    name = "$x_$\u96ea\U0001f3ce"
    build_path(root).rename(root / f"{name}.build.toml")
    nowhere = str(root / "quarry.event.toml")  # a file: nothing can be kept in it
    env = environment(
        HOME=nowhere, MPLCONFIGDIR=nowhere, XDG_CACHE_HOME=nowhere, PYTHONWARNINGS="always"
    )
    done = run(root, "sheet", f"{name}.build.toml", "-o", "page.html", env=env)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"", b"")
    assert "\u96ea" in (root / "page.html").read_text(encoding="utf-8")


@POSIX
def test_a_sheet_made_without_a_home_leaves_nothing_behind(sound, tmp_path):
    """What draws its plots wants a folder to keep things in."""
    (tmp_path / "home").write_text("no folder", encoding="utf-8")
    (tmp_path / "room").mkdir()
    env = environment(HOME=str(tmp_path / "home"), TMPDIR=str(tmp_path / "room"))
    for name in ("XDG_CACHE_HOME", "XDG_CONFIG_HOME", "MPLCONFIGDIR"):
        env.pop(name, None)
    done = run(sound, "sheet", "heron-quarry", env=env)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout == run(sound, "sheet", "heron-quarry").stdout
    assert left_behind(tmp_path / "room") == []


_PLAIN = {"PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}


@pytest.mark.parametrize(
    "env",
    [
        {"LC_ALL": "POSIX"},
        {"LC_ALL": "C", **_PLAIN},
        {"PYTHONIOENCODING": "ascii"},
        {"PYTHONIOENCODING": "latin-1"},
        {"HOME": None, "TERM": None, "LANG": None, "USER": None},
        {"TERM": "no-such-terminal", "COLUMNS": "0", "LINES": "x"},
    ],
    ids=["POSIX", "ASCII", "ascii output", "latin-1 output", "nothing", "nonsense"],
)
def test_what_other_programs_read_is_the_same_in_every_environment(sound, env):
    """And what people read lacks letters at most."""
    asked = environment(PYTHONIOENCODING="utf-8")
    told = {k: v for k, v in (environment() | env).items() if v is not None}
    for words in (SHOWS["json"], SHOWS["sarif"], SHOWS["junit"], SHOWS["schema"]):
        assert run(sound, *words, env=told).stdout == run(sound, *words, env=asked).stdout
    done = run(sound, "figures", "heron-quarry", env=told)
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize(
    "options",
    [["-O"], ["-OO"], ["-W", "error"], ["-X", "utf8=0"], ["-I"], ["-X", "dev", "-W", "error"]],
    ids=" ".join,
)
@pytest.mark.parametrize("words", [SHOWS["json"], SHOWS["figures"]], ids=["inspect", "figures"])
def test_however_python_is_started_the_report_is_the_same(sound, options, words):
    """With -O no assertion is looked at: none that matters is one."""
    here = str(Path(cli.__file__).parent.parent.parent)
    # -I knows of no folder but those of what is installed
    code = f"import sys; sys.path[:0] = [{here!r}]; from buildlint.commands.cli import run; run()"
    done = subprocess.run(
        [sys.executable, *options, "-c", code, *words],
        cwd=sound,
        env=environment(PYTHONIOENCODING="utf-8"),
        capture_output=True,
    )
    plain = run(sound, *words, env=environment(PYTHONIOENCODING="utf-8"))
    assert plain.returncode == 0
    # -I is deaf to the encoding asked for
    assert done.stdout.replace(rb"\xb1", "±".encode()) == plain.stdout
    assert (done.returncode, done.stderr) == (0, b"")


@LINUX
def test_names_that_are_no_utf_8_are_judged_and_shown_by_their_escapes(tmp_path):
    root = repository(tmp_path / os.fsdecode(b"team-\xff"), build={"front.right.length": "106 mm"})
    build_path(root).rename(root / os.fsdecode(b"b-\xe9.build.toml"))
    ident = os.fsdecode(b"b-\xe9")
    for words in (*(SHOWS[form] for form in ("inspect", "lines", "json", "sarif", "junit")),):
        done = run(root, *words)
        assert (done.returncode, done.stderr) == (1, b"")
        done.stdout.decode("utf-8")
    assert rb"b-\udce9.build.toml:" in run(root, "inspect").stdout
    for words in (
        ("figures", ident),
        ("labels", ident),
        ("sheet", ident),
        ("compare", ident, ident),
    ):
        done = run(root, *words, "-o", str(tmp_path / os.fsdecode(b"report-\xfe")))
        assert (done.returncode, done.stderr) == (0, b"")
    assert (tmp_path / os.fsdecode(b"report-\xfe")).is_file()
    done = run(root, "inspect", os.fsdecode(b"nowhere-\xff"))
    assert (done.returncode, done.stderr) == (
        2,
        b"buildlint: there is no file or folder nowhere-\\udcff\n",
    )


@POSIX
def test_eight_at_once_tell_the_same_and_write_nothing(tmp_path):
    root = repository(tmp_path, build={"front.right.length": "106 mm"})
    before = {path: path.stat().st_mtime_ns for path in [tmp_path, *tmp_path.rglob("*")]}
    words = command("inspect", "--on", DAY, "--as", "json")
    how = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "env": environment()}
    runs = [subprocess.Popen(words, cwd=root, **how) for _ in range(8)]  # type: ignore[call-overload]
    told = {process.communicate(timeout=60) for process in runs}
    assert {process.returncode for process in runs} == {1}
    assert len(told) == 1
    assert before == {path: path.stat().st_mtime_ns for path in [tmp_path, *tmp_path.rglob("*")]}


# --- files that change while they are read -------------------------------------------------------


@pytest.mark.parametrize("name", ["heron-quarry.build.toml", "drawers.parts.toml"])
@pytest.mark.parametrize("becomes", ["gone", "a folder", "a link", "a pipe", "closed", "cut off"])
@pytest.mark.parametrize("when", ["before it is looked at", "before it is opened"])
def test_a_file_that_changes_once_it_is_listed_is_a_finding(
    tmp_path, monkeypatch, name, becomes, when
):
    if os.name == "nt" and becomes in ("a link", "a pipe"):
        pytest.skip("needs links and pipes")
    root = repository(tmp_path)
    path = root / name
    real_stat, real_open = os.lstat, os.open

    def change() -> None:
        if path.is_dir() or path.is_symlink() or not path.is_file():
            return
        path.unlink()
        if becomes == "a folder":
            path.mkdir()
        elif becomes == "a link":
            path.symlink_to("nothing")
        elif becomes == "a pipe":
            os.mkfifo(path)
        elif becomes == "cut off":
            path.write_text("[bo", encoding="utf-8")

    def lstat(of: Any, **more: Any) -> Any:
        if of == path and when == "before it is looked at":
            change()
        return real_stat(of, **more)

    def opened(of: Any, *more: Any, **options: Any) -> int:
        if of == path:
            if becomes == "closed":
                raise PermissionError(errno.EACCES, "Permission denied", str(of))
            if when == "before it is opened":
                change()
        return real_open(of, *more, **options)

    monkeypatch.setattr(os, "lstat", lstat)
    monkeypatch.setattr(os, "open", opened)
    found = inspect_team(root)
    monkeypatch.undo()
    wrong = [f for f in found.findings if f.verdict == "fails"]
    told = {f.rule for f in wrong if f.path.name == name}
    assert told & {"file/unreadable", "file/not-toml"}
    assert told <= {"file/unreadable", "file/not-toml", "file/unknown-key", "file/missing-key"}
    # what rests on it is not checked, and does not hold
    assert not any(
        f.rule == "bladder/into-cap-room" and f.verdict == "holds" for f in found.findings
    )
    assert not any("bladder/into-cap-room" in str(held) for b in found.builds for held in b.held)


def test_a_folder_that_is_gone_once_it_is_listed_holds_nothing(tmp_path, monkeypatch):
    root = repository(tmp_path)
    (root / "more").mkdir()
    (root / "more" / "other.build.toml").write_text("", encoding="utf-8")
    scandir = os.scandir

    def gone(path: Any) -> Any:
        if Path(path) == root / "more":
            raise FileNotFoundError(errno.ENOENT, "No such file or directory", str(path))
        return scandir(path)

    monkeypatch.setattr(os, "scandir", gone)
    assert [build.id for build in inspect_team(root).builds] == ["heron-quarry"]


def test_a_folder_that_may_not_be_looked_into_is_told_of(tmp_path, monkeypatch):
    root = repository(tmp_path)
    (root / "locked").mkdir()
    close(monkeypatch, root / "locked")
    found = inspect_team(root)
    assert [f.path.name for f in found.findings if f.verdict == "fails"] == ["locked"]
    assert not found.passes()
