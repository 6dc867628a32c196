"""Many dampers at once: the same figures as one by one, whatever is beside them."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import buildlint
from buildlint.judging import judge
from buildlint.judging.judge import Judge
from buildlint.judging.rulebook import load_rulebook
from buildlint.judging.values import value_of, values_at
from buildlint.measures import MEASURES
from buildlint.measures.arrays import ROW_OF, Batch
from buildlint.measures.damper import CORNERS, Damper
from buildlint.measures.evaluate import Figures, Worked
from buildlint.measures.graph import CONDITIONS
from buildlint.measures.origin import Origin
from tests.making import BENCH, FEW, build_path, dampers, repository
from tests.measures.at_random import Car
from tests.measures.test_figures import PLAIN

NUMBERS = [m.name for m in MEASURES.values() if m.unit not in ("id", "yes") and not m.of]


def plain(end: str = "front", side: str = "left", **readings: Any) -> Damper:
    return Damper(end=end, side=side, **{**PLAIN, **readings})


def _every(found: Worked, over: tuple[int, ...], damper: int) -> Any:
    """Give the variants of one damper at each condition, whatever axes are of length one."""
    array = found.variants(over)
    shape = (2 + 2 * len(over), len(CONDITIONS), array.shape[2])
    column = 0 if array.shape[2] == 1 else damper
    return np.broadcast_to(array, shape)[:, :, column]


@FEW
@given(found=st.lists(dampers(every=True), min_size=2, max_size=6))
def test_many_dampers_at_once_give_what_each_gives_alone(found):
    together = Figures(Batch([[damper] for damper in found]))
    alone = [Figures(Batch([[damper]])) for damper in found]
    for name in NUMBERS:
        over = together[name].over
        for number, figures in enumerate(alone):
            assert set(figures[name].over) <= set(over)
            here, by_itself = _every(together[name], over, number), _every(figures[name], over, 0)
            np.testing.assert_allclose(here, by_itself, rtol=1e-12, err_msg=name)
        for condition, number in np.ndindex(len(CONDITIONS), len(found)):
            known = alone[number].known(MEASURES[name])[condition, 0]
            assert together.known(MEASURES[name])[condition, number] == known


@pytest.mark.parametrize("at_a_time", [1, 2, 5])
def test_builds_are_judged_alike_so_many_at_a_time(monkeypatch, at_a_time: int):
    found = [Car(seed, scale=scale).dampers for seed, scale in enumerate((0.1, 1.0, 3.0) * 2)]
    found[1] = found[1][:2]
    found[3] = [replace(damper, hold_back=None) for damper in found[3]]

    def told() -> list[Any]:
        return [
            (o.held, [(j.rule.id, j.subject, j.verdict, j.figure, j.chance) for j in o.others])
            for o in Judge(load_rulebook()).outcomes(found)
        ]

    whole = told()
    assert len({verdict for _, others in whole for _, _, verdict, *_ in others}) == 3
    monkeypatch.setattr(judge, "AT_A_TIME", at_a_time)
    assert list(map(repr, told())) == list(map(repr, whole))  # nan is no equal of nan


MIXED = {
    "four": plain(),
    "eight": plain(holes=((8, 1.3e-3),)),
    "two sizes": plain(holes=((4, 1.8e-3), (8, 1.3e-3))),
    "tapered": plain(taper_to=1.6e-3),
    "sealed": plain(cap="sealed", gas_volume=1e-6),
    "emulsion": plain(style="emulsion", air=1e-6),
    "no event": plain(coldest=None, hottest=None, event_altitude=None),
    "no piston": plain(holes=None),
    "no cap": plain(cap=None),
}


@pytest.mark.parametrize(
    ("name", "condition", "expected"),
    [
        ("damping", "bench", [45.959, 77.474, 28.8466, 57.621, *[45.959] * 3, None, 45.959]),
        ("cap_pressure", "hot", [None] * 4 + [168027.0] + [None] * 4),
        ("emulsion_use", "hot", [None] * 5 + [0.336295] + [None] * 3),
        ("into_cap_need", "hot", [336.295e-9] * 5 + [None] * 2 + [336.295e-9] * 2),
        ("into_cap_need", "bench", [96.211e-9] * 9),
    ],
)
def test_dampers_of_every_kind_stand_beside_each_other(name, condition, expected):
    """Values as in test_figures.py; where none is expected, only that nothing else is moved."""
    found = Figures(Batch([[damper] for damper in MIXED.values()]))[name].as_read
    row = np.broadcast_to(found, (len(found), len(MIXED)))
    row = row[CONDITIONS.index(condition) if len(found) > 1 else 0]
    for value, wanted, damper in zip(row, expected, MIXED.values(), strict=True):
        if wanted is not None:
            assert value == pytest.approx(wanted, rel=2e-5)
        assert value == pytest.approx(value_of(damper, name, condition), rel=1e-12, nan_ok=True)


QUIET = """
import numpy as np
from buildlint.measures.damper import Damper
from buildlint.judging.judge import Judge, measured
from buildlint.judging.rulebook import load_rulebook
from tests.measures.test_figures import PLAIN
from tests.measures.test_graph import FULL

odd = [
    {},
    PLAIN,
    {**FULL, "limiter": 1.0},
    {**FULL, "bore": 0.0},
    {**FULL, "shaft_diameter": 0.1, "holes": ((0, 0.0),)},
    {**FULL, "bladder_into_cap": 0.0, "bladder_into_body": 0.0, "air": 0.0, "gas_volume": 0.0},
    {**FULL, "bench_altitude": 1e9, "event_altitude": -1e9},
    {**FULL, "viscosity_given": 0.0, "bench_temperature": 0.0},
    {**FULL, "spring_rate": 0.0, "corner_mass": 0.0, "wire": 1.0, "coils": 0.0},
    {**FULL, "second_viscosity_at": FULL["viscosity_given_at"]},
    {**FULL, "refused": frozenset({"hold_back", "holes", "cap", "taper_to"})},
]
for given in odd:
    for spread in ({}, {n: (0.0, 2.0 * v) for n, v in given.items() if type(v) is float}):
        four = [
            Damper(end=end, side=side, **given, spread=spread)
            for end in ("front", "rear")
            for side in ("left", "right")
        ]
        for judgement in [*Judge(load_rulebook()).judge(four, at_each=True), *measured(four)]:
            judgement.weights, judgement.missing
"""


@pytest.mark.whole
def test_what_is_missing_or_makes_no_sense_is_nan_without_a_word_of_numpys():
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", QUIET], capture_output=True, text=True, check=False
    )
    assert (run.returncode, run.stderr, run.stdout) == (0, "", "")


# --- candidates ----------------------------------------------------------------------------------


def _car() -> list[Damper]:
    spread = {"hold_back": (9.7e-3, 10.3e-3)}
    return [plain(end, side, spread=spread) for end, side in CORNERS]


def _hold_backs(batch: Batch) -> tuple[list[float], list[float], list[float]]:
    """Give those of each damper in mm: as read, least and most."""
    array = Figures(batch)["hold_back"].array[:, 0] * 1e3
    as_read, low, high = (array[0], array[2], array[3]) if len(array) > 1 else [array[0]] * 3
    return as_read.round(9).tolist(), low.round(9).tolist(), high.round(9).tolist()


def test_a_reading_that_is_turned_is_read_as_closely_as_before_and_not_below_nothing():
    made = Batch([_car()[:1]]).turned({"hold_back": np.array([0.1e-3, 6e-3])})
    assert _hold_backs(made) == ([0.1, 6.0], [0.0, 5.7], [0.4, 6.3])
    assert made.middle[made_row(made), :].round(9).tolist() == [0.2e-3, 6e-3]


def made_row(batch: Batch) -> int:
    (row,) = Figures(batch)["hold_back"].over
    return row


def test_a_reading_at_its_end_is_turned_with_the_whole_of_its_tolerance():
    """0 ± 0.3 mm reaches down to nothing only; 6 ± 0.3 reaches both ways."""
    damper = plain(hold_back=0.0, spread={"hold_back": (0.0, 0.3e-3)})
    made = Batch([[damper]]).turned({"hold_back": np.array([6e-3])})
    assert _hold_backs(made) == ([6.0], [5.7], [6.3])


def test_a_reading_that_was_not_given_is_turned_exactly():
    made = Batch([[plain(hold_back=None)]]).turned({"hold_back": np.array([4e-3])})
    assert _hold_backs(made) == ([4.0], [4.0], [4.0])


def test_one_end_is_turned_and_the_other_stays():
    made = Batch([_car()]).turned({"hold_back": np.array([4e-3, 5e-3])}, ends=["rear"])
    assert _hold_backs(made)[0] == [10.0, 10.0, 4.0, 4.0, 10.0, 10.0, 5.0, 5.0]
    assert made.corner.tolist() == [[0, 1, 2, 3], [4, 5, 6, 7]]


def test_several_readings_are_turned_in_step():
    turned = {"hold_back": np.array([4e-3, 5e-3]), "bench_temperature": np.array([280.0, 290.0])}
    found = Figures(Batch([[plain()]]).turned(turned))["into_cap_need"].as_read[2]
    for number, (hold_back, temperature) in enumerate(zip(*turned.values(), strict=True)):
        by_itself = plain(hold_back=hold_back, bench_temperature=temperature)
        assert found[number] == pytest.approx(value_of(by_itself, "into_cap_need", "hot"))


@given(damper=dampers(every=True), share=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=5))
@FEW
def test_a_reading_at_many_values_gives_what_each_gives(damper, share):
    across = [damper.stroke * each for each in share]
    for name in ("into_cap_use", "into_body_use", "emulsion_use", "hold_back_share"):
        found = values_at(damper, name, "hot", hold_back=across)
        alone = [value_of(replace(damper, hold_back=each), name, "hot") for each in across]
        assert found == pytest.approx(alone, rel=1e-12, nan_ok=True)


def test_repeated_builds_are_builds_of_their_own():
    batch = Batch([_car(), _car()[:2]])
    made = batch.repeated(3)
    assert len(made.dampers) == 18
    one = Figures(batch)["damping"].as_read[0]
    thrice = np.broadcast_to(Figures(made)["damping"].as_read[0], (18,))
    assert thrice.tolist() == list(np.broadcast_to(one, (6,))) * 3
    assert made.corner[2:4].tolist() == [[6, 7, 8, 9], [10, 11, -1, -1]]
    # and can be turned without the first ones being turned
    made.turned({"hold_back": np.array([1e-3])})
    assert _hold_backs(batch)[0] == [10.0] * 6


def test_a_reading_is_set_build_by_build():
    made = Batch([_car(), _car()]).set("hold_back", np.array([4e-3, 5e-3]), "front")
    assert _hold_backs(made)[0] == [4.0, 4.0, 10.0, 10.0, 5.0, 5.0, 10.0, 10.0]
    made = Batch([_car(), _car()[:2]]).set("hold_back", np.array([4e-3, 5e-3]))
    assert _hold_backs(made)[0] == [4.0, 4.0, 4.0, 4.0, 5.0, 5.0]


def test_without_a_reading_its_figures_are_not_known():
    batch = Batch([_car()])
    made = Figures(batch.without("hold_back", "rear"))
    assert made.known(MEASURES["into_cap_need"])[0].tolist() == [True, True, False, False]
    assert np.isnan(made["into_cap_need"].as_read[0]).tolist() == [False, False, True, True]
    assert Figures(batch).known(MEASURES["into_cap_need"]).all()


# --- asked of it ---------------------------------------------------------------------------------


def test_dampers_are_alike_where_reading_and_place_are_the_same():
    def pair(other: dict[str, Any], origin: Any = ("bore",), **left: Any) -> Batch:
        places = [{"bore": Origin(BENCH, ("bore",))}, {"bore": Origin(BENCH, origin)}]
        given = [{"side": "left", **left}, {"side": "right", **other}]
        return Batch([[plain(**g, origin=o) for g, o in zip(given, places, strict=True)]])

    def alike(batch: Batch) -> bool:
        return bool(batch.same_readings(["bore"], np.array([0]), np.array([1]))[0])

    assert alike(pair({}))
    assert not alike(pair({"bore": 17e-3}))
    assert not alike(pair({}, origin=("right", "bore")))
    assert not alike(pair({"spread": {"bore": (15e-3, 17e-3)}}))
    assert alike(pair({"length": 0.1}))  # what is not asked for may differ
    assert alike(pair({"bore": None}, bore=None))
    unknown = Batch([[plain(bore=None), plain(side="right")]])
    assert not alike(unknown)


def test_what_is_given_and_what_a_word_is():
    batch = Batch([[damper] for damper in MIXED.values()])
    assert batch.given("holes").tolist() == [name != "no piston" for name in MIXED]
    assert batch.where("cap", "sealed").tolist() == [name == "sealed" for name in MIXED]


@pytest.mark.parametrize("reading", ["holes", "hold_back", "cap", "taper_to"])
def test_what_a_refused_reading_stands_behind_is_not_known(reading: str):
    name = "into_cap_use" if reading in ("hold_back", "cap") else "damping"
    both = [plain(), replace(plain(), refused=frozenset({reading}))]
    known = Figures(Batch([[damper] for damper in both])).known(MEASURES[name])
    assert known.tolist() == [[True, False]] * 3


def test_a_cap_that_is_neither_vented_nor_sealed_is_not_taken_for_a_vented_one(tmp_path):
    repository(tmp_path, parts={"body.long.cap": "sealde"})
    lines = buildlint.figures(build_path(tmp_path)).figures
    uses = [f for f in lines if f.measure == "into_cap_use" and f.subject.startswith("front")]
    assert uses and all(line.value is None for line in uses)
    assert {line.missing for line in uses} == {("cap of body long",)}


def test_no_dampers_at_all_are_no_trouble():
    none = Figures(Batch([]))
    assert none["damping"].as_read.shape[-1] == 0
    assert Judge(load_rulebook()).judge([]) == []


def test_a_reading_is_numbered_once_for_all_that_share_it():
    batch = Batch([Car(1).dampers])
    (row,) = Figures(batch)["viscosity_given"].over
    assert len(set(batch.reading[row])) == 1
    (row,) = Figures(batch)["collar"].over
    assert len(set(batch.reading[row])) == 2
    for name in ("bore", "spring_rate"):
        (row,) = Figures(batch)[name].over
        assert len(set(batch.reading[row])) == 4


def test_holes_are_as_read_in_the_middle_at_the_least_and_at_the_most():
    """Two sizes, the first read to 0.02 mm each way, the second up to 0.1 mm wider."""
    holes = ((4, 1.7e-3), (2, 1.2e-3))
    low, high = ((4, 1.68e-3), (2, 1.2e-3)), ((4, 1.72e-3), (2, 1.3e-3))
    loose = Damper(end="front", side="left", holes=holes, spread={"holes": (low, high)})
    exact = Damper(end="front", side="right", holes=holes[:1])
    batch = Batch([[loose, exact, Damper(end="rear", side="left")]])
    assert batch.holes[:, :2].tolist() == [[4.0, 4.0], [2.0, 0.0]]
    assert np.isnan(batch.holes[:, 2]).all()
    assert batch.drilled[:, 0, 0].tolist() == pytest.approx([1.7e-3, 1.7e-3, 1.68e-3, 1.72e-3])
    assert batch.drilled[1, 0, 0] == 1.7e-3  # to the last bit, as read
    assert batch.drilled[:, 1, 0].tolist() == pytest.approx([1.2e-3, 1.25e-3, 1.2e-3, 1.3e-3])
    assert batch.drilled[:, 0, 1].tolist() == [1.7e-3] * 4


def test_where_a_reading_does_not_enter_its_ends_are_the_middle():
    """A stroke of 30 mm, 25 to 31: its middle is 28 mm, and the bore moves nothing of it."""
    spread = {"stroke": (25e-3, 31e-3), "bore": (15e-3, 17e-3)}
    damper = Damper(end="front", side="left", stroke=30e-3, bore=16e-3, spread=spread)
    found = Figures(Batch([[damper]]))["stroke"]
    over = (ROW_OF["bore"], ROW_OF["stroke"])
    assert found.variants(over)[:, 0, 0].tolist() == pytest.approx(
        [30e-3, 28e-3, 28e-3, 28e-3, 25e-3, 31e-3]
    )


# --- which is whose ------------------------------------------------------------------------------


def test_each_corner_of_a_car_has_a_piece_of_its_own():
    builds = [Car(1).dampers, Car(2).dampers]
    assert Batch(builds).piece.tolist() == [0, 1, 2, 3, 4, 5, 6, 7]
    assert Batch(builds, cars=["heron", "heron"]).piece.tolist() == [0, 1, 2, 3] * 2


def test_where_nothing_is_like_another_none_stands_behind():
    batch = Batch([Car(1).dampers], with_like=True)
    assert (len(batch.dampers), batch.like.tolist()) == (4, [-1] * 4)


def test_bodies_from_two_places_are_two_readings_whatever_is_read_first():
    places = [{"bore": Origin(BENCH, (end, "bore"))} for end in ("rear", "front")]
    first = Damper(end="rear", side="right", bore=16e-3, origin=places[0])
    batch = Batch([[first, Damper(end="front", side="left", bore=16e-3, origin=places[1])]])
    one, other = batch.reading[ROW_OF["bore"]]
    assert one != other


def test_of_what_nobody_knows_the_place_each_is_a_reading_of_its_own():
    place = {"viscosity_given": Origin(BENCH, ("viscosity",))}
    known = Damper(end="front", side="right", viscosity_given=450e-6, origin=place)
    batch = Batch([[Damper(end="front", side="left", viscosity_given=450e-6), known]])
    one, other = batch.reading[ROW_OF["viscosity_given"]]
    assert one != other


def test_of_one_end_the_other_has_no_corners():
    one = [damper for damper in Car(1).dampers if damper.end == "front"]
    batch = Batch([one, Car(2).dampers])
    assert batch.of_end("rear").corner.tolist() == [[-1] * 4, [-1, -1, 0, 1]]
    assert batch.of_end("front").corner.tolist() == [[0, 1, -1, -1], [2, 3, -1, -1]]
