"""What is to be done before an event: which cars are ready, what is due, what to pack."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from buildlint import load_team
from buildlint.commands.cli import main
from buildlint.judging.prepare import Preparation, prepare
from buildlint.reports.prepare_json import prepare_json
from buildlint.reports.prepare_text import prepare_html, prepare_text
from buildlint.text.errors import PathError
from tests.making import Raw, build_path, repository

EXAMPLES = Path(__file__).parent.parent.parent / "examples" / "saltmarsh"


def of(root: Path) -> Preparation:
    return prepare(root / "quarry.event.toml")


def test_a_sound_build_is_ready_and_one_refill_and_one_spare_are_packed(tmp_path):
    """Twice 9 ml at the front and twice 10.7 at the rear: 39.4 ml, packed as 40."""
    found = of(repository(tmp_path))
    (car,) = found.cars
    assert (car.car, car.build, car.life, car.ready) == ("heron", "heron-quarry", "built", True)
    assert (car.why, car.borderline, found.due) == ((), (), ())
    packed = [(each.kind, each.id, each.ml) for each in found.pack]
    assert {each.cars for each in found.pack} == {("heron",)}
    assert packed[0] == ("oil", "o450", 40)
    assert [kind for kind, _, _ in packed[1:]] == sorted(
        (kind for kind, _, _ in packed[1:]), key=["piston", "bladder", "spring"].index
    )
    assert len(set(packed)) == len(packed)  # one spare of each, however many are fitted


@pytest.mark.parametrize(
    ("lost", "ml", "estimated", "not_known"),
    [
        ({}, 40, False, False),
        # in front bore and length are taken: 201.06 mm^2 by 52 mm are 10.5 ml, less what it lacks
        ({"oil": None}, None, True, False),
        ({"oil": None, "length": None}, 22, False, True),  # twice 10.7 ml at the rear
    ],
)
def test_oil_that_nobody_measured_is_estimated_or_not_known(
    tmp_path, lost, ml, estimated, not_known
):
    parts = {f"body.long.{key}": value for key, value in lost.items()}
    oil, *others = of(repository(tmp_path, parts=parts)).pack
    assert (oil.id, oil.estimated, oil.not_known) == ("o450", estimated, not_known)
    assert ml is None or oil.ml == ml
    assert not any(each.estimated or each.not_known or each.ml for each in others)


def test_a_part_that_is_not_fitted_has_no_spare(tmp_path):
    bare = of(repository(tmp_path, build={"front.spring": None, "rear.spring": None}))
    assert {each.kind for each in bare.pack} == {"oil", "piston", "bladder"}
    front = of(repository(tmp_path / "b", build={"rear.spring": None}))
    assert [each.id for each in front.pack if each.kind == "spring"] == ["soft"]


def test_what_fails_is_not_checked_or_borderline_is_told_in_a_line_each(tmp_path):
    (car,) = of(repository(tmp_path / "a", build={"front.right.length": "106 mm"})).cars
    assert (car.ready, car.fails) == (False, True)
    assert any("pair/length" in line and "front" in line for line in car.why)
    (car,) = of(repository(tmp_path / "b", build={"front.right.length": "104.6 mm"})).cars
    assert car.ready and any("pair/length" in line for line in car.borderline)
    (car,) = of(repository(tmp_path / "c", build={"front.right.length": None})).cars
    assert (car.ready, car.not_checked) == (True, ("pair/length needs length",))
    (car,) = of(repository(tmp_path / "d", build={"front.left.length": "104 mn"})).cars
    assert (car.ready, car.fails) == (False, True)
    assert "a file that it uses has a mistake" in car.why


def test_a_plan_is_not_built_yet_and_a_car_without_a_build_is_told(tmp_path):
    root = repository(tmp_path, build={"bench.on": None}, event={"cars": ["heron", "wren"]})
    (tmp_path / "wren.car.toml").write_text((tmp_path / "heron.car.toml").read_text("utf-8"))
    heron, wren = of(root).cars
    assert (heron.life, heron.ready, heron.why) == ("plan", False, ("not built yet",))
    assert wren.build is None and wren.why[0].startswith("no build for this event: plan one")
    assert prepare_text(of(root)).endswith("0 of 2 cars ready.\n")


def test_of_two_builds_the_one_that_is_built_counts(tmp_path):
    root = repository(tmp_path)
    plan = build_path(root).read_text("utf-8").replace("on = 2027-06-05", "")
    (root / "a-plan.build.toml").write_text(plan, encoding="utf-8")
    (root / "z-plan.build.toml").write_text(plan, encoding="utf-8")
    assert [car.build for car in of(root).cars] == ["heron-quarry"]


def test_a_past_build_gives_way_to_a_plan_and_one_that_is_passed_over_is_not_looked_at(tmp_path):
    root = repository(tmp_path, build={"past": Raw("true")})
    text = build_path(root).read_text("utf-8").replace("past = true\n", "")
    plan = text.replace("on = 2027-06-05", "")
    (root / "plan.build.toml").write_text(plan, encoding="utf-8")
    (root / "later.build.toml").write_text(text.replace("06-05", "06-08"), encoding="utf-8")
    (root / "buildlint.toml").write_text('[inspect]\npass_over = ["later*"]\n', encoding="utf-8")
    assert [(car.build, car.life) for car in of(root).cars] == [("plan", "plan")]


def test_what_is_due_is_by_the_rules_limit_the_flight_and_the_bench_date(tmp_path):
    build = {"front.runtime": "11 h", "rear.left.rebound": None, "rear.right.rebound": None}
    root = repository(tmp_path, build=build, event={"arrive_by": "air"})
    assert [due.what for due in of(root).due] == ["oil", "rebound", "flight"]
    oil, rebound, flight = (due.text for due in of(root).due)
    assert oil.startswith("front: change the oil") and "at most 10 h" in oil  # record/oil-hours
    assert rebound == "rear: read the rebound: not read since 2027-06-05"
    assert flight == "all four: after the flight let them rest, then bleed them again"
    assert "eye protection" in " ".join(prepare_text(of(root)).split())
    (root / "buildlint.toml").write_text('[change."record/oil-hours"]\nat_most = "12 h"\n')
    assert [due.what for due in of(root).due] == ["rebound", "flight"]


def test_json_and_the_page_say_the_same_and_obey_nothing(tmp_path):
    evil = "<b>\u001b[2J"
    root = repository(tmp_path, event={"name": evil, "arrive_by": "air"})
    document = json.loads(prepare_json(of(root)))
    assert (document["format"], document["event"], document["ready"]) == (2, "quarry", True)
    assert document["name"] == evil
    assert document["pack"][0]["ml"] == 40
    page = prepare_html(of(root))
    assert "<b>\x1b" not in page and "&lt;b&gt;\\x1b[2J" in page
    assert page.count('type="checkbox"') == 1 + len(of(root).due) + len(of(root).pack)
    assert all(line.isprintable() for line in prepare_text(of(root)).splitlines())


def test_a_build_that_cannot_be_read_is_told(tmp_path):
    root = repository(tmp_path, event={"cars": ["heron", "heron"]})
    (root / "odd.build.toml").write_text("car = ", encoding="utf-8")
    found = of(root)
    assert len(found.cars) == 1
    assert any("odd.build.toml:1:" in line for line in found.mistakes)
    build_path(root).unlink()
    assert "odd.build.toml:1:" in "".join(of(root).mistakes) and not of(root).ready
    event = root / "quarry.event.toml"
    event.write_text(event.read_text("utf-8").replace('cars = ["heron", "heron"]', ""), "utf-8")
    with pytest.raises(PathError, match=r'for the event "quarry"; odd.build.toml cannot be read'):
        of(root)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("quary", 'there is no event "quary" under {root}; did you mean "quarry"?'),
        ("heron-quarry.build.toml", "an event is a file named NAME.event.toml"),
        ("none/x.event.toml", "there is no event none/x.event.toml"),
        ("lonely", 'no build is for the event "lonely"'),
        ("broken", "event broken cannot be read: "),
    ],
)
def test_what_cannot_be_prepared_is_one_sentence(tmp_path, monkeypatch, capsys, given, said):
    root = repository(tmp_path)
    monkeypatch.chdir(root)
    event = Path("quarry.event.toml").read_text("utf-8")
    Path("lonely.event.toml").write_text(event, encoding="utf-8")
    Path("broken.event.toml").write_text("name = ", encoding="utf-8")
    assert main(["prepare", given]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1
    assert said.format(root=root) in err
    with pytest.raises(PathError):
        prepare(given)


def test_an_event_with_an_empty_list_of_cars_is_told_and_is_not_ready(tmp_path):
    root = repository(tmp_path, event={"cars": Raw("[]")})
    with pytest.raises(PathError, match='no car goes to "quarry": its list of cars is empty'):
        of(root)


def test_the_cars_of_an_event_that_nothing_is_built_for_are_told(tmp_path):
    root = repository(tmp_path, build={"event": None}, event={"cars": ["heron"]})
    (car,) = of(root).cars
    assert (car.car, car.build, car.ready) == ("heron", None, False)
    assert prepare_text(of(root)).endswith("0 of 1 car ready.\n")


def test_with_a_team_an_event_is_one_of_its_own(tmp_path):
    team = load_team(repository(tmp_path))
    assert prepare("quarry", team=team) == of(tmp_path)
    with pytest.raises(PathError, match='there is no event "alps" under'):
        prepare("alps", team=team)
    with pytest.raises(TypeError, match="a team is what load_team gives"):
        prepare("quarry", team="saltmarsh")  # type: ignore[arg-type]


def test_the_exit_code_is_that_of_the_musts(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(repository(tmp_path, build={"front.right.length": "106 mm"}))
    assert main(["prepare", "quarry", "--on", "2027-06-05"]) == 1
    monkeypatch.chdir(repository(tmp_path / "b", build={"bench.on": None}))
    assert main(["prepare", "quarry.event.toml", "--as", "html", "-o", "page.html"]) == 0
    assert Path("page.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    capsys.readouterr()


def test_a_concession_counts_as_on_the_day(tmp_path):
    root = repository(tmp_path, build={"front.right.length": "106 mm"})
    (root / "buildlint.toml").write_text(
        '[[concession]]\nrule = "pair/length"\nreason = "the spare"\nuntil = 2027-06-30\n'
    )
    assert prepare(root / "quarry.event.toml", date(2027, 6, 30)).ready
    assert not prepare(root / "quarry.event.toml", date(2027, 7, 1)).ready


def test_the_example_team_is_ready_for_the_quarry():
    found = prepare(EXAMPLES / "events" / "quarry-six-hour.event.toml")
    assert [car.car for car in found.cars] == ["curlew", "dunlin", "heron"] and found.ready
