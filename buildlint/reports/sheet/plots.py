"""The plots of the bench sheet as SVG: told apart by line style and by labels, not by colour.

matplotlib draws them. No text of a user's is in them, and the same points give the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Literal

from buildlint.judging.curves import Curve, Forces, Room, Thinning
from buildlint.reports.sheet.wording import number, within

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["force_plot", "room_plot", "thinning_plot"]

# Of each condition: line style, colour. The colours keep 4.5 : 1 against white, for text too.
_LOOK: dict[str, tuple[Any, str]] = {
    "cold": ((0, (5, 2)), "#00588f"),
    "bench": ("solid", "#000000"),
    "hot": ((0, (5, 1.5, 1, 1.5)), "#a03c00"),
}
_FIRST_LOOKS: tuple[tuple[Any, str], ...] = (
    ("solid", "#000000"),
    ((0, (5, 2)), "#00588f"),
    ((0, (5, 1.5, 1, 1.5)), "#a03c00"),
    ((0, (1, 1.2)), "#444444"),
)
_GREY, _PALE = "#595959", "#e4e4e4"

_SIZE = (3.6, 2.25)  # inches: two stand side by side on A4
_WIDE = (7.3, 1.9)

_SETTINGS: dict[str, Any] = {
    "font.family": ["DejaVu Sans"],  # comes with matplotlib
    "font.size": 8.0,
    "axes.linewidth": 0.6,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "hatch.linewidth": 0.5,
    "lines.linewidth": 1.4,
    "svg.fonttype": "path",
    "svg.hashsalt": "buildlint",
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
}


def room_plot(found: Room, planned: Sequence[tuple[float, float, float]], name: str) -> str:
    """Draw the use of the bladder's room each way against hold-back.

    `planned` are the hold-backs planned, each with its least and most (m); `name` is what the ids
    in the drawing begin with.
    """

    uses = [y for curve in (*found.into_body, *found.into_cap) for _, y in curve.points]
    stroke, top = found.stroke_left * 1e3, min(max(1.18, max(uses) * 1.08), 2.0) * 100.0
    side = stroke * 0.46

    def draw(axes: Axes) -> None:
        axes.set_xlim(-side, stroke + side)
        axes.set_ylim(0.0, top)
        axes.set_xticks([t for t in axes.get_xticks() if -1e-9 <= t <= stroke + 1e-9])
        axes.set_xlabel("hold-back, mm")
        axes.set_ylabel("use of the room, %")
        _draw_window(axes, found, stroke, top)
        for value, low, high in planned:
            axes.axvspan(low * 1e3, high * 1e3, facecolor="#c4c4c4", linewidth=0, alpha=0.6)
            axes.plot([value * 1e3] * 2, [0.0, top], color="black", linewidth=0.8)
        axes.plot([0.0, stroke], [100.0, 100.0], color=_GREY, linewidth=1.0)
        for curves, way, align in (
            (found.into_body, "body", "right"),
            (found.into_cap, "cap", "left"),
        ):
            _draw_uses(axes, curves, way, align, stroke, top)
        # above the lines, each to its own side
        middle = sum(v for v, _, _ in planned) / len(planned) * 1e3 if planned else 0.0
        left_half = middle <= stroke / 2.0
        if planned:
            texts = dict.fromkeys(number(v * 1e3) for v, _, _ in planned)
            said = f"planned {' / '.join(texts)}"
            _above(axes, middle, top, said, "right" if left_half and middle > 0.0 else "left")
        if found.window is not None:
            edge = stroke + side if left_half else -side
            said = f"holds, {within(*found.window)}"
            _above(axes, edge, top, said, "right" if left_half else "left")

    return _svg(draw, _SIZE, name)


def _draw_window(axes: Axes, found: Room, stroke: float, top: float) -> None:
    """Hatch the hold-backs that do not work, and draw a bar over those that do."""
    window = found.window
    outside = [(0.0, window[0] * 1e3), (window[1] * 1e3, stroke)] if window else [(0.0, stroke)]
    for start, end in outside:
        if end - start > 1e-6 * stroke:
            axes.axvspan(
                start, end, facecolor="none", edgecolor="#9a9a9a", hatch="///", linewidth=0
            )
    if window is not None:
        height = 100.0 + (top - 100.0) * 0.3
        axes.plot([window[0] * 1e3, window[1] * 1e3], [height] * 2, color="black", linewidth=2.6)
    else:
        words = "none is sure to hold"
        axes.text(stroke / 2.0, top * 0.93, words, ha="center", va="top", bbox=_PAPER)


def _draw_uses(
    axes: Axes, curves: Sequence[Curve], way: str, align: str, stroke: float, top: float
) -> None:
    """Draw the use of the room one way at each condition, with its name at the outer end."""
    x, at = (0.0, 0) if way == "body" else (stroke, -1)
    ends = []
    for curve in curves:
        style, colour = _LOOK[curve.condition]
        xs, ys = _scaled(curve, 1e3, 100.0)
        axes.plot(xs, ys, linestyle=style, color=colour)
        ends.append((ys[at], f"{way} {curve.condition}", colour))
    _labels(axes, x, ends, align, top, 0.085)


_PAPER = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}


def thinning_plot(found: Sequence[tuple[str, Thinning]], name: str) -> str:
    """Draw the viscosity of some oils against temperature, each with a name for its line."""

    def draw(axes: Axes) -> None:
        highest = max(y for _, oil in found for _, y in oil.points) * 1e6 * 1.12
        axes.set_ylim(0.0, highest)
        first, last = (found[0][1].points[i][0] - 273.15 for i in (0, -1))
        axes.set_xlim(first, last + (last - first) * 0.2)
        axes.set_xticks([t for t in axes.get_xticks() if first - 1e-9 <= t <= last + 1e-9])
        axes.set_xlabel("oil temperature, °C")
        axes.set_ylabel("viscosity, cSt")
        marks = {c: t - 273.15 for c, t in found[0][1].marks}
        if "cold" in marks and "hot" in marks:
            cold, hot = marks["cold"], marks["hot"]
            axes.axvspan(cold, hot, facecolor=_PALE, linewidth=0)
            axes.text(
                hot,
                highest * 0.03,
                f"the event's oil, {number(cold, 3)} to {number(hot, 3)} °C ",
                ha="right",
                va="bottom",
            )
        if "bench" in marks:
            bench = marks["bench"]
            axes.plot([bench] * 2, [0.0, highest], color=_GREY, linewidth=0.9, linestyle=":")
            axes.text(
                bench, highest * 1.01, f"bench {number(bench, 3)} °C", ha="center", va="bottom"
            )
        ends = []
        for (words, oil), (style, colour) in zip(found, _FIRST_LOOKS, strict=False):
            xs, ys = [t - 273.15 for t, _ in oil.points], [y * 1e6 for _, y in oil.points]
            axes.plot(xs, ys, linestyle=style, color=colour)
            ends.append((ys[-1], words, colour))
        _labels(axes, last, ends, "left", highest, 0.085)

    return _svg(draw, _WIDE, name)


def force_plot(found: Forces, name: str) -> str:
    """Draw the force against shaft speed, in to the upper right and out to the lower left."""

    def draw(axes: Axes) -> None:
        forces = [y for curve in found.curves for _, y in curve.points]
        low, high = min(forces) * 1.1, max(forces) * 1.75
        axes.set_ylim(low, high)
        axes.set_xlim(-found.fastest * 1.45, found.fastest * 1.05)
        axes.set_xticks([t for t in axes.get_xticks() if abs(t) <= found.fastest + 1e-9])
        axes.set_xlabel("shaft speed, m/s:  out below 0, in above")
        axes.set_ylabel("force, N")
        axes.axhline(0.0, color=_GREY, linewidth=0.6)
        axes.axvline(0.0, color=_GREY, linewidth=0.6)
        ends = []
        for curve in found.curves:
            style, colour = _LOOK[curve.condition]
            xs, ys = _scaled(Curve(curve.condition, curve.points), 1.0, 1.0)
            axes.plot(xs, ys, linestyle=style, color=colour)
            ends.append((ys[0], curve.condition, colour))
            if curve.speed < found.fastest:
                axes.plot(
                    [curve.speed],
                    [curve.ceiling],
                    marker="o",
                    markersize=4.5,
                    markerfacecolor="white",
                    markeredgecolor=colour,
                )
        _labels(axes, -found.fastest, ends, "right", high - low, 0.085, low)
        axes.text(
            found.fastest * 1.03,
            max(forces) + (high - low) * 0.04,
            "○ can cavitate: the ceiling going in",
            ha="right",
            va="bottom",
        )
        axes.text(found.fastest * 0.6, low * 0.06, "in →", ha="center", va="top")
        axes.text(-found.fastest * 0.6, high * 0.05, "← out", ha="center", va="bottom")

    return _svg(draw, _SIZE, name)


def _above(axes: Axes, x: float, top: float, words: str, align: Literal["left", "right"]) -> None:
    axes.text(x, top * 1.01, words, ha=align, va="bottom")


# --- what they share -----------------------------------------------------------------------------


def _scaled(curve: Curve, across: float, up: float) -> tuple[list[float], list[float]]:
    return [x * across for x, _ in curve.points], [y * up for _, y in curve.points]


def _labels(
    axes: Axes,
    x: float,
    ends: Sequence[tuple[float, str, str]],
    align: str,
    height: float,
    apart: float,
    bottom: float = 0.0,
) -> None:
    """Write a label at the end of each line, moved apart where lines end close together."""
    order = sorted(ends)
    gap = height * apart
    least = bottom + gap / 2.0
    most = bottom + height - gap / 2.0
    places = [min(max(y, least), most) for y, _, _ in order]
    for _ in range(60):
        for i in range(1, len(places)):
            short = gap - (places[i] - places[i - 1])
            if short > 1e-9:
                places[i - 1] -= short / 2.0
                places[i] += short / 2.0
        places = [min(max(p, least), most) for p in places]
    space = " " if align == "left" else ""
    for place, (_, words, colour) in zip(places, order, strict=True):
        text = f"{space}{words}{'' if space else ' '}"
        axes.text(x, place, text, color=colour, ha=align, va="center")


def _svg(draw: Callable[[Axes], None], size: tuple[float, float], name: str) -> str:
    """Draw on an empty figure, and give it as SVG to stand in a page."""
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with matplotlib.rc_context():
        matplotlib.rcdefaults()  # whatever a matplotlibrc of the user's says
        settings: Any = matplotlib.rcParams
        settings.update(_SETTINGS)
        figure = Figure(figsize=size, layout="constrained")
        FigureCanvasSVG(figure)
        draw(figure.add_subplot())
        out = io.StringIO()
        figure.savefig(out, format="svg", transparent=True, metadata={"Date": None})
    return _for_page(out.getvalue(), name)


def _for_page(svg: str, name: str) -> str:
    """Make a whole SVG file fit to stand in a page: no header, no outside names, ids of its own."""
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    svg = re.sub(r"<style[^>]*>.*?</style>", "", svg, flags=re.DOTALL)
    svg = re.sub(r' xmlns(:\w+)?="[^"]*"', "", svg).replace("xlink:href=", "href=")
    used = set(re.findall(r'href="#([^"]+)"', svg)) | set(re.findall(r"url\(#([^)]+)\)", svg))

    def named(match: re.Match[str]) -> str:
        return f' id="{name}-{match[1]}"' if match[1] in used else ""

    svg = re.sub(r' id="([^"]*)"', named, svg)
    svg = re.sub(r'href="#', f'href="#{name}-', svg)
    svg = re.sub(r"url\(#", f"url(#{name}-", svg)
    head, _, body = svg.partition(">")
    box = re.search(r'viewBox="[^"]*"', head)
    assert box is not None
    return f'<svg {box[0]} aria-hidden="true" focusable="false">{body.strip()}'
