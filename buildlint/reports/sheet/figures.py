"""The figures of the bench sheet: each a plot with its words, or the words for what is missing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from buildlint.judging.curves import Missing, Thinning, forces, room, thinning
from buildlint.measures.damper import Damper
from buildlint.reports.sheet.captions import (
    force_words,
    missing_words,
    room_words,
    thinning_words,
)
from buildlint.text.words import clean

__all__ = ["SheetFigure", "car_figures", "end_figures"]


@dataclass(frozen=True, slots=True)
class SheetFigure:
    """A plot: its id in the page, its title, the drawing (none where it cannot be drawn), words."""

    name: str
    title: str
    drawing: str
    words: str


def end_figures(
    pair: Sequence[Damper], window: tuple[float, float] | None
) -> Iterator[SheetFigure]:
    """Return the figures of one end: the bladder's room, and the force, for each side that differs.

    `window` are the hold-backs between which every must that they enter holds, if any. Left and
    right share a figure where they differ in what they were read at only.
    """
    yield from _rooms(pair, window)
    yield from _forces(pair)


def _name(pair: Sequence[Damper], what: str) -> tuple[str, str]:
    """Return the id of a figure, and whose it is: of an end, or of one side of it."""
    end = pair[0].end
    if len(pair) > 1:
        return f"{end}-{what}", end
    return f"{end}-{pair[0].side}-{what}", f"{end} {pair[0].side}"


def _rooms(pair: Sequence[Damper], window: tuple[float, float] | None) -> Iterator[SheetFigure]:
    if pair[0].style == "emulsion":
        name, whose = _name(pair, "room")
        title = f"{whose}: room of the bladder"
        yield SheetFigure(name, title, "", "Not drawn: an emulsion has no bladder.")
        return
    from buildlint.reports.sheet.plots import room_plot

    found = [room(damper) for damper in pair]
    for here in [pair] if found[0] == found[1] else [[pair[0]], [pair[1]]]:
        curves = found[list(pair).index(here[0])]
        name, whose = _name(here, "room")
        title = f"{whose}: room of the bladder against hold-back"
        if isinstance(curves, Missing):
            yield SheetFigure(name, title, "", missing_words(curves))
            continue
        least, most = window or (curves.stroke_left, 0.0)
        curves = replace(curves, smallest=least, largest=most)
        planned = dict.fromkeys(
            (d.hold_back, *d.spread.get("hold_back", (d.hold_back, d.hold_back)))
            for d in here
            if d.hold_back is not None and "hold_back" not in d.refused
        )
        drawing = room_plot(curves, tuple(planned), name)
        yield SheetFigure(name, title, drawing, room_words(curves, here))


def _forces(pair: Sequence[Damper]) -> Iterator[SheetFigure]:
    from buildlint.reports.sheet.plots import force_plot

    found = [forces(damper) for damper in pair]
    for here in [pair] if found[0] == found[1] else [[pair[0]], [pair[1]]]:
        curves = found[list(pair).index(here[0])]
        name, whose = _name(here, "force")
        title = f"{whose}: force against shaft speed"
        if isinstance(curves, Missing):
            yield SheetFigure(name, title, "", missing_words(curves))
        else:
            drawing = force_plot(curves, name)
            yield SheetFigure(name, title, drawing, force_words(curves, here[0]))


def car_figures(dampers: Sequence[Damper]) -> Iterator[SheetFigure]:
    """Return the figure of all oils in the car, each once, against temperature."""
    title = "Viscosity of the oils against temperature"
    lines: dict[Thinning, list[Damper]] = {}
    missing: dict[str, None] = {}
    for damper in dampers:
        found = thinning(damper)
        if isinstance(found, Missing):
            missing.update(dict.fromkeys(found.names))
        else:
            lines.setdefault(found, []).append(damper)
    left_out = missing_words(Missing(tuple(missing))) if missing else ""
    if not lines:
        yield SheetFigure("oils", title, "", left_out or "Not drawn: no damper is known.")
        return
    from buildlint.reports.sheet.plots import thinning_plot

    drawing = thinning_plot([(_where(of), oil) for oil, of in lines.items()], "oils")
    words = [
        thinning_words(f"{_where(of)} ({clean(of[0].oil or 'oil')})", oil)
        for oil, of in lines.items()
    ]
    if left_out:
        words.append(f"Some oil: {left_out[0].lower()}{left_out[1:]}")
    yield SheetFigure("oils", title, drawing, " ".join(words))


def _where(dampers: Sequence[Damper]) -> str:
    """Say which dampers of a car some are, as shortly as can be.

    >>> _where([Damper(end="front", side="left"), Damper(end="front", side="right")])
    'front'
    """
    said = []
    for end in ("front", "rear"):
        sides = [d.side for d in dampers if d.end == end]
        if len(sides) == 2:
            said.append(end)
        elif sides:
            said.append(f"{end} {sides[0]}")
    return " and ".join(said)
