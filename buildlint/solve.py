"""Cures as figures: the range of a reading in which a rule holds and nothing else gets worse.

Nothing is worked out here: a reading is given other values, or another part is put in, and the same
rules are judged again.
"""

from __future__ import annotations

from collections.abc import Sequence

from buildlint.damper import Damper
from buildlint.files.part_models import PART_KINDS
from buildlint.finding import Cure, CureFigure
from buildlint.judge import Judge, Judgement
from buildlint.part_cures import Drawers, chosen_to_mend
from buildlint.reading_cures import turned_to_mend

__all__ = ["cures"]


def cures(judge: Judge, judgement: Judgement, dampers: Sequence[Damper], drawers: Drawers) -> Cure:
    """Solve for the readings that the rule offers to turn, on both sides of the end together.

    A figure is the range nearest to what stands now in which the rule holds with every tolerance
    at its worst, at every condition, and every other `must` that the reading enters holds too; one
    that is in doubt or fails now may be left in doubt where there is no better, never failing.
    """
    ends = ("front", "rear") if judgement.subject == "car" else (judgement.dampers[0].end,)
    figures: list[CureFigure] = []
    reasons: dict[str, str] = {}
    for reading in judgement.rule.turn:
        for end in ends:
            found: CureFigure | str | None
            if reading in PART_KINDS:
                found = chosen_to_mend(judge, judgement, dampers, end, reading, drawers)
            else:
                pair = [d for d in dampers if d.end == end]
                found = turned_to_mend(judge, judgement, pair, reading)
            if isinstance(found, CureFigure):
                figures.append(found)
            elif found:
                reasons[found] = reading
    # that no other part would do is worth saying only where nothing else would
    told = [r for r, reading in reasons.items() if not figures or reading not in PART_KINDS]
    return Cure(tuple(figures), " ".join(told))
