"""Makes a pair of dampers for arithmetic by hand.

Nothing is uncertain, and nothing but the shaft moves oil: it has 9.6211 mm^2.
"""

from __future__ import annotations

from typing import Any

from buildlint.measures.damper import Damper
from tests.making import sides

__all__ = ["bladder", "by_hand"]

# A shaft of 3.5 mm. At the bench alone nothing grows.
_BY_HAND: dict[str, Any] = {
    "shaft_diameter": 3.5e-3,
    "stroke": 30e-3,
    "body_length": 52e-3,
    "bore": 16e-3,
    "cap": "vented",
    "oil_volume": 9e-6,
    "expansion": 9.6e-4,
    "bench_temperature": 293.15,
    "bench_altitude": 0.0,
}


def by_hand(**more: Any) -> list[Damper]:
    return list(sides(Damper(end="front", side="left", **{**_BY_HAND, **more})))


def bladder(hold_back: float, into_body: float, into_cap: float) -> list[Damper]:
    rooms = {"bladder_into_body": into_body * 1e-9, "bladder_into_cap": into_cap * 1e-9}
    return by_hand(hold_back=hold_back * 1e-3, **rooms)
