"""What stands on a cap, read against what is inside."""

from __future__ import annotations

import itertools
import string
import time

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from buildlint.measures.cap_label import CORNER_CODES, label_disagreements
from buildlint.measures.label_words import GOES_ON, only_names_both

OIL, PISTON, HELD = "o450", "four-18", 6.4e-3


def said(label: str, oil: str = OIL, piston: str = PISTON, **more: object) -> tuple[str, ...]:
    """What is said of a label on the usual damper."""
    given_for = {"hold_back": HELD, "end": "front", "side": "left", **more}
    return label_disagreements(label, oil, piston, **given_for)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "label",
    [
        "o450/four-18/6.4",
        "6.4mm FOUR 18 O450",
        "O450, four_18, 6,4 mm",
        "o450 | four.18 | 6.4",
        "o450-four-18-6.4",
        "four-18\no450\n6.4 mm",
        "o450.four-18.6.4",
        "FL o450 four-18",
        "o450 four-18, new, by the old hands, 2027",
        "o450 four-18 5 June 2027",
        "o450 / four-18 / 2027-06-05",
        "o450 four-18 (6.40 mm)",
        "hb 6.4, o450, four-18",
        "o450 four-18",  # a label need not state its hold-back
    ],
)
def test_a_label_is_read_in_any_order_and_with_any_separators(label):
    assert said(label) == ()


@pytest.mark.parametrize(
    ("label", "disagreement"),
    [
        ("o500 four-18", "does not name the oil o450"),
        ("o450 six-15", "does not name the piston four-18"),
        ("o4500 four-18", "does not name the oil o450"),
        ("xo450 four-18", "does not name the oil o450"),
        ("o450four-18", "does not name the oil o450"),
        ("o450-b / four-18", "does not name the oil o450"),  # another oil, not this and a b
        ("o450 / four-18-taper", "does not name the piston four-18"),
        ("o450 / new-four-18", "does not name the piston four-18"),
        ("o450 / 18-four", "does not name the piston four-18"),  # not in their order
    ],
)
def test_an_id_is_named_by_whole_words_only(label, disagreement):
    assert disagreement in said(label)
    assert len(said(label)) <= 2


def test_nothing_names_nothing():
    assert said("") == ("does not name the oil o450", "does not name the piston four-18")


@pytest.mark.parametrize(
    ("oil", "piston", "label", "agrees"),
    [
        ("four", "four-18", "four-18", False),  # its words are not borrowed
        ("four", "four-18", "four four-18", True),
        ("four", "four-18", "four-18 / four", True),
        ("x", "x", "x", False),
        ("x", "x", "x / x", True),
        ("450", "4x1.8", "450 / 4x1.8 / 6.4", True),
        ("450", "4x1.8", "4×1,8 6,4 450 cSt", True),
        ("450", "1.8", "450/1.8/6.4", True),
        ("450", "1.8", "1.8.450.6.4", True),
        ("450", "1.8", "450,1,8,6,4", True),
        ("450", "1.8", "450 11.8", False),
        ("450", "1.8", "450 1.85", False),
        ("450", "6.4", "450 6.4", True),
        ("4", "p", "p 6.4", False),  # 4 is no word of 6.4
        ("6", "p", "p 6.4 mm", False),
        ("5", "p", "p 5.6.2027", False),
        ("5", "p", "p 5 5.6.2027", True),
        ("2027-06-05", "p", "p 2027-06-05", True),
        ("fl", "rear", "fl rear", True),
        ("★", "p", "p ★", True),  # an id of signs alone
        ("★", "p", "p", False),
        ("Ölig", "p", "ÖLIG p", True),  # decomposed in the label
    ],
)
def test_ids_may_be_numbers_or_hold_points_and_hyphens(oil, piston, label, agrees):
    assert (said(label, oil, piston) == ()) is agrees


@pytest.mark.parametrize(
    ("label", "written"),
    [
        ("o450/four-18/9.5", "9.5"),
        ("9,5 four-18 o450", "9.5"),
        ("o450 four-18 9.5mm", "9.5"),
        ("o450 four-18 9 mm", "9"),
        ("o450 four-18 hb 9", "9"),
        ("o450 four-18 hold-back: 9", "9"),
        ("o450 four-18 9.50", "9.50"),
        ("o450-four-18-9.5", "9.5"),
        ("o450.four-18.9.5", "9.5"),
        ("o450 four-18 9.5 FL", "9.5"),
        ("o450 four-18 16 mm hb, 6.4 mm limiter", "16"),  # the one that says so counts
    ],
)
def test_a_hold_back_is_held_against_that_inside(label, written):
    """9 and 9.5 mm are 2.6 mm and more from 6.4 mm; ± 0.3 mm and half a digit are allowed."""
    assert said(label) == (f"says hold-back {written} mm, but it is 6.4 mm",)


@pytest.mark.parametrize(
    ("figure", "agrees"),
    [
        # 0.3 mm and half of the last digit: 0.05, 0.5, 0.005 mm
        ("6.7", True),
        ("6.8", False),
        ("6.1", True),
        ("6.0", False),
        ("7 mm", True),
        ("8 mm", False),
        ("6.70", True),
        ("6.72", False),
    ],
)
def test_a_hold_back_agrees_within_its_tolerance_and_the_digits_written(figure, agrees):
    assert (said(f"o450 four-18 {figure}") == ()) is agrees


@pytest.mark.parametrize(
    "more",
    [
        "9",
        "27",
        "2027",
        "5.6.27",
        "05.06.2027",
        "12.06",
        "5.6.",
        "6/5/27",
        "9.5 ml",
        "9.5 cSt",
        "0.82 N/mm",
        "9.5 %",
        "9.5 h",
        "9.5 °C",
        '9.5"',
        "\n    bore 16 mm",
        "16 mm body",
        "shaft 3.5 mm",
        "4 x 1.8 mm",
        "limiter 2 mm",
        "2 mm limiter",
        "9.5 mm 2.5 mm",
        "± 0.2 mm",
        "\n    200 mm^3",
        "v1.2",
        "4x1.3",
        "no. 9",
        "M3",
        "9.5 mm/s",
        "300 mm",
        "9999999999.5",
        "9.5.1.2.3",
        "lot 12.75",
        "#9",
        "12:30",
        "6.4 9.5",
        "6.4 mm ± 0.2",
    ],
)
def test_a_figure_that_may_be_something_else_is_no_disagreement(more):
    assert said(f"o450 four-18 {more.strip()}") == ()
    assert said(f"{more.strip()} / four-18 o450") == ()


def test_where_no_hold_back_is_known_none_is_judged():
    assert said("o450 four-18 9.5 mm", hold_back=None) == ()


@pytest.mark.parametrize(
    ("label", "disagreement"),
    [
        ("air 2 ml", "says 2 ml of air, but it is 1 ml"),
        ("2.0ml air", "says 2.0 ml of air, but it is 1 ml"),
        ("air 1 ml", None),
        ("air 1.1 ml", None),  # 10 % of 1 ml
        ("2 ml", None),  # of what?
        ("9 ml oil", None),
    ],
)
def test_the_air_of_an_emulsion_is_held_against_that_poured_in(label, disagreement):
    expected = () if disagreement is None else (disagreement,)
    assert said(f"o450 four-18 {label}", hold_back=None, air=1e-6) == expected
    assert said(f"o450 four-18 {label}", air=None) == ()


CORNERS = sorted(CORNER_CODES)


@pytest.mark.parametrize("corner", CORNERS)
@pytest.mark.parametrize("other", CORNERS)
@pytest.mark.parametrize("form", ["{code}", "{low}", "{end} {side}", "{side}-{end}", "({code})"])
def test_a_corner_on_the_label_is_this_one(corner, other, form):
    code = CORNER_CODES[other]
    text = form.format(code=code, low=code.lower(), end=other[0], side=other[1])
    expected = () if corner == other else (f"says {code}, but this is {CORNER_CODES[corner]}",)
    assert said(f"{text} o450 four-18", end=corner[0], side=corner[1]) == expected
    assert said(f"four-18/o450/{text}", end=corner[0], side=corner[1]) == expected


@pytest.mark.parametrize(
    "label",
    [
        "FL FR",
        "front",
        "front left + right",
        "front/rear",
        "left",
        "right",
        "2 left",
        "flat",
        "F",
        "R",
    ],
)
def test_a_corner_that_may_be_this_one_is_no_disagreement(label):
    assert said(f"{label} o450 four-18", end="front", side="right") == ()


def test_an_end_is_judged_alone():
    assert said("o450 four-18 rear") == ("says rear, but this is FL",)


def test_a_corner_that_is_an_id_is_no_corner():
    assert said("rr / rear", "rr", "rear") == ()
    assert said("rr / rear / rr", "rr", "rear") == ("says RR, but this is FL",)


def test_all_that_disagrees_is_said_at_once():
    assert said("RR o500 six-15 9.5 mm") == (
        "does not name the oil o450",
        "does not name the piston four-18",
        "says hold-back 9.5 mm, but it is 6.4 mm",
        "says RR, but this is FL",
    )


def test_what_cannot_be_printed_is_not():
    (one,) = said("four-18", "o\x1b[31m450")
    assert one == r"does not name the oil o\x1b[31m450"


@pytest.mark.parametrize(
    "label", ["a " * 100, "1." * 100, "1 mm " * 40, "fl " * 66, "1-1-1990 " * 22, "a-" * 100]
)
def test_no_label_takes_long(label):
    start = time.perf_counter()
    said(label, "a", "a")
    said(label, "1", "1.1")
    assert time.perf_counter() - start < 2.0


# --- whatever the order and the separators -------------------------------------------------------

SEPARATORS = ["/", " / ", ", ", " ", "|", " - ", "-", "_", "\n", ".", "; ", " + ", " · "]
IDS = ["o450", "450", "1.8", "four-18", "4x1.8", "between", "six_17", "O 500", "18"]


@pytest.mark.parametrize("separator", SEPARATORS)
@pytest.mark.parametrize(("oil", "piston"), list(itertools.permutations(IDS, 2)))
def test_neither_order_nor_separators_change_the_verdict(separator, oil, piston):
    for items in itertools.permutations([oil, piston, "6.4 mm"]):
        label = separator.join(items)
        assert said(label, oil, piston) == (), label
        assert said(label.upper(), oil, piston) == (), label
        wrong = said(label, oil, piston, hold_back=9.5e-3)
        assert wrong == ("says hold-back 6.4 mm, but it is 9.5 mm",), label
        for other in {"o451", "two-16"}:
            assert f"does not name the oil {other}" in said(label, other, piston), label
            assert f"does not name the piston {other}" in said(label, oil, other), label


words = st.text(string.ascii_letters + string.digits, min_size=1, max_size=6)
idents = st.builds("-".join, st.lists(words, min_size=1, max_size=3))


@given(idents, idents, st.sampled_from([" / ", "\n", " | ", "; "]), st.permutations(range(3)))
def test_any_two_ids_are_named_by_a_label_of_both(oil, piston, separator, order):
    items = [oil, piston, "6.4 mm"]
    assert said(separator.join(items[i] for i in order), oil, piston) == ()


@given(
    st.one_of(idents, st.text(min_size=1, max_size=8)),
    st.one_of(idents, st.sampled_from(["FL", "6.4 mm", "o-o", "o", "1.5", "a.1"])),
    st.sampled_from([" / ", "\n", ".", ",", "-", "", " mm "]),
    st.sampled_from(["", "FR", " 6.4", "mm"]),
    st.booleans(),
)
def test_a_label_that_only_names_both_agrees_with_anything_else(
    oil, piston, separator, more, turned
):
    """Whatever the hold-back and the corner are: the quick way says what the whole reading says."""
    parts = [piston, oil] if turned else [oil, piston]
    label = separator.join(parts) + more
    if only_names_both(label, oil, piston):
        assert said(label, oil, piston) == ()
        assert said(label, oil, piston, hold_back=None, air=1e-6, end="rear", side="right") == ()


@given(idents, idents, idents)
def test_a_label_of_other_ids_names_neither(oil, piston, other):
    """The other's words are none of those on the label."""
    on_label = f"{oil} / {piston} / 6.4 mm"
    plain = on_label.casefold().replace("/", " ").replace("-", " ").replace(".", " ").split()
    words_of_other = other.casefold().split("-")
    assume(not set(words_of_other) & {*plain})
    # a unit that clings to its number is a word of its own
    clinging = ("mm", "ml", "cst")
    assume(not any(w.endswith(clinging) for w in [*words_of_other, *plain] if w != "mm"))
    assert f"does not name the oil {other}" in said(on_label, other, piston)
    assert f"does not name the piston {other}" in said(on_label, oil, other)


@given(st.text(max_size=200), st.text(min_size=1, max_size=20), st.text(min_size=1, max_size=20))
def test_any_text_is_read(label, oil, piston):
    assume(not piston.startswith(GOES_ON))  # that would be a word in two lines
    found = said(label, oil, piston)
    assert all(text.isprintable() for text in found)
    assert said(f"{oil}\n{piston}", oil, piston, hold_back=None, end="") == ()
