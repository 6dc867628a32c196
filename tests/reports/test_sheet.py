"""The bench sheet: what stands on it, what never may, and how it looks in a real browser."""

from __future__ import annotations

import datetime
import re
import shutil
import sys
import unicodedata
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from buildlint.files.steps import STEPS
from buildlint.judging.judge import Judge
from buildlint.judging.prepare import prepare
from buildlint.judging.rulebook import load_rulebook
from buildlint.reports.prepare_text import prepare_html
from buildlint.reports.sheet.bench_steps import CAUTIONS, bench_steps
from buildlint.reports.sheet.page import sheet_html
from buildlint.reports.sheet.standing import standing
from buildlint.team.assembly import dampers
from buildlint.team.selection import find_build
from buildlint.text.errors import MissingExtraError, PathError
from tests.making import build_path, repository

pytestmark = pytest.mark.whole

SIDES = ("left", "right")
EXAMPLES = Path(__file__).parent.parent.parent / "examples"
SALTMARSH = sorted((EXAMPLES / "saltmarsh/builds").glob("*.build.toml"))
EVERY = [*SALTMARSH, *sorted((EXAMPLES / "bad").glob("*.build.toml"))]


class _Page(HTMLParser):
    """The elements of a page with their attributes, and its text by the id of its section."""

    VOID = ("meta", "input", "link", "img", "br", "hr")

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.rows: list[list[str]] = []
        self.text = ""
        self.styles = ""
        self._open: list[str] = []
        self.feed(html)
        assert self._open == [], "an element is left open"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self._open.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
        if tag in ("td", "th", "p", "li", "h1", "h2", "h3", "dd", "figcaption"):
            self.text += "\n"

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" in self._open:
            self.styles += data
            return
        self.text += data
        if self.rows and "tr" in self._open:
            self.rows[-1][-1:] = [(self.rows[-1][-1] if self.rows[-1] else "") + data]

    def row_of(self, start: str) -> list[list[str]]:
        """Give the cells of every row whose name begins so, the name too."""
        plain = [[" ".join(cell.split()) for cell in row] for row in self.rows]
        return [row for row in plain if row and row[0].startswith(start)]

    def row(self, name: str) -> list[list[str]]:
        """Give the cells of every row of this name, each with its white space made plain."""
        plain = [[" ".join(cell.split()) for cell in row] for row in self.rows]
        return [row[1:] for row in plain if row and row[0] == name]


def built(path: Path) -> tuple[Any, ...]:
    team, found = find_build(path)
    return team, team.file(found), dampers(team, team.file(found))


# --- what stands on it ---------------------------------------------------------------------------


def test_planned_readings_stand_as_a_caliper_shows_them_with_their_window() -> None:
    page = _Page(sheet_html(EXAMPLES / "saltmarsh/builds/heron-quarry.build.toml"))
    assert page.row("oil at filling") == [["9.1 ml", "", ""], ["10.7 ml", "", ""]]
    front, rear = page.row_of("hold-back")
    assert front[0].endswith("mm; sides within 1 mm")  # pair/hold-back
    assert front[1:] == ["6.40 mm", "", ""]  # what its end says is the plan
    assert rear[1:] == ["L 9.50 mmR 9.40 mm", "", ""]
    # 50 % of a stroke of 28 mm; 50 % of 34 mm, 49 % of it
    assert page.row("rebound")[0] == ["50 % = 14.0 mm", "", ""]
    assert page.row("rebound")[1] == ["L 50 % = 17.0 mmR 49 % = 16.7 mm", "", ""]
    assert page.row_of("collar")[0][1:] == ["2.00 mm", "", ""]
    assert page.row("on the cap")[0] == ["L 4x1.8 450 6.4 mmR 4x1.8 450 6.5 mm"]


def test_readings_stand_in_the_unit_that_the_team_wrote(tmp_path: Path) -> None:
    """0.25 in; what an end plans is the plan of a built damper, whatever its side was read at."""
    build = {f"front.{side}.hold_back": None for side in SIDES} | {"front.hold_back": "1/4 in"}
    repository(tmp_path, build=build | {"front.right.hold_back": "6.5 mm"})
    page = _Page(sheet_html(build_path(tmp_path)))
    assert page.row_of("hold-back")[0][1] == "0.250 in"
    assert re.search(r" to [0-9.]+ in;", page.row_of("hold-back")[0][0])
    page = _Page(sheet_html(build_path(tmp_path), finished=True))
    assert page.row("hold-back")[0] == ["0.250 in", "0.250 in", "6.50 mm"]


def test_parts_stand_with_what_matters_of_each() -> None:
    page = _Page(sheet_html(EXAMPLES / "saltmarsh/builds/heron-quarry.build.toml"))
    assert page.row("body")[0] == ["long-front bore 16 mm; stroke 28 mm; vented cap"]
    assert page.row("piston")[1] == ["six-17 holes 6 x 1.7 mm; tapering to 1.6 mm"]
    assert page.row("bladder")[0] == ["deep for a bore of 16 mm"]
    assert page.row("oil")[1] == ["between 520 cSt at 25 °C; blend of 50 % o450, 50 % o600"]


def test_sides_with_parts_of_their_own_show_both(tmp_path: Path) -> None:
    oils = {"oil.o500.viscosity": "500 cSt"}
    repository(tmp_path, parts=oils, build={"front.right.oil": "o500"})
    page = _Page(sheet_html(build_path(tmp_path)))
    assert page.row("oil")[0] == ["o450 450 cSt at 25 °C", "o500 500 cSt at 25 °C"]
    assert "front left: force against shaft speed" in page.text
    assert "front right: force against shaft speed" in page.text


def test_the_hold_back_has_to_lie_where_every_must_holds(tmp_path: Path) -> None:
    """At either end of what the sheet says every must holds; a millimetre further, one does not."""
    small = {"bladder.deep.into_body": "310 mm^3", "bladder.deep.into_cap": "420 mm^3"}

    def judged(hold_back: float) -> set[str]:
        readings = {f"front.{side}.hold_back": f"{hold_back:.1f} mm" for side in SIDES}
        folder = tmp_path / f"{hold_back:.1f}"
        repository(folder, parts=small, build=readings)
        found = inspect_team([folder]).findings
        return {f.verdict for f in found if f.level == "must" and f.subject.startswith("front")}

    repository(tmp_path / "sheet", parts=small)
    page = _Page(sheet_html(build_path(tmp_path / "sheet")))
    found = re.search(r"([\d.]+) to ([\d.]+) mm", page.row_of("hold-back")[0][0])
    assert found is not None
    least, most = map(float, found.groups())
    assert judged(least) == judged(most) == set()
    assert judged(least - 1.0) == judged(most + 1.0) == {"borderline"}
    # the plots and their words say the same window
    assert f"Every must holds with a hold-back of {least:g} to {most:g} mm." in page.text


def test_what_is_not_given_is_said_so() -> None:
    page = _Page(sheet_html(EXAMPLES / "saltmarsh/builds/heron-estuary.build.toml"))
    assert [row[1:] for row in page.row_of("length")] == [["not given", "", ""]] * 2


def test_steps_follow_the_order_of_work_and_name_every_word_for_done() -> None:
    _, _, four = built(EXAMPLES / "saltmarsh/builds/heron-quarry.build.toml")
    steps = bench_steps(four)
    does = " | ".join(step.do for step in steps)
    order = [
        "burrs", "Seals: grease", "nut: snug, not crushed", "Shaft threads: grease", "Seal carrier",
        "Rod ends", "Fill, work", "Bladder in", "the body tilted", "Full strokes", "leaks",
        "Read the rebound", "label",
    ]  # fmt: skip
    assert sorted(order, key=does.index) == order
    assert tuple(s.done for s in steps if s.done) == STEPS


def test_dampers_that_fly_are_bled_again_there(tmp_path: Path) -> None:
    repository(tmp_path, event={"arrive_by": "air"})
    assert "After the flight: let them rest, bleed again" in sheet_html(build_path(tmp_path))
    repository(tmp_path / "road")
    assert "After the flight" not in sheet_html(build_path(tmp_path / "road"))


def test_steps_of_an_emulsion_have_no_bladder_and_no_bleeding() -> None:
    _, _, four = built(EXAMPLES / "saltmarsh/builds/dunlin-estuary.build.toml")
    steps = bench_steps(four)
    said = " ".join(f"{step.do} {step.how}" for step in steps)
    assert "Bladder in" not in said and "the body tilted" not in said
    assert "No bladder goes in." in said and "It is not bled" in said
    assert [s.done for s in steps if s.done] == [s for s in STEPS if s != "bled"]
    page = _Page(sheet_html(EXAMPLES / "saltmarsh/builds/dunlin-estuary.build.toml"))
    assert page.row("air left in") == [["0.5 ml", "", ""], ["0.6 ml", "", ""]]
    assert page.text.count("Not drawn: an emulsion has no bladder.") == 2
    assert page.row("bladder") == []


def test_a_plan_is_not_handed_over(tmp_path: Path) -> None:
    repository(tmp_path, build={"bench.on": None})
    assert "not built yet, oil at " in sheet_html(build_path(tmp_path))
    with pytest.raises(PathError, match="heron-quarry is not built yet"):
        sheet_html(build_path(tmp_path), finished=True)


def test_a_finished_build_is_handed_over_as_read(tmp_path: Path) -> None:
    build = {"front.hold_back": "6.4 mm", "front.right.hold_back": "6.6 mm", "front.done": None}
    repository(tmp_path, build=build)
    page = _Page(sheet_html(build_path(tmp_path), finished=True))
    assert page.row("hold-back")[0] == ["6.40 mm", "6.40 mm", "6.60 mm"]
    assert page.row("on the cap") == [] and page.row("label")
    assert "2027-06-05" in page.text  # when
    assert "not listed as done: deburred (front left, front right)" in page.text
    assert not any(a.get("type") == "checkbox" for _, a in page.elements)


def test_every_step_has_a_labelled_box_for_each_side_and_every_reading_a_place() -> None:
    html = sheet_html(EXAMPLES / "saltmarsh/builds/heron-quarry.build.toml")
    page = _Page(html)
    _, _, four = built(EXAMPLES / "saltmarsh/builds/heron-quarry.build.toml")
    boxes = [a for tag, a in page.elements if tag == "input" and a["type"] == "checkbox"]
    assert len(boxes) == 4 * len(bench_steps(four))
    assert html.count("<label><input") == len(boxes)
    places = {a["aria-label"] for tag, a in page.elements if tag == "input" and "aria-label" in a}
    for end in ("front", "rear"):
        for side in ("left", "right"):
            for what in ("hold-back", "length, eye to eye", "rebound", "collar"):
                assert f"{end} {side}: {what}" in places
    for what in ("oil temperature", "date", "by whom", "notes"):
        assert f"<span>{what}</span> <input" in html


@pytest.mark.parametrize("path", EVERY, ids=lambda p: p.name.split(".")[0])
def test_every_example_gives_a_sheet_with_the_cautions_and_nothing_from_outside(
    path: Path,
) -> None:
    html = sheet_html(path)
    page = _Page(html)
    for caution in CAUTIONS:
        assert caution in page.text
    assert page.text.count("The maker's instructions and the event's rules come first") == 2
    for tag, attributes in page.elements:
        assert tag not in ("script", "link", "img", "iframe", "object", "embed", "image", "base")
        for name, value in attributes.items():
            assert not name.startswith("on")
            if name in ("href", "src", "srcset", "action", "data", "xlink:href", "poster"):
                assert value is not None and value.startswith("#")
    assert not re.search(r"url\((?!#)", html) and "@import" not in html and "http:" not in html
    assert "https:" not in html and "://" not in html
    ids = [a["id"] for _, a in page.elements if "id" in a]
    assert len(ids) == len(set(ids))
    targets = re.findall(r'href="#([^"]+)"', html) + re.findall(r"url\(#([^)]+)\)", html)
    targets += [i for _, a in page.elements for i in (a.get("aria-labelledby") or "").split()]
    targets += [i for _, a in page.elements for i in (a.get("aria-describedby") or "").split()]
    assert set(targets) <= set(ids)


def test_plots_have_their_main_figures_in_words() -> None:
    page = _Page(sheet_html(EXAMPLES / "saltmarsh/builds/heron-quarry.build.toml"))
    # as `buildlint figures` has them: 56.2, 60.6, 7.6 % and 13.4, 9.8, 52.5 %; 581, 616, 319 cSt
    assert "into the body, 56 % at the bench, 61 % when cold and 8 % when hot" in page.text
    assert "into the cap, 13 % at the bench, 10 % when cold and 53 % when hot" in page.text
    assert "616 cSt at 14 °C when cold, 581 cSt at 16 °C at the bench and 319 cSt" in page.text
    assert "0.23 m/s (19.4 N) at the bench, 0.18 m/s" in page.text
    # Re = V d/nu is 5 where the oil, 319 cSt when hot, goes at 0.89 m/s through 1.8 mm: the area
    # swept, 191.4 mm^2, is 18.81 times that of the holes
    assert "Faster than 0.047 m/s forces are within 15 %" in page.text
    drawn = [a for tag, a in page.elements if a.get("role") == "img"]
    assert len(drawn) == 5 and all(a["aria-labelledby"] and a["aria-describedby"] for a in drawn)


def test_a_build_with_no_event_is_drawn_for_the_bench_only(tmp_path: Path) -> None:
    repository(tmp_path, build={"event": None})
    page = _Page(sheet_html(build_path(tmp_path)))
    assert "none: judged at the bench only" in page.text
    assert "when hot" not in page.text and "at the bench" in page.text


# --- what the rulebook says ----------------------------------------------------------------------


def test_what_fails_stands_at_the_top_and_with_the_advice() -> None:
    page = _Page(sheet_html(EXAMPLES / "bad/bladder.window.build.toml"))
    stop = "Do not build from this sheet yet: 3 musts fail."
    assert page.text.count(stop) == 2
    assert page.text.index(stop) < page.text.index("Cautions: read")
    assert (
        "The bladder cannot follow the shaft out of the body. 139 % at the bench, at most 100 %"
        in (" ".join(page.text.split()))
    )
    assert 'front: Holds with another bladder at the front: "deep"' in page.text
    page = _Page(sheet_html(EXAMPLES / "bad/bladder.window.build.toml", finished=True))
    assert "Do not run it yet: 3 musts fail." in page.text


def test_not_checked_never_looks_like_holding() -> None:
    page = _Page(sheet_html(EXAMPLES / "saltmarsh/builds/heron-estuary.build.toml"))
    assert "Every must was checked and holds." not in page.text
    assert "No must fails, but 1 must was not checked." in page.text
    assert "this is not the same as holding" in page.text
    sound = _Page(sheet_html(EXAMPLES / "saltmarsh/builds/heron-quarry.build.toml"))
    assert "Every must was checked and holds." in sound.text


def test_nothing_judged_is_not_all_well() -> None:
    assert standing([]).headline == "Nothing could be judged."
    assert not standing([]).sound


def test_counts_are_those_of_the_judgements() -> None:
    _, _, four = built(EXAMPLES / "bad/bladder.window.build.toml")
    verdicts = [judged.verdict for judged in Judge(load_rulebook()).judge(four)]
    page = _Page(sheet_html(EXAMPLES / "bad/bladder.window.build.toml"))
    holds, unchecked = verdicts.count("holds"), verdicts.count("not checked")
    assert f"{holds} hold, {unchecked} not checked." in page.text


def test_a_borderline_must_is_said(tmp_path: Path) -> None:
    # 0.9 of 1 mm apart, each read to 0.3 mm
    repository(tmp_path, build={"front.right.hold_back": "7.3 mm"})
    page = _Page(sheet_html(build_path(tmp_path)))
    assert "No must fails, but 1 must is borderline." in page.text


def test_mistakes_in_files_stand_at_the_top_and_what_they_touch_is_not_known() -> None:
    page = _Page(sheet_html(EXAMPLES / "bad/file.not-toml.build.toml"))
    assert "Do not build from this sheet yet: the files have 2 mistakes." in page.text
    assert 'file.not-toml.build.toml, line 13: hold_back: "6.4 mn"' in page.text
    assert page.row_of("hold-back")[0][1] == "not known: see the mistakes in the files"
    assert page.row("oil")[0] == ["not known: see the mistakes in the files"]


def test_a_file_that_cannot_be_read_gives_a_sheet_that_says_so() -> None:
    page = _Page(sheet_html(EXAMPLES / "bad/file.not-toml.not-utf-8.build.toml"))
    assert "the files have 1 mistake" in page.text
    assert page.text.count("there is nothing to build from") == 2
    assert page.row_of("hold-back") == []
    with pytest.raises(PathError, match="cannot be read"):
        sheet_html(EXAMPLES / "bad/file.not-toml.not-utf-8.build.toml", finished=True)


def test_no_such_build_is_an_error() -> None:
    with pytest.raises(PathError, match="there is no build"):
        sheet_html("no-such-build")


# --- what never may ------------------------------------------------------------------------------

HOSTILE = "\"'><script>alert(1)</script>{{ 1931 * 7 }}{% raw %}&amp;\x1b[31m\u202e</style>$\\frac$"


def test_hostile_names_are_shown_and_do_nothing(tmp_path: Path) -> None:
    parts = {
        f'oil."{_toml(HOSTILE)}"': {"viscosity": "450 cSt", "label": HOSTILE, "note": HOSTILE},
        "shaft.s35.coating": HOSTILE,
    }
    build = {
        "note": HOSTILE,
        "bench.by": HOSTILE,
        "front.oil": HOSTILE,
        "front.note": HOSTILE,
        "front.label": HOSTILE,
        "rear.piston": HOSTILE,  # there is none: a mistake that names it
    }
    car = {"name": HOSTILE, "class": HOSTILE}
    event = {"name": HOSTILE}
    repository(tmp_path, parts=parts, build=build, car=car, event=event)
    html = sheet_html(build_path(tmp_path))
    page = _Page(html)
    assert not any(tag == "script" for tag, _ in page.elements)
    assert [tag for tag, _ in page.elements].count("style") == 1
    assert "13517" not in html
    assert not any(c in html for c in "\x1b\u202e\x00\x9b")
    assert page.text.count("<script>alert(1)</script>{{ 1931 * 7 }}{% raw %}&amp;\\x1b[31m") > 8
    assert "$\\frac$" in page.text


def _toml(text: str) -> str:
    import json

    return json.dumps(text)[1:-1]


def test_a_long_note_is_cut_and_says_so(tmp_path: Path) -> None:
    repository(tmp_path, build={"front.note": "word " * 1000})
    page = _Page(sheet_html(build_path(tmp_path)))
    assert "word … (the rest stands in the file)" in page.text
    assert page.text.count("word") < 200


@pytest.mark.parametrize("lacking", ["matplotlib", "jinja2"])
def test_what_is_not_installed_is_said_with_what_to_install(
    lacking: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, lacking, None)
    with pytest.raises(MissingExtraError) as error:
        sheet_html(SALTMARSH[0])
    assert f"needs {lacking}:" in str(error.value)
    assert 'pip install "buildlint[sheet]"' in str(error.value)


def test_inspecting_loads_nothing_of_the_sheet() -> None:
    import subprocess

    code = (
        "import sys\nfrom buildlint.commands.cli import main\n"
        f"main(['inspect', {str(SALTMARSH[0])!r}])\n"
        "print([m for m in ('matplotlib', 'jinja2', 'buildlint.reports.sheet') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_the_same_build_gives_the_same_bytes_from_anywhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import matplotlib

    path = SALTMARSH[-1]
    first = sheet_html(path)
    monkeypatch.chdir(tmp_path)
    with matplotlib.rc_context({"font.size": 30.0, "svg.fonttype": "none", "axes.grid": True}):
        assert sheet_html(path) == first
        assert matplotlib.rcParams["font.size"] == 30.0  # and leaves them as they were
    monkeypatch.chdir(EXAMPLES / "saltmarsh")
    assert sheet_html("heron-quarry") == first


def test_the_page_is_well_formed_where_a_number_is_odd(tmp_path: Path) -> None:
    repository(tmp_path, parts={"bladder.deep.into_body": "0 mm^3"})
    page = _Page(sheet_html(build_path(tmp_path)))
    assert "Not drawn: needs" in page.text


# --- in a browser --------------------------------------------------------------------------------

CHROMIUM = (
    shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
)
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

SHEETS = {
    "heron-quarry": "saltmarsh/builds/heron-quarry.build.toml",
    "dunlin-estuary": "saltmarsh/builds/dunlin-estuary.build.toml",
    "bladder.window": "bad/bladder.window.build.toml",
    "file.not-toml": "bad/file.not-toml.build.toml",
    "pair.parts": "bad/pair.parts.build.toml",
}


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("there is no Chromium on this machine")
    with playwright.sync_playwright() as running:
        started = running.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield started
        started.close()


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("sheets")
    made = {name: folder / f"{name}.html" for name in SHEETS}
    for name, path in made.items():
        path.write_text(sheet_html(EXAMPLES / SHEETS[name]), encoding="utf-8")
    hostile = repository(
        folder / "hostile",
        build={"front.note": "W" * 3000, "bench.by": "x" * 150, "front.label": "<b>" * 60},
        car={"name": "Y" * 190},
    )
    made["long-words"] = folder / "long-words.html"
    made["long-words"].write_text(sheet_html(build_path(hostile)), encoding="utf-8")
    made["finished"] = folder / "finished.html"
    finished = sheet_html(EXAMPLES / SHEETS["heron-quarry"], finished=True)
    made["finished"].write_text(finished, encoding="utf-8")
    made["prepare"] = folder / "prepare.html"
    prepared = prepare_html(prepare(EXAMPLES / "should/flown.event.toml"))
    made["prepare"].write_text(prepared, encoding="utf-8")
    return made


NAMES = [*SHEETS, "long-words", "finished", "prepare"]

# What sticks out of the window to the right, with its right edge.
_OUTSIDE = """() => [...document.querySelectorAll('body *')]
    .filter(e => !e.closest('.aside') && !e.closest('defs'))
    .map(e => [e.tagName, e.className.baseVal ?? e.className, e.getBoundingClientRect().right])
    .filter(([, , right]) => right > innerWidth + 0.5)"""


@pytest.mark.parametrize("width", [380, 1280])
@pytest.mark.parametrize("name", NAMES)
def test_it_loads_quietly_and_nothing_overflows(
    browser: Any, sheets: dict[str, Path], name: str, width: int
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 800})
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(sheets[name].as_uri())
    assert said == []
    assert asked == [sheets[name].as_uri()]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.evaluate(_OUTSIDE) == []
    # the measure itself sees what sticks out
    page.evaluate("document.querySelector('h1').style.width = '3000px'")
    assert page.evaluate(_OUTSIDE) != []
    page.close()


def test_boxes_can_be_ticked_with_a_thumb(browser: Any, sheets: dict[str, Path]) -> None:
    page = browser.new_page(viewport={"width": 380, "height": 800})
    page.goto(sheets["heron-quarry"].as_uri())
    box = page.get_by_label("front left: Seals: grease them")
    assert not box.is_checked()
    box.scroll_into_view_if_needed()
    around = box.locator("xpath=..").bounding_box()
    assert around["width"] >= 44 and around["height"] >= 44  # CSS px, as for a finger
    page.mouse.click(around["x"] + around["width"] / 2, around["y"] + 4)
    assert box.is_checked()
    page.get_by_label("rear right: rebound").fill("56 %")
    assert page.get_by_label("rear right: rebound").input_value() == "56 %"
    page.close()


@pytest.mark.parametrize("name", [*SHEETS, "finished"])
def test_it_prints_on_two_pages_of_a4_and_a_finished_one_on_one(
    browser: Any, sheets: dict[str, Path], name: str, tmp_path: Path
) -> None:
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    page = browser.new_page()
    page.goto(sheets[name].as_uri())
    page.pdf(path=str(tmp_path / "sheet.pdf"), prefer_css_page_size=True)
    page.close()
    with (tmp_path / "sheet.pdf").open("rb") as file:
        read = pypdf.PdfReader(file)
        sizes = {
            (round(float(p.mediabox.width)), round(float(p.mediabox.height))) for p in read.pages
        }
        # a page sets some letters as one
        plain = (unicodedata.normalize("NFKC", p.extract_text()) for p in read.pages)
        texts = [" ".join(text.split()) for text in plain]
    assert sizes == {(595, 842)}  # 210 x 297 mm in points
    assert len(texts) == (1 if name == "finished" else 2)
    if name == "finished":
        assert "handed over on" in texts[0] and "instructions and the event's rules" in texts[0]
        return
    bench, advice = texts
    assert "Cautions: read these first" in bench and "Write the label on the cap" in bench
    assert advice.startswith("What the rulebook says") and "Viscosity of the oils" in advice
    if name in ("bladder.window", "file.not-toml"):  # no page to build from hides what fails
        assert all("Do not build from this sheet yet" in text for text in texts)


def test_it_prints_the_boxes_and_no_menu(browser: Any, sheets: dict[str, Path]) -> None:
    page = browser.new_page()
    page.goto(sheets["heron-quarry"].as_uri())
    assert page.locator("nav").is_visible()
    page.emulate_media(media="print")
    assert not page.locator("nav").is_visible()
    assert page.locator("input[type=checkbox]").first.bounding_box()["width"] >= 15  # 4 mm
    page.close()


# what passes too, not only what does not
_ALL = {"resultTypes": ["violations", "incomplete", "passes"]}


@pytest.mark.parametrize("width", [380, 1280])
@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing(browser: Any, sheets: dict[str, Path], name: str, width: int) -> None:
    module = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe")
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.goto(sheets[name].as_uri())
    found = module.Axe().run(page, options=_ALL).response
    assert [(v["id"], [n["html"][:200] for n in v["nodes"]]) for v in found["violations"]] == []
    # rules that matter here really ran, and on something
    ran = {rule["id"]: len(rule["nodes"]) for rule in found["passes"]}
    for rule in ("color-contrast", "heading-order", "label", "region", "document-title"):
        assert ran.get(rule, 0) > 0, rule
    assert ran["color-contrast"] > (10 if name == "prepare" else 50)
    page.close()


def test_axe_would_find_pale_text_and_a_skipped_heading(
    browser: Any, sheets: dict[str, Path]
) -> None:
    module = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe")
    page = browser.new_page()
    page.goto(sheets["heron-quarry"].as_uri())
    pale = '<h5 style="color:#bbb">pale words</h5>'
    page.evaluate("html => document.querySelector('h2').outerHTML = html", pale)
    found = module.Axe().run(page, options=_ALL).response
    assert {"color-contrast", "heading-order"} <= {v["id"] for v in found["violations"]}
    page.close()


def test_what_the_team_gave_leave_for_is_conceded_until_its_last_day() -> None:
    """examples/should: 1.2 mm of difference in length, with leave until 2027-06-30."""
    path = EXAMPLES / "should/pair.rebound.conceded.build.toml"
    page = _Page(sheet_html(path, datetime.date(2027, 6, 30)))
    assert "Conceded: does not hold, and the team runs it so" in page.text
    assert (
        "Conceded until 2027-06-30: the right one is the spare; its twin is on order" in page.text
    )
    assert "Do not build from this sheet yet" not in page.text
    page = _Page(sheet_html(path, datetime.date(2027, 7, 1)))
    assert "Conceded: does not hold" not in page.text
    assert "Do not build from this sheet yet: 1 must fails." in page.text


def test_a_day_that_is_none_is_told(tmp_path: Path) -> None:
    with pytest.raises(TypeError, match=r"^on is a day without a time"):
        sheet_html(build_path(repository(tmp_path)), "2027-06-05")  # type: ignore[arg-type]
