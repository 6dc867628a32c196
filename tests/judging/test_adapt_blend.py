"""Two bottles mixed for an end that no oil suits: one too thin, one too thick, in tenths."""

from __future__ import annotations

from math import log
from pathlib import Path

import pytest

from buildlint.judging.adapt_blend import Blend, nearest_blend
from tests.carrying import no_oils_but, search_of, team_of


def blend_of(folder: Path, *off: float, **parts: object) -> Blend | None:
    """Give the blend of oils whose viscosity is off by these, in ln; the first is "a"."""
    made = {key.replace("__", "."): value for key, value in parts.items()}
    return nearest_blend(search_of(team_of(folder, no_oils_but(*off) | made)))


@pytest.mark.parametrize(
    ("thin", "thick", "tenths"),
    [
        (-0.1, 0.9, (9, 1)),
        (-0.9, 0.1, (1, 9)),
        (-0.3, 0.7, (7, 3)),
        # as it is, the one suits best: a blend is of both all the same
        (-0.9, 0.0, (1, 9)),
        (-0.004, 0.9, (9, 1)),
    ],
)
def test_it_is_mixed_in_whole_tenths_of_both(tmp_path, thin, thick, tenths):
    """ln of the viscosity of a blend goes with the shares of the volume (Arrhenius 1887)."""
    found = blend_of(tmp_path, thin, thick)
    assert found is not None
    assert (found.oils, found.tenths) == (("a", "b"), tenths)
    off = (tenths[0] * thin + tenths[1] * thick) / 10
    # cold and hot are apart by the same whatever the oil is: in the middle is what it is off by
    assert (log(1 + found.cold) + log(1 + found.hot)) / 2 == pytest.approx(off, abs=2e-3)
    assert found.error == pytest.approx(max(abs(log(1 + found.cold)), abs(log(1 + found.hot))))


@pytest.mark.parametrize(
    ("off", "oils"),
    [
        # of three that are nearer, all on one side, none can be mixed to what is wanted
        ((-0.9, 0.1, 0.11, 0.12, 0.13, 0.14), ("a", "b")),
        ((0.9, -0.1, -0.11, -0.12, -0.13, -0.14), ("b", "a")),
    ],
)
def test_one_is_too_thin_and_the_other_too_thick(tmp_path, off, oils):
    found = blend_of(tmp_path, *off)
    assert found is not None and found.oils == oils
    assert sorted(found.tenths) == [1, 9]


@pytest.mark.parametrize("off", [(-0.9, -0.2), (0.2, 0.9)])
def test_of_oils_on_one_side_nothing_is_mixed(tmp_path, off):
    assert blend_of(tmp_path, *off) is None


def test_a_blend_of_the_parts_files_is_no_bottle(tmp_path):
    """ "mixed" is nearer than "a", on its side; what is mixed already is not mixed again."""
    blend = {"oil__mixed__blend": {"a": "40 %", "b": "60 %"}}
    found = blend_of(tmp_path, -0.9, 0.5, **blend)
    assert found is not None and found.oils == ("a", "b")


def test_it_is_for_the_piston_that_is_fitted(tmp_path):
    """With the others' holes both oils are far too thin, or too thick."""
    for holes in ("6 x 2.6 mm", "6 x 1.0 mm"):
        found = blend_of(tmp_path / holes, -0.3, 0.7, piston__six__holes=holes)
        assert found is not None and found.tenths == (7, 3)


def test_an_oil_of_which_nothing_is_known_is_left_out(tmp_path):
    found = blend_of(tmp_path, -0.3, 0.7, oil__unknown__note="nobody measured it")
    assert found is not None and found.tenths == (7, 3)
