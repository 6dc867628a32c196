"""A user's text made fit to be shown, and the word that was meant."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.text.words import clean, nearest, shown


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("plain é ±", "plain é ±"),
        ("", ""),
        ("a\x1b[31mb", r"a\x1b[31mb"),
        ("a\nb\tc\r", r"a\nb\tc\r"),
        ("\x00\x7f\x9b", r"\x00\x7f\x9b"),
        ("\u202eabc", r"\u202eabc"),  # right to left override
        ("\U000e0041", r"\U000e0041"),
        # what a build server obeys at the start of a line, or anywhere in it
        ("::error::a", r"\x3a:error::a"),
        ("a ::b c::d", r"a \x3a:b c::d"),
        ("a##[b] ##vso[c] ## [d]", r"a\x23#[b] \x23#vso[c] ## [d]"),
        # signs that print and take no room
        ("a\u034f\u3164\ufe0fb", r"a\u034f\u3164\ufe0fb"),
    ],
)
def test_what_is_not_printable_becomes_its_escape(text: str, expected: str) -> None:
    assert clean(text) == expected


@given(st.text(st.characters()) | st.text(":#[a é\u3164"))
def test_clean_text_is_printable_and_stays_as_it_is(text: str) -> None:
    once = clean(text)
    assert once.isprintable()
    assert clean(once) == once
    assert "##[" not in once
    assert not any(word.startswith("::") for word in once.split(" "))
    if text.isprintable() and not set(text) & set(":#") and text.isascii():
        assert once == text


def test_a_text_of_40_characters_is_shown_whole_and_a_longer_one_cut() -> None:
    assert shown("x" * 40) == f'"{"x" * 40}"'
    assert shown("x" * 41) == f'"{"x" * 39}…"'
    assert shown("\x1b" * 41) == '"' + r"\x1b" * 39 + '…"'


@given(st.text(st.characters(), max_size=200))
def test_shown_text_is_one_short_printable_line_in_quotes(text: str) -> None:
    got = shown(text)
    assert got.isprintable()
    assert got[0] == got[-1] == '"'
    # the longest escape, \U00000000, has ten characters
    assert len(got) <= 40 * 10 + 2


def test_the_nearest_known_word() -> None:
    keys = ["hold_back", "rebound", "limiter"]
    assert nearest("holdback", keys) == "hold_back"
    assert nearest("reboud", keys) == "rebound"
    assert nearest("rebound", keys) == "rebound"
    assert nearest("zzz", keys) is None
    assert nearest("rebound", []) is None
    assert nearest("", keys) is None


def test_a_word_too_long_to_be_shown_has_no_nearest() -> None:
    word = "x" * 40
    assert nearest(word, [word]) == word
    assert nearest(word + "x", [word + "x"]) is None


def test_the_known_words_may_come_from_anything_that_can_be_iterated() -> None:
    assert nearest("hern", iter(["heron", "curlew"])) == "heron"
    assert nearest("hern", {"heron": 1, "curlew": 2}) == "heron"
