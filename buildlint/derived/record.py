"""How the parts fit, and what was done and noted."""

from __future__ import annotations

from functools import lru_cache

from buildlint.plans import moves
from buildlint.steps import missing_steps


@moves(up="bore", down="piston_diameter")
def piston_clearance(bore: float, piston_diameter: float) -> float:
    """Bore less the piston's diameter (m)."""
    return bore - piston_diameter


@moves(up="bore", down="shaft_diameter")
def shaft_room(bore: float, shaft_diameter: float) -> float:
    """Bore less the shaft's diameter (m)."""
    return bore - shaft_diameter


@moves(up="largest_piston", down="piston_diameter")
def piston_to_spare(largest_piston: float, piston_diameter: float) -> float:
    """Largest piston that the body takes, less the piston's diameter (m)."""
    return largest_piston - piston_diameter


def steps_missing(done: tuple[str, ...], style: str) -> float:
    """How many of the bench steps are not listed as done; an emulsion is not bled."""
    return float(len(missing_steps(done, style)))


def rebound_read(rebound: float | None = None) -> bool:
    """Whether the rebound was read."""
    return rebound is not None


def label_disagreements(
    label: str,
    oil: str,
    piston: str,
    hold_back: float | None = None,
    style: str = "bladder",
    air: float | None = None,
    end: str = "",
    side: str = "",
) -> tuple[str, ...]:
    """In words, how the label on the cap disagrees with what is inside; nothing if it agrees."""
    if _only_names_both(label, oil, piston):
        return ()
    poured = air if style == "emulsion" else None
    return _read_label(label, oil, piston, hold_back, poured, end, side)


@lru_cache(maxsize=4096)
def _only_names_both(label: str, oil: str, piston: str) -> bool:
    from buildlint.label_words import only_names_both

    return only_names_both(label, oil, piston)


@lru_cache(maxsize=4096)
def _read_label(
    label: str,
    oil: str,
    piston: str,
    hold_back: float | None,
    air: float | None,
    end: str,
    side: str,
) -> tuple[str, ...]:
    # only builds with labels need it, and the same label is read for each of its rules
    from buildlint.cap_label import label_disagreements

    return label_disagreements(label, oil, piston, hold_back, air=air, end=end, side=side)


def label_agrees(label_disagreements: tuple[str, ...]) -> bool:
    """Whether the label on the cap agrees with what is inside."""
    return not label_disagreements


@moves(up="event_on", down="bench_on")
def days_before_event(bench_on: float, event_on: float) -> float:
    """Days from the bench to the event (s)."""
    return (event_on - bench_on) * 86400.0


def parts(
    body: str | None = None,
    shaft: str | None = None,
    piston: str | None = None,
    bladder: str | None = None,
    oil: str | None = None,
    spring: str | None = None,
) -> tuple[tuple[str, str | None], ...]:
    """What the damper is made of: kind and id of each part."""
    return (
        ("body", body),
        ("shaft", shaft),
        ("piston", piston),
        ("bladder", bladder),
        ("oil", oil),
        ("spring", spring),
    )
