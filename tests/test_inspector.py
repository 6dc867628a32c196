"""One team inspected: what is told of builds and files, and what is let go among many."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest

from buildlint import inspector
from buildlint.folders import files_below
from buildlint.inspected import Inspection
from buildlint.inspection import inspect
from buildlint.inspector import Inspector, Work
from tests.bench.season import season

DAY = datetime.date(2027, 6, 5)
LEAVE = """
[[concession]]
rule = "pair/{}"
reason = "tried on purpose"
until = 2027-06-30
"""


def _season(folder: Path, builds: int, settings: str = "") -> list[Path]:
    season(folder, builds)
    (folder / "buildlint.toml").write_text(settings, "utf-8")
    return sorted((folder / "builds").rglob("*.toml"))


def _inspector(folder: Path, many: bool) -> Inspector:
    work = Work(folder, frozenset(files_below(folder)), None, DAY)
    return Inspector(work.team(), work.force(), work.on, many)


def _hold_back_of_both(path: Path, value: str) -> None:
    """More than is usual for a body of this length, on both sides of the front."""
    head, front, rear = re.split(r"(?=^\[front\]|^\[rear\])", path.read_text("utf-8"), flags=re.M)
    front = re.sub(r'hold_back = ".*"', f'hold_back = "{value}"', front)
    path.write_text(head + front + rear, "utf-8")


def _spoil(path: Path) -> None:
    path.write_text(path.read_text("utf-8").replace(" mm", " mn", 1), "utf-8")


@pytest.mark.parametrize("builds", [3, 30])
def test_a_mistake_in_one_of_few_and_of_many_builds_is_told(tmp_path, builds):
    files = _season(tmp_path, builds)
    _spoil(files[1])
    found = inspect(tmp_path, on=DAY)
    assert [(f.path, f.rule) for f in found.in_files] == [(files[1], "file/unknown-unit")]
    assert [b.waits for b in found.builds] == [n == 1 for n in range(builds)]


def test_a_mistake_in_a_file_that_no_one_asked_for_is_not_told(tmp_path):
    files = _season(tmp_path, 3)
    _spoil(files[1])
    assert inspect(files[0], on=DAY).in_files == []


def test_of_many_a_sound_build_is_let_go_and_one_with_a_mistake_is_kept(tmp_path):
    files = _season(tmp_path, 20)
    _spoil(files[1])
    told = {}
    for many in (False, True):
        made = _inspector(tmp_path, many)
        told[many] = made.tell(files)
        read = {found.path for found in made.team.files_read()} & set(files)
        assert read == ({files[1]} if many else set(files))
        assert set(made.writer._places) & set(files) <= ({files[1]} if many else set(files))
    assert told[True].files == told[False].files - (set(files) - {files[1]})
    sound = [b for b in told[True].builds if not b.findings]
    assert sound and all(b.dampers == [] for b in sound)
    assert all(b.dampers == [] for b in told[True].builds)  # made again when asked for
    assert [list(b.held) for b in told[True].builds] == [list(b.held) for b in told[False].builds]


def test_the_concessions_that_were_of_use_are_told_with_the_builds(tmp_path):
    leaves = "".join(map(LEAVE.format, ("length", "hold-back", "rebound", "parts")))
    files = _season(tmp_path, 40, leaves)
    told = _inspector(tmp_path, many=True).tell(files)
    conceded = {f.rule for b in told.builds for f in b.findings if f.concession}
    order = ["pair/length", "pair/hold-back", "pair/rebound", "pair/parts"]
    assert conceded and told.leaves == {order.index(rule) for rule in conceded}
    unused = [f for f in inspect(tmp_path, on=DAY).in_files if f.rule == "file/concession-unused"]
    assert len(unused) == 4 - len(conceded)


def test_what_others_told_is_taken_as_ones_own(tmp_path):
    """Their builds, the files behind them and the concessions that were of use."""
    leaves = "".join(map(LEAVE.format, ("length", "hold-back", "rebound")))
    files = _season(tmp_path, 40, leaves)
    _spoil(files[2])
    here, there = Inspection(), Inspection()
    everything = set(files_below(tmp_path))
    _inspector(tmp_path, many=True).inspect(files, set(everything), here, None)
    far = _inspector(tmp_path, many=True)
    seen: list[tuple[int, int]] = []

    def elsewhere(builds):
        for i in range(0, len(builds), 7):
            yield far.tell(builds[i : i + 7])

    _inspector(tmp_path, many=True).inspect(
        files, set(everything), there, lambda done, of: seen.append((done, of)), elsewhere
    )
    assert there.findings == here.findings
    assert (there.counts, here.counts.builds) == (here.counts, 40)
    assert seen == [(n, 40) for n in range(0, 40, 7)]


def test_the_dampers_of_one_of_many_are_made_again(tmp_path):
    _season(tmp_path, 20)
    found = inspect(tmp_path, on=DAY)
    wrong = [b for b in found.builds if any(f.verdict == "fails" for f in b.findings)]
    assert wrong
    for judged in wrong:
        (alone,) = inspect(judged.path, on=DAY).builds
        assert judged.dampers == alone.dampers and len(judged.dampers) == 4


@pytest.mark.parametrize(
    "spoil",
    [
        lambda t: "",
        lambda t: "car = 1",
        lambda t: t.replace('hold_back = "', 'hold_back = "1'),
        None,
    ],
    ids=["empty", "no build", "read otherwise", "gone"],
)
def test_a_build_that_changed_since_it_was_judged_has_no_cure(tmp_path, spoil):
    """Nothing is solved from what was not judged."""
    _hold_back_of_both(_season(tmp_path, 20)[3], "10 mm")
    found = inspect(tmp_path, on=DAY)
    judged, finding = next(
        (b, f) for b in found.builds for f in b.findings if f.rule == "hold-back/by-body-length"
    )
    if spoil is None:
        judged.path.unlink()
    else:
        judged.path.write_text(spoil(judged.path.read_text("utf-8")), "utf-8")
    assert finding.cure_figures == ()
    assert finding.no_figure == "the file was changed since it was judged"


def test_of_very_many_cures_only_the_first_are_solved(tmp_path, monkeypatch):
    """One mistake in the drawers may fail hundreds of builds; the others say how to get theirs."""
    for path in _season(tmp_path, 20):
        _hold_back_of_both(path, "10 mm")
    monkeypatch.setattr(inspector, "MOST_CURES", 5)
    found = inspect(tmp_path, on=DAY)
    curable = [f for b in found.builds for f in b.findings if f.rule == "hold-back/by-body-length"]
    assert len(curable) >= 20
    assert [n for n, f in enumerate(curable) if f.cure_figures] == [0, 1, 2, 3, 4]
    assert all("inspect this build by itself" in f.no_figure for f in curable[5:])
    (alone,) = inspect(found.builds[-1].path, on=DAY).builds
    assert [f.cure_figures for f in alone.findings if f.rule == curable[0].rule] != [()]


def test_a_cure_is_solved_when_it_is_asked_for(tmp_path):
    files = _season(tmp_path, 20)
    _hold_back_of_both(files[3], "10 mm")
    found = inspect(tmp_path, on=DAY)
    by_build = {b.path: [f.cure_figures for f in b.findings] for b in found.builds}
    for path in files:
        (alone,) = inspect(path, on=DAY).builds
        assert [f.cure_figures for f in alone.findings] == by_build[path]
    assert any(figures for each in by_build.values() for figures in each)
