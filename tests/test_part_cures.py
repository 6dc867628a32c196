"""Parts that are chosen, with rules made for it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from buildlint.bounds import Bounds
from buildlint.part_cures import _figure_of

from buildlint.damper import Damper
from buildlint.finding import Cure
from buildlint.judging.judge import Judgement
from buildlint.measures import MEASURES
from tests.wanting import BOOK, Wanting, by_hand


class Oils:
    """Drawers with three oils besides the one that is in; each fits as it is."""

    def ids(self, kind: str) -> list[str]:
        assert kind == "oil"
        return ["in", "a", "b", "c"]

    def fitted(self, damper: Damper, kind: str, ident: str) -> Damper:
        return replace(damper, oil=ident)


def oil_in(*idents: str) -> Any:
    return lambda d: "holds" if d.oil in idents else "fails"


def chosen(**asked: tuple[str, Any]) -> Cure:
    judge = Wanting(**asked)
    judge.rules = tuple(replace(rule, turn=("oil",)) for rule in judge.rules)
    pair = [replace(d, oil="in") for d in by_hand(stroke=28e-3)]
    return judge.cure("bad", pair, Oils())


def test_what_a_part_newly_breaks_is_named_and_what_failed_before_is_not():
    cure = chosen(
        bad=("should", oil_in("a", "b", "c")),
        newly=("should", oil_in("in", "b", "c")),  # "a" breaks it
        always=("should", oil_in()),  # fails whatever is in
    )
    (figure,) = cure.figures
    assert figure.choices == ("b", "c", "a")
    assert '"a" (agrees; but then newly fails)' in figure.text
    assert "always" not in figure.text


def test_a_part_that_breaks_a_must_is_not_named():
    cure = chosen(
        bad=("should", oil_in("a", "b")),
        strict=("must", oil_in("in", "b")),
    )
    (figure,) = cure.figures
    assert figure.choices == ("b",)
    assert figure.end == "front"


def test_a_must_that_fails_already_does_not_keep_a_part_from_being_named():
    cure = chosen(bad=("should", oil_in("a")), lost=("must", oil_in()))
    (figure,) = cure.figures
    assert figure.choices == ("a",)


def test_no_part_is_named_that_leaves_the_rule_in_doubt():
    def doubt(d: Damper) -> str:
        return "doubtful" if d.oil == "a" else "fails"

    cure = chosen(bad=("should", doubt))
    assert cure.figures == ()
    assert cure.reason == "No other oil in the drawers mends it."


@pytest.mark.parametrize(
    ("metres", "text"), [(0.1e-3, "0.10 mm"), (0.94e-3, "0.94 mm"), (1.2e-3, "1.2 mm")]
)
def test_a_small_clearance_is_given_to_a_hundredth(metres, text):

    rule = BOOK["fit/piston-clearance"]
    found = Judgement(
        rule, MEASURES["piston_clearance"], "front", (), "holds", bounds=Bounds(metres, 0.0, 1.0)
    )
    assert _figure_of(found) == text


def test_every_rule_that_a_part_newly_breaks_is_named():
    cure = chosen(
        bad=("should", oil_in("a")), one=("should", oil_in("in")), two=("should", oil_in("b"))
    )
    (figure,) = cure.figures
    # the second failed before
    assert figure.text == 'Holds with oil: "a" (agrees; but then one fails).'
    cure = chosen(
        bad=("should", oil_in("a")), one=("should", oil_in("in")), two=("should", oil_in("in"))
    )
    (figure,) = cure.figures
    assert figure.text == 'Holds with oil: "a" (agrees; but then one and two fail).'


def test_what_fails_on_one_side_does_not_hide_what_newly_fails_on_the_other():
    def apart(d: Damper) -> str:
        return "fails" if d.side == "left" or d.oil == "a" else "holds"

    cure = chosen(bad=("should", oil_in("a")), apart=("should", apart))
    (figure,) = cure.figures
    assert figure.text == 'Holds with oil: "a" (agrees; but then apart fails).'


def test_a_cap_that_is_to_be_written_anew_is_no_rule_that_the_part_breaks(tmp_path):
    """An oil is changed for another: the label of either cap is then wrong, and nothing else."""
    judge = Wanting(bad=("should", oil_in("a")), cap=("should", oil_in("in")))
    judge.rules = tuple(
        replace(rule, turn=("oil",), measure="label_agrees" if rule.id == "cap" else rule.measure)
        for rule in judge.rules
    )
    pair = [replace(d, oil="in") for d in by_hand(stroke=28e-3)]
    (figure,) = judge.cure("bad", pair, Oils()).figures
    assert figure.text == ('Holds with oil: "a" (agrees). Then write the label on the cap again.')
