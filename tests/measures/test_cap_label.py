"""What stands on a cap, read against what is inside."""

from __future__ import annotations

import string
import time
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from buildlint.judging.values import lacking
from buildlint.measures.cap_label import label_disagreements
from buildlint.measures.damper import Damper

OIL, PISTON = "o450", "four-18"
#: 450 cSt at 25 degC, four holes of 1.8 mm.
INSIDE: dict[str, Any] = {
    "viscosity_given": 450e-6,
    "viscosity_given_at": 298.15,
    "holes": ((4, 1.8e-3),),
}
NO_OIL = "names neither the oil o450 nor its viscosity, 450 cSt"
NO_PISTON = "names neither the piston four-18 nor its holes, 4 x 1.8 mm"


def said(label: str, oil: str = OIL, piston: str = PISTON, **more: Any) -> tuple[str, ...]:
    """What is said of a label on the usual damper."""
    readings = {**INSIDE, "hold_back": 6.4e-3, **more}
    damper = Damper(end="front", side="left", label=label, oil=oil, piston=piston, **readings)
    return label_disagreements(damper)


@pytest.mark.parametrize(
    "label",
    [
        "o450 / four-18 / 6.4 mm",
        "450 four-18",
        "4x1.8 450",
        "4 × 1,8 mm, 450 cSt, FL",
        "O450, FOUR-18",
        "four-18\no450",
        "o450|four-18|new, by the old hands, 5.6.2027",
        "450cSt 4x1.8mm",
        "４Ｘ１．８　４５０",
        "450.0 4 x 1.80",
        "four-18 (o450).",
        "4x1.8\n450\n6.4 mm",
        "450 1.8",  # the size of the holes alone
        # what else stands on it is not judged
        "o450 four-18 9.5 mm",
        "RR o450 four-18",
        "o450 four-18 air 2 ml",
        "o500 o450 four-18 six-15",
    ],
)
def test_oil_and_piston_by_id_or_by_size_agree_whatever_else_stands_there(label: str) -> None:
    assert said(label) == ()


@pytest.mark.parametrize(
    ("label", "reasons"),
    [
        ("", (NO_OIL, NO_PISTON)),
        ("o500 / four-18", (NO_OIL,)),
        ("o450 six-15", (NO_PISTON,)),
        ("o4500 four-18", (NO_OIL,)),
        ("xo450 four-18", (NO_OIL,)),
        ("o450four-18", (NO_OIL, NO_PISTON)),
        ("o450-b / four-18", (NO_OIL,)),
        ("o450 / four-18-taper", (NO_PISTON,)),
        ("o450-four-18", (NO_OIL, NO_PISTON)),
        ("o450_four-18", (NO_OIL, NO_PISTON)),
        ("o450 / four 18", (NO_PISTON,)),
        ("o450 2", (NO_PISTON,)),
        ("o450 3x1.8", (NO_PISTON,)),
        ("o450 4x1.7", (NO_PISTON,)),
        ("o450 14x1.8", (NO_PISTON,)),
        ("o450 4x1.85", (NO_PISTON,)),
        ("o450 4x1.8.5", (NO_PISTON,)),
        ("500 4x1.8", (NO_OIL,)),
        ("4500 4x1.8", (NO_OIL,)),
        ("5.450 4x1.8", (NO_OIL,)),
        ("450.5.27 4x1.8", (NO_OIL,)),
    ],
)
def test_a_label_of_something_else_says_what_it_does_not_name(
    label: str, reasons: tuple[str, ...]
) -> None:
    assert said(label) == reasons


@pytest.mark.parametrize(
    ("readings", "agree", "disagree"),
    [
        # 448.7: half of a whole, half of a tenth
        ({"viscosity_given": 448.7e-6}, ["449", "448.7"], ["448", "450", "448.6", "449.0"]),
        # measured at 40 degC with B = 1757 K: 339.3 cSt there are 450 at 25 degC
        ({"viscosity_given": 339.3e-6, "viscosity_given_at": 313.15}, ["450"], ["339", "340"]),
        # 450 cSt at 25 degC from two readings: whatever the usual slope is
        (
            {"second_viscosity": 500e-6, "second_viscosity_at": 288.15},
            ["450"],
            ["500"],
        ),
        ({"viscosity_given": None, "viscosity_given_at": None}, ["o450"], ["450"]),
        ({"viscosity_given_at": None}, ["o450"], ["450"]),
    ],
)
def test_the_viscosity_is_that_at_25_degc_as_closely_as_it_is_written(
    readings: dict[str, Any], agree: list[str], disagree: list[str]
) -> None:
    for written in agree:
        assert said(f"{written} four-18", **readings) == ()
    for written in disagree:
        assert len(said(f"{written} four-18", **readings)) == 1


@pytest.mark.parametrize(
    ("label", "viscosity", "hole"),
    [("4x1.8 450.1", 450.05e-6, 1.85e-3), ("4x1.8 450.1", 450.15e-6, 1.75e-3)],
)
def test_off_by_half_of_the_last_digit_agrees(label: str, viscosity: float, hole: float) -> None:
    assert said(label, viscosity_given=viscosity, holes=((4, hole),)) == ()
    off = said(label, viscosity_given=viscosity, holes=((4, 1.8e-3 + 1.01 * (hole - 1.8e-3)),))
    assert len(off) == 1 and off[0].startswith("names neither the piston")
    off = said(label, viscosity_given=450.1e-6 + 1.05 * (viscosity - 450.1e-6), holes=((4, hole),))
    assert len(off) == 1 and off[0].startswith("names neither the oil")


def test_of_several_sizes_of_holes_each_is_named() -> None:
    holes = ((2, 1.8e-3), (2, 1.55e-3))
    assert said("450 2x1.8 + 2x1.55", holes=holes) == ()
    assert said("450 2 x 1.55 mm / 2 x 1.8 mm", holes=holes) == ()
    for label in ("450 2x1.8", "450 4x1.8", "450 2x1.55 + 2x1.7"):
        assert said(label, holes=holes) == (
            "names neither the piston four-18 nor its holes, 2 x 1.8 mm + 2 x 1.55 mm",
        )


def test_of_what_is_not_known_only_the_id_counts() -> None:
    assert said("450 4x1.8", holes=None, viscosity_given=None) == (
        "does not name the oil o450",
        "does not name the piston four-18",
    )


def test_a_label_over_a_refused_viscosity_is_not_checked() -> None:
    damper = Damper(
        end="front",
        side="left",
        label="450 four-18",
        oil=OIL,
        piston=PISTON,
        refused=frozenset({"viscosity_given"}),
    )
    assert lacking(damper, "label_agrees") == ("viscosity of oil o450",)


@pytest.mark.parametrize(
    ("oil", "piston", "label", "agrees"),
    [
        ("four", "four-18", "four-18", False),
        ("four", "four-18", "four-18 / four", True),
        ("1.8", "p", "p 1,8", True),
        ("1.8", "p", "p 11.8", False),
        ("1.8", "p", "p 1.85", False),
        ("4", "p", "p 6.4", False),
        ("6", "p", "p 6.4", False),
        ("★", "p", "p ★", True),
        ("Ölig", "p", "ÖLIG p", True),  # decomposed in the label
        ("O 500", "p", "o 500 p", True),
        ("a.b", "p", "axb p", False),
    ],
)
def test_ids_may_be_numbers_or_hold_signs(oil: str, piston: str, label: str, agrees: bool) -> None:
    assert (said(label, oil, piston) == ()) is agrees


def test_what_cannot_be_printed_is_not() -> None:
    (one,) = said("four-18", "o\x1b[31m450")
    assert one == r"names neither the oil o\x1b[31m450 nor its viscosity, 450 cSt"


@pytest.mark.parametrize("label", ["a ", "1.", "1 x ", "1" * 50, "1 ", "x" * 50, "a-", "1,"])
def test_no_label_takes_long(label: str) -> None:
    start = time.perf_counter()
    said(label * 20_000, "a", "a")
    said(label * 20_000, "1", "1.1")
    assert time.perf_counter() - start < 2.0


# --- whatever the ids ----------------------------------------------------------------------------

words = st.text(string.ascii_letters + string.digits, min_size=1, max_size=6)
idents = st.builds("-".join, st.lists(words, min_size=1, max_size=3))


@given(
    st.one_of(idents, st.text(min_size=1, max_size=8)),
    st.one_of(idents, st.text(min_size=1, max_size=8)),
    st.sampled_from([" / ", "\n", " | ", "; "]),
    st.permutations(range(3)),
)
def test_any_two_ids_are_named_by_a_label_of_both(
    oil: str, piston: str, separator: str, order: list[int]
) -> None:
    label = separator.join([oil, piston, "6.4 mm"][i] for i in order)
    assert said(label, oil, piston) == ()


@given(idents, idents, idents, st.integers(1, 9999))
def test_a_label_of_another_oil_or_piston_names_neither(
    oil: str, piston: str, other: str, viscosity: int
) -> None:
    """Another by id, viscosity and holes."""
    on_label = f"{oil} / {piston} / 6.4 mm"
    assume(other.casefold() not in {each.casefold() for each in (oil, piston, "mm")})
    assume(str(viscosity) not in (oil, piston))
    assume("cst" not in on_label.casefold())
    assert said(on_label, other, piston, viscosity_given=viscosity * 1e-6) == (
        f"names neither the oil {other} nor its viscosity, {viscosity} cSt",
    )
    assert said(on_label, oil, other) == (
        f"names neither the piston {other} nor its holes, 4 x 1.8 mm",
    )


@given(st.text(max_size=200), st.text(min_size=1, max_size=20), st.text(min_size=1, max_size=20))
def test_any_text_is_read(label: str, oil: str, piston: str) -> None:
    assert all(text.isprintable() for text in said(label, oil, piston))
