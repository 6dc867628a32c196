"""Oils that are blended of themselves."""

from graphlib import TopologicalSorter
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.files.part_models import Parts
from buildlint.team.blends import rings
from buildlint.team.load import load_team
from tests.small_team import FILES, Told, told, write


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return write(tmp_path / "saltmarsh", FILES)


def blends(root: Path, **of: str) -> list[Told]:
    text = "".join(f"[oil.{name}]\nblend = {{ {parts} }}\n" for name, parts in of.items())
    write(root, {"mixed.parts.toml": text})
    return told(load_team(root))


def test_an_oil_blended_of_itself(root: Path) -> None:
    assert blends(root, a='thin = "40 %", a = "60 %"') == [
        (
            "mixed.parts.toml",
            "file/blend-of-itself",
            2,
            30,
            36,
            'an oil cannot be blended from itself: "a" has "a"',
        )
    ]


def test_a_ring_of_three_is_one_fault_that_names_the_way(root: Path) -> None:
    got = blends(
        root, a='b = "100 %"', b='thin = "50 %", c = "50 %"', c='a = "100 %"', d='a = "100 %"'
    )
    assert got == [
        (
            "mixed.parts.toml",
            "file/blend-of-itself",
            2,
            15,
            22,
            'an oil cannot be blended from itself: "a" has "b", which has "c", which has "a"',
        )
    ]


def test_a_ring_leaves_its_oils_unsound_and_others_sound(root: Path) -> None:
    blends(root, a='b = "100 %"', b='a = "100 %"', c='thin = "50 %", thick = "50 %"')
    team = load_team(root)
    assert not team.blend_is_sound("a")
    assert not team.blend_is_sound("b")
    assert team.blend_is_sound("c")
    assert team.blend_is_sound("thin")


def test_a_blend_of_blends_that_come_together_is_sound(root: Path) -> None:
    assert (
        blends(
            root,
            a='thin = "50 %", thick = "50 %"',
            b='a = "50 %", thin = "50 %"',
            c='a = "50 %", b = "50 %"',
        )
        == []
    )


def test_a_long_chain_of_blends_is_followed(root: Path) -> None:
    names = [f"o{i}" for i in range(2000)]
    chain = {a: f'{b} = "100 %"' for a, b in pairwise(names)}
    assert blends(root, o1999='thin = "100 %"', **chain) == []


def test_a_ring_of_many_is_one_fault_in_few_words(root: Path) -> None:
    names = [f"o{i:03}" for i in range(500)]
    ring = {a: f'{b} = "100 %"' for a, b in pairwise([*names, names[0]])}
    (fault,) = blends(root, **ring, p='o007 = "100 %"')
    assert fault[1] == "file/blend-of-itself"
    assert fault[5] == (
        "an oil cannot be blended from itself: "
        + ", which has ".join(['"o000" has "o001"', *(f'"o{n:03}"' for n in range(2, 7)), "…"])
    )


def test_two_rings_are_two_faults(root: Path) -> None:
    got = blends(
        root,
        a='b = "50 %", c = "50 %"',
        b='a = "100 %"',
        c='d = "100 %"',
        d='c = "100 %"',
    )
    assert [t[5] for t in got] == [
        'an oil cannot be blended from itself: "a" has "b", which has "a"',
        'an oil cannot be blended from itself: "c" has "d", which has "c"',
    ]


def test_a_blend_of_itself_is_found_where_one_parts_file_is_asked_for(root: Path) -> None:
    path = root / "mixed.parts.toml"
    path.write_text('[oil.a]\nblend = { a = "100 %" }\n')
    found = load_team(root).file(path)
    assert isinstance(found.model, Parts)
    assert [fault.rule for fault in found.faults] == ["file/blend-of-itself"]


@given(
    st.dictionaries(
        st.sampled_from("abcdefgh"), st.lists(st.sampled_from("abcdefgh"), max_size=3, unique=True)
    )
)
def test_every_ring_is_broken_where_the_told_oils_are_left_out(found: dict[str, list[str]]) -> None:
    """Held against the standard library, which finds a cycle but not each."""
    whole = {
        ident: [other for other in others if other in found] for ident, others in found.items()
    }
    told = list(rings(whole))
    for way in told:
        assert way[0] == way[-1]
        assert len(set(way)) == len(way) - 1
        assert all(other in whole[ident] for ident, other in pairwise(way))
    gone = {ident for way in told for ident in way}
    # with the order of blending taken from what is left, there must be one
    left = {ident: [o for o in others if o not in gone] for ident, others in whole.items()}
    for ident in gone:
        left[ident] = []
    TopologicalSorter(left).prepare()
    if not told:
        TopologicalSorter(whole).prepare()
