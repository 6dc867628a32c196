"""A file's text with keys set or taken out: what is meant is changed, and not a sign more."""

from __future__ import annotations

import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st

from buildlint.files.edit import edited
from buildlint.text.words import in_toml

KEEP = "# the heron\ncar = 'heron'  # ours\n"


@pytest.mark.parametrize(
    ("text", "path", "value", "expected"),
    [
        ("a = 1  # why\nb = 2\n", ("a",), "x", 'a = "x"  # why\nb = 2\n'),
        ("a = 1\n[t]\nb = 2\n", ("c",), "x", 'a = 1\nc = "x"\n[t]\nb = 2\n'),
        ("[t]\n  b = 2\n[u]\n", ("t", "c"), "x", '[t]\n  b = 2\nc = "x"\n[u]\n'),
        ("[t]  # why\n[u]\n", ("t", "c"), "x", '[t]  # why\nc = "x"\n[u]\n'),
        ("a = 1", ("t", "c"), "x", 'a = 1\n[t]\nc = "x"\n'),
        ("t.b = 2\n", ("t", "c"), "x", 't.b = 2\nt.c = "x"\n'),
        ("t = { b = 2 }\n", ("t", "c"), "x", 't = { b = 2, c = "x" }\n'),
        ("t = { b = 2 }\n", ("t", "b"), "x", 't = { b = "x" }\n'),
        ("a = 1\r\nb = 2\r\n", ("c",), "x", 'a = 1\r\nb = 2\r\nc = "x"\r\n'),
        ("'a' = 1\n", ("a",), 'é"\\', '\'a\' = "é\\"\\\\"\n'),
        ("a = 1\nb = 2\nd = 3\n[t]\n", ("c",), "x", 'a = 1\nb = 2\nd = 3\nc = "x"\n[t]\n'),
        ("a = 1\n\n# t\n[t]\n\n[u]\n", ("t", "c"), "x", 'a = 1\n\n# t\n[t]\nc = "x"\n\n[u]\n'),
        ("a = 1\nb = 2\n", ("t", "c"), "x", 'a = 1\nb = 2\n[t]\nc = "x"\n'),
        ("a = 1\n", ("t", "u", "c"), "x", 'a = 1\n[t.u]\nc = "x"\n'),
        # taken out
        ("[t]\na = 1\nb = 2\n", ("t", "a"), None, "[t]\nb = 2\n"),
        ("a = 1\nt = { b.c = 2 }\n", ("t", "b", "c"), None, "a = 1\n"),
        ("a = 1\nb = 2\nc = 3\n\nd = 4\n\ne = 5\n", ("d",), None, "a = 1\nb = 2\nc = 3\n\ne = 5\n"),
        ("a = 1  # kept\n# too\nb = 2\n", ("a",), None, "# kept\n# too\nb = 2\n"),
        ("a = 1\n[t]  # kept\nb = 2  # too\n", ("t", "b"), None, "a = 1\n# kept\n# too\n"),
        ('a = "#"\nb = 2\n', ("a",), None, "b = 2\n"),
        ("a = 1  # kept\r\nb = 2\r\n", ("a",), None, "# kept\r\nb = 2\r\n"),
        ('a = """\n[t]\n"""\nb = 2\n', ("a",), None, "b = 2\n"),
        ("a = [\n 1,  # one\n]\nb = 2\n", ("a",), None, "b = 2\n"),
        ("t = { a = 1, b = 2, c = 3 }\n", ("t", "a"), None, "t = { b = 2, c = 3 }\n"),
        ("t = { a = 1, b = 2, c = 3 }\n", ("t", "b"), None, "t = { a = 1, c = 3 }\n"),
        ("t = { a = 1, b = 2, c = 3 }\n", ("t", "c"), None, "t = { a = 1, b = 2 }\n"),
        ("a = 1\nt = { b = 2 }\n", ("t", "b"), None, "a = 1\n"),
        ("a = 1\n\n[t]\nb = 2\n\n[u]\nc = 3\n", ("t", "b"), None, "a = 1\n\n[u]\nc = 3\n"),
        ("a = 1\n\n[t]\n# kept\nb = 2\n", ("t", "b"), None, "a = 1\n\n# kept\n"),
        ("a = 1\n", ("t", "b"), None, "a = 1\n"),
    ],
)
def test_one_key_is_set_or_taken_out_and_all_else_stays(text, path, value, expected):
    assert edited(text, {path: value}) == expected
    tomli.loads(expected)


def test_several_changes_are_made_one_after_the_other():
    changes = {("a",): None, ("t", "b"): "y", ("c",): "z"}
    assert edited(f"{KEEP}a = 1\n[t]\nb = 2\n", changes) == f'{KEEP}c = "z"\n[t]\nb = "y"\n'


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_reads_back_as_it_was(text: str):
    assert tomli.loads(f"a = {in_toml(text)}") == {"a": text}
