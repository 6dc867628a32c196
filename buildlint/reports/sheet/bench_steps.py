"""What is done at the bench, step by step, in the order in which it works."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from buildlint.files.steps import Step
from buildlint.measures.damper import Damper

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
        "Holes, edges and the groove; rinse, wipe dry.",
        "deburred",
    ),
    BenchStep(
        "Seals: grease them",
        "A thin film all round, in the order in which they came out.",
        "greased",
    ),
)

_AFTER_PISTON = (
    BenchStep(
        "Shaft threads: grease them before they go through the seals",
        "Turn slowly: a dry thread cuts a seal.",
    ),
    BenchStep(
        "Seal carrier: tighten it only now that the shaft is through",
        "The shaft must still slide by its own weight.",
    ),
    BenchStep(
        "Rod ends: to the same depth left and right",
        "Count the turns; then measure the length, fully out.",
    ),
)

_FILL = BenchStep(
    "Fill, work the piston, let it rest",
    "Shaft fully out, piston gently under the oil; upright until no more bubbles rise.",
)

_BLADDER = (
    _FILL,
    BenchStep(
        "Bladder in, cap filled",
        "To the brim; lay the bladder in from one side, no air under it; cap on, bleed open.",
    ),
    BenchStep(
        "Seal at the hold-back, the body tilted, the bleed at the top",
        "Shaft in slowly, oil and air come out; close the bleed.",
        "bled",
    ),
)

_EMULSION = (
    _FILL,
    BenchStep(
        "Set the air with a syringe",
        "From the brim, draw off as much oil as the planned air. No bladder goes in.",
    ),
    BenchStep(
        "Close the cap upright",
        "At the hold-back; without one, shaft fully out. It is not bled: the air stays in.",
    ),
)

_LAST = (
    BenchStep(
        "Full strokes: ten, slowly, from stop to stop; rod ends free",
        "Never force a shaft that stops short: see cautions.",
        "rod end free",
    ),
    BenchStep(
        "Look for leaks",
        "Wipe it dry, ten minutes on clean paper; look at seal, cap and bleed.",
        "leak checked",
    ),
    BenchStep(
        "Read the rebound",
        "Let it rest, push the shaft slowly fully in, let go, measure how far it comes back.",
    ),
    BenchStep("Spring and collar on", "Both seats home all round, the collar as planned."),
    BenchStep(
        "Write the label on the cap",
        "Then what was read, the date and who built it into the build file.",
    ),
)


def bench_steps(dampers: Sequence[Damper]) -> tuple[BenchStep, ...]:
    """Return the steps for all dampers of a car; those of an emulsion differ."""
    return tuple(_steps(dampers))


def _steps(dampers: Sequence[Damper]) -> Iterator[BenchStep]:
    yield from _FIRST
    limited = any(d.limiter is None or d.limiter > 0.0 for d in dampers)
    limiter = "The limiter on the shaft first. " if limited else ""
    yield BenchStep(
        "Piston nut: snug, not crushed",
        f"{limiter}One small drop of thread-lock on clean threads; the piston does not rattle.",
        "threadlocked",
    )
    yield from _AFTER_PISTON
    yield from _EMULSION if dampers[0].style == "emulsion" else _BLADDER
    yield from _LAST
    if any(d.arrives_by_air for d in dampers):
        yield BenchStep(
            "After the flight: let them rest, bleed again",
            "Upright until no more bubbles rise: air came out of the oil on the way.",
        )
