"""Where keys and values stand: in characters from 1, the end column one past the last."""

import tomli
from hypothesis import given
from hypothesis import strategies as st

from buildlint.files.places import START, Place, Places


def places(text: str) -> Places:
    return Places(text.encode())


def test_a_plain_key_and_its_value() -> None:
    found = places('car = "heron"\n')
    assert found.of_key(("car",)) == Place(1, 1, 4)
    assert found.of_value(("car",)) == Place(1, 7, 14)


def test_columns_count_characters_not_bytes() -> None:
    # "é" and "±" take two bytes each, "油" three, "😀" four (two units in UTF-16)
    text = 'é = { "油😀" = "6.4 mm ± 0.2 mm", b = "x" }\n'
    found = places(text.replace("é", '"é"', 1))
    assert found.of_key(("é",)) == Place(1, 1, 4)
    assert found.of_key(("é", "油😀")) == Place(1, 9, 13)
    assert found.of_value(("é", "油😀")) == Place(1, 16, 33)
    assert found.of_key(("é", "b")) == Place(1, 35, 36)
    assert found.of_value(("é", "b")) == Place(1, 39, 42)


def test_a_comment_with_other_letters_moves_nothing() -> None:
    found = places('# ±±±\n  car   =   "x" # ±\n')
    assert found.of_key(("car",)) == Place(2, 3, 6)
    assert found.of_value(("car",)) == Place(2, 13, 16)


def test_tables_and_what_stands_in_them() -> None:
    found = places('[front]\noil = "a"\n[front.left]\noil = "b"\n')
    assert found.of_key(("front",)) == Place(1, 2, 7)
    assert found.of_value(("front", "oil")) == Place(2, 7, 10)
    assert found.of_key(("front", "left")) == Place(3, 2, 12)
    assert found.of_value(("front", "left", "oil")) == Place(4, 7, 10)


def test_a_table_known_only_by_a_longer_name_stands_at_that_name() -> None:
    found = places('[body.b14]\nbore = "16 mm"\n')
    assert found.of_key(("body",)) == Place(1, 2, 10)
    assert found.of_key(("body", "b14")) == Place(1, 2, 10)


def test_dotted_and_quoted_keys() -> None:
    found = places('a.b.c = 1\n\'d.e\'."f\\u0041" = 2\n[ "g h" . i ]\nj = 3\n')
    assert found.of_key(("a", "b", "c")) == Place(1, 1, 6)
    assert found.of_value(("a", "b", "c")) == Place(1, 9, 10)
    assert found.of_key(("a",)) == Place(1, 1, 6)
    assert found.of_value(("d.e", "fA")) == Place(2, 19, 20)
    assert found.of_value(("g h", "i", "j")) == Place(4, 5, 6)


def test_inline_tables_in_inline_tables() -> None:
    found = places('second = { viscosity = "190 cSt", at = { x = "60 degC" } }\n')
    assert found.of_value(("second",)) == Place(1, 10, 59)
    assert found.of_key(("second", "viscosity")) == Place(1, 12, 21)
    assert found.of_value(("second", "viscosity")) == Place(1, 24, 33)
    assert found.of_value(("second", "at", "x")) == Place(1, 46, 55)


def test_items_of_a_list_go_by_their_number() -> None:
    found = places('done = [\n  "bled", # first\n  # none\n  "greased",\n]\n')
    assert found.of_value(("done", "0")) == Place(2, 3, 9)
    assert found.of_value(("done", "1")) == Place(4, 3, 12)
    # not there: the list's key
    assert found.of_value(("done", "2")) == Place(1, 1, 5)


def test_a_value_over_several_lines_ends_with_its_first() -> None:
    found = places('note = """one\ntwo\n"""\ndone = [\n"bled",\n]\nlast = 1\n')
    assert found.of_value(("note",)) == Place(1, 8, 14)
    assert found.of_value(("done",)) == Place(4, 8, 9)
    assert found.of_value(("last",)) == Place(7, 8, 9)


def test_a_list_of_tables_goes_by_number() -> None:
    found = places("[[x]]\na = 1\n[[x]]\na = 2\n")
    assert found.of_value(("x", "0", "a")) == Place(2, 5, 6)
    assert found.of_key(("x", "1")) == Place(3, 3, 4)
    assert found.of_value(("x", "1", "a")) == Place(4, 5, 6)


def test_line_endings_of_windows_and_a_byte_order_mark_move_nothing() -> None:
    found = Places(b'\xef\xbb\xbfcar = "x"\r\n[front]\r\noil = "y"\r\n')
    assert found.of_key(("car",)) == Place(1, 1, 4)
    assert found.of_value(("front", "oil")) == Place(3, 7, 10)
    assert found.line(1) == 'car = "x"'
    assert found.line(3) == 'oil = "y"'


def test_the_text_of_a_line() -> None:
    found = Places(b"a = 1\n\nb = \xff\n")
    assert [found.line(n) for n in (-1, 0, 1, 2, 3, 4, 5)] == ["", "", "a = 1", "", "b = �", "", ""]


def test_what_is_not_there_stands_at_the_nearest_table_above() -> None:
    found = places('car = "x"\n[front]\noil = "y"\n')
    assert found.of_key(("front", "left", "oil")) == Place(2, 2, 7)
    assert found.of_value(("front", "piston")) == Place(2, 2, 7)
    assert found.of_value(("rear", "oil")) == START == Place(1, 1, 1)
    assert found.of_key(()) == START


def test_an_empty_file_has_its_start() -> None:
    assert places("").of_key(("car",)) == START


def test_where_the_parser_stumbles_the_nearest_place_is_given() -> None:
    # a valid text that ends in quotes of its own, and one that holds them
    for text in ('"""a"""""', "'''a'''''", '"""\\\n   x""y"""', '"""""x"""'):
        whole = f'[front]\nnote = {text}\noil = "y"\n[rear]\noil = "z"\n'
        assert tomli.loads(whole)["rear"] == {"oil": "z"}
        found = places(whole)
        for path in (("front", "note"), ("front", "oil"), ("rear", "oil")):
            for place in (found.of_key(path), found.of_value(path)):
                assert 1 <= place.line <= 7
                assert 1 <= place.column <= place.end_column


def test_a_broken_file_still_has_the_places_before_the_break() -> None:
    found = places('car = "x"\n[front]\noil = \n\x00 = = ]]\n')
    assert found.of_value(("car",)) == Place(1, 7, 10)


def test_deep_nesting_and_long_names_stand_at_the_nearest_table() -> None:
    deep = 900
    for text in (
        "note = " + "[" * deep + "]" * deep,
        "note = " + "{a=" * deep + "1" + "}" * deep,
        "note." + ".".join("a" * deep) + " = 1",
        "[note." + ".".join("a" * deep) + "]",
    ):
        found = places(f'car = "x"\n{text}\n')
        assert found.of_value(("car",)) == Place(1, 7, 10)
        path = ("note", *"a" * deep)
        assert found.of_value(path).line in (1, 2)


def test_one_line_with_many_keys_and_other_letters_is_counted_right() -> None:
    text = "t = {" + ",".join(f'"é{i}" = "±"' for i in range(2000)) + "}\n"
    found = places(text)
    for i in (0, 1, 999, 1999):
        start = text.index(f'"é{i}"') + 1
        assert found.of_key(("t", f"é{i}")) == Place(1, start, start + len(f'"é{i}"'))


@given(
    st.dictionaries(
        st.text("abcxyz_-é油 .", min_size=1, max_size=8), st.integers(0, 10**9), min_size=1
    )
)
def test_every_key_of_a_file_stands_where_its_text_is(table: dict[str, int]) -> None:
    lines = [f'"{key}" = {value}' for key, value in table.items()]
    found = places("\n".join(lines) + "\n")
    for number, (key, value) in enumerate(table.items(), 1):
        at = found.of_key((key,))
        assert at == Place(number, 1, len(key) + 3)
        value_at = found.of_value((key,))
        assert value_at.line == number
        line = found.line(number)
        assert line[value_at.column - 1 : value_at.end_column - 1] == str(value)


@given(st.binary(max_size=200))
def test_any_bytes_have_places(data: bytes) -> None:
    found = Places(data)
    for path in ((), ("a",), ("front", "left", "oil")):
        assert found.of_key(path).line >= 1
        assert found.of_value(path).line >= 1
