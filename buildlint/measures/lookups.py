"""What is looked up in a damper and not worked out: ids, labels, bench steps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from buildlint.files.part_models import PART_KINDS
from buildlint.files.steps import missing_steps
from buildlint.measures.cap_label import label_disagreements
from buildlint.measures.damper import Damper

__all__ = ["LOOKUPS", "Lookup"]


class Lookup(NamedTuple):
    """How something is looked up in a damper, and which readings it cannot do without."""

    of: Callable[[Damper], Any]
    required: Sequence[str]
    optional: Sequence[str] = ()


def _parts(damper: Damper) -> tuple[tuple[str, str | None], ...]:
    return tuple((kind, getattr(damper, kind)) for kind in PART_KINDS)


def _like_parts(damper: Damper) -> bool:
    return damper.like is not None and _parts(damper) == _parts(damper.like)


def _attribute(name: str) -> Lookup:
    return Lookup(lambda damper: getattr(damper, name), (name,))


#: Every measure that is looked up, by its name.
LOOKUPS: dict[str, Lookup] = {
    **{kind: _attribute(kind) for kind in PART_KINDS},
    "parts": Lookup(_parts, (), PART_KINDS),
    "parts_against": Lookup(_like_parts, (), PART_KINDS),
    "steps_missing": Lookup(
        lambda damper: float(len(missing_steps(damper.done or (), damper.style))), ("done",)
    ),
    "rebound_read": Lookup(lambda damper: damper.rebound is not None, (), ("rebound",)),
    "label_agrees": Lookup(
        lambda damper: not label_disagreements(damper),
        ("label", "oil", "piston"),
        ("viscosity_given", "holes"),
    ),
}
