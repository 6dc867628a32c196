"""What is done at the bench, step by step, in the order in which it works."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from buildlint.files.steps import Step
from buildlint.measures.damper import Damper
from buildlint.reports.sheet.wording import quantity
from buildlint.text.words import clean

__all__ = ["CAUTIONS", "BenchStep", "bench_steps"]


@dataclass(frozen=True, slots=True)
class BenchStep:
    """One thing to do: in a few words, how, and the word for it in the build file's `done`."""

    do: str
    how: str = ""
    done: Step | None = None


#: What can hurt, and what to do about it.
CAUTIONS = (
    "The maker's instructions and the event's rules come first, whatever this sheet says.",
    "A damper that locks, or that is hot, may be under pressure: let it cool, pull the shaft fully "
    "out if it moves freely, wear eye protection, point the cap away from everyone, hold a rag "
    "over it and open it slowly.",
    "Hot oil burns, and spilt oil is slippery: let it cool, wipe it up, wash it off.",
    "Springs jump: keep your face and fingers clear when the collar is backed off or a seat is "
    "taken out.",
    "Thread-lock stays off the skin and out of the eyes: wear gloves, use one drop, air the room.",
    "Cut away from yourself when trimming a bladder or taking off burrs, with a sharp blade.",
)

_FIRST = (
    BenchStep(
        "Piston and inserts: take off the burrs",
        "Holes, edges and the groove; then rinse them and wipe them dry.",
        "deburred",
    ),
    BenchStep(
        "Seals: grease them",
        "A thin film all round, none of them dry, in the order in which they came out.",
        "greased",
    ),
)

_AFTER_PISTON = (
    BenchStep(
        "Shaft threads: grease them before they go through the seals",
        "Push the shaft through with a slow turn: a dry thread cuts a seal.",
    ),
    BenchStep(
        "Seal carrier: tighten it only now that the shaft is through",
        "So the shaft centres the seals. It must still slide by its own weight.",
    ),
)

_LAST = (
    BenchStep(
        "Full strokes: ten, slowly, from stop to stop; rod ends free",
        "Each ball swings by its own weight. Never force a shaft that stops short: the damper is "
        "locked. Open it as the cautions say.",
        "rod end free",
    ),
    BenchStep(
        "Look for leaks",
        "Wipe it dry, lay it on clean paper for ten minutes, look at seal, cap and bleed.",
        "leak checked",
    ),
)


def bench_steps(pair: Sequence[Damper]) -> tuple[BenchStep, ...]:
    """Give the steps for the left and right damper of an end; those of an emulsion differ."""
    style = pair[0].style
    middle = _emulsion(pair) if style == "emulsion" else _bladder(pair)
    return (
        *_FIRST,
        _piston(pair),
        *_AFTER_PISTON,
        _rod_ends(pair),
        *middle,
        *_LAST,
        _rebound(pair),
        _spring(pair),
        _label(pair),
    )


def _said(pair: Sequence[Damper], name: str, unit: str, digits: int = 5) -> str:
    """Say a reading that both sides share, or that each has its own; nothing where unknown."""
    values = [getattr(d, name) for d in pair]
    if None in values or any(name in d.refused for d in pair):
        return ""
    left, right = (quantity(value, unit, digits) for value in values)
    return left if left == right else f"left {left}, right {right}"


def _piston(pair: Sequence[Damper]) -> BenchStep:
    how = "One small drop of thread-lock on clean threads. The piston sits square, does not rattle"
    limited = any(d.limiter is None or d.limiter > 0.0 for d in pair)
    limiter = _said(pair, "limiter", "mm") if limited else ""
    first = f"Limiter on the shaft first: {limiter}. " if limiter else ""
    return BenchStep(
        "Piston nut: snug, not crushed", f"{first}{how}, and is not bent.", "threadlocked"
    )


def _rod_ends(pair: Sequence[Damper]) -> BenchStep:
    length = _said(pair, "length", "mm")
    eyes = f" Eye to eye, fully out: {length}." if length else ""
    return BenchStep("Rod ends: to the same depth left and right", f"Count the turns.{eyes}")


def _bladder(pair: Sequence[Damper]) -> tuple[BenchStep, ...]:
    held = _said(pair, "hold_back", "mm")
    showing = f"with {held} of shaft still showing" if held else "at the planned hold-back"
    filling = _said(pair, "oil_volume", "ml", 3)
    about = f"About {filling}, shaft fully out. " if filling else "Shaft fully out. "
    return (
        BenchStep(
            "Fill, work the piston, let it rest",
            f"{about}Work the piston gently under the oil; stand it upright until no more bubbles "
            "rise.",
        ),
        BenchStep(
            "Bladder in, cap filled",
            "Top up to the brim, lay the bladder in from one side so that no air stays under it, "
            "then screw the cap on with the bleed open.",
        ),
        BenchStep(
            "Seal at the hold-back, the body tilted, the bleed at the top",
            "Push the shaft in slowly, let oil and air come out at the bleed, and close it "
            f"{showing}.",
            "bled",
        ),
    )


def _emulsion(pair: Sequence[Damper]) -> tuple[BenchStep, ...]:
    held = _said(pair, "hold_back", "mm")
    showing = f"with {held} of shaft still showing" if held else "with the shaft fully out"
    air = _said(pair, "air", "ml", 3)
    room = f"Leave {air} of air above the oil" if air else "Leave the planned air above the oil"
    return (
        BenchStep(
            "Fill, work the piston, let it rest",
            "Shaft fully out. Work the piston gently under the oil; stand it upright until no "
            "more bubbles rise.",
        ),
        BenchStep(
            "Set the air with a syringe",
            f"{room}: from the brim, draw off as much oil. No bladder goes in.",
        ),
        BenchStep(
            "Close the cap upright",
            f"Close it {showing}. It is not bled: the air stays in, and the strokes mix it.",
        ),
    )


def _rebound(pair: Sequence[Damper]) -> BenchStep:
    wanted = _said(pair, "rebound", "1")
    aim = f" Planned: {wanted} of the stroke." if wanted else ""
    return BenchStep(
        "Read the rebound",
        f"Let it rest, push the shaft slowly fully in, let go, measure how far it comes back.{aim}",
    )


def _spring(pair: Sequence[Damper]) -> BenchStep:
    collar = _said(pair, "collar", "mm")
    to = (
        f"Collar {collar} from its datum." if collar else "Collar at the same height on both sides."
    )
    return BenchStep("Spring and collar on", f"{to} Both seats home all round.")


def _label(pair: Sequence[Damper]) -> BenchStep:
    def words(damper: Damper) -> str:
        named = damper.label or " ".join(i for i in (damper.oil, damper.piston) if i)
        return clean(named) if damper.label or (damper.oil and damper.piston) else ""

    left, right = map(words, pair)
    text = f'"{left}"' if left == right else f'left "{left}", right "{right}"'
    if not (left and right):
        text = "The oil and the piston by their ids"
    return BenchStep(
        "Write the label on the cap", f"{text}; then the readings into the build file."
    )
