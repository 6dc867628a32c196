"""What to write on the caps, as people read it at the bench, on a phone or on paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from buildlint.judging.labels import BuildLabels, CapLabel
from buildlint.text.words import clean, listed, meant_for, shown
from buildlint.text.wrapping import wrapped

__all__ = ["labels_text"]

_IN = 6


def labels_text(found: BuildLabels) -> str:
    """Return what to write on each cap, what its label says now, and which caps disagree."""
    lines = [f"{clean(found.build)}  {meant_for(found.car, found.event)}"]
    for group in _alike(found.caps):
        lines += ["", *_cap(group)]
    lines += ["", *_sum(found.caps)]
    return "\n".join(lines) + "\n"


def _alike(caps: Sequence[CapLabel]) -> Iterator[list[CapLabel]]:
    """Put left and right of one end together where all is the same but the corner."""
    groups: dict[object, list[CapLabel]] = {}
    for cap in caps:
        end = cap.corner.split(".")[0]
        what = (end, cap.table, cap.lines, cap.label, cap.missing, cap.written)
        groups.setdefault((*what, cap.agrees, cap.disagreements, cap.not_checked), []).append(cap)
    yield from groups.values()


def _cap(group: list[CapLabel]) -> Iterator[str]:
    cap = group[0]
    end = cap.corner.split(".")[0]
    sides = " and ".join(c.corner.split(".")[1] for c in group)
    yield f"  {' and '.join(c.code for c in group)}   {end} {sides}"
    for line in cap.lines:
        yield f"{' ' * _IN}| {line}"
    if cap.missing:
        yield from wrapped(f"not given, so not written: {', '.join(cap.missing)}", _IN)
    yield from _now(cap)
    if cap.toml is not None:
        yield f"{' ' * _IN}for the build file, in {cap.table}:"
        # to be pasted: in one piece, however long
        yield f"{' ' * _IN}{cap.toml}"
    elif not cap.missing:
        yield from wrapped("the ids are too long for a label in the build file", _IN)


def _now(cap: CapLabel) -> Iterator[str]:
    """Say what the label in the file says, and how it agrees."""
    if cap.written is None:
        yield from wrapped("the build file has no label", _IN)
        return
    says = shown(cap.written)
    if cap.agrees is None:
        needs = listed(cap.not_checked)
        yield from wrapped(f"the label is {says}: not checked, needs {needs}", _IN)
    elif cap.agrees:
        yield from wrapped(f"the label is {says}: agrees", _IN)
    else:
        reasons = "; ".join(cap.disagreements)
        yield from wrapped(f"DISAGREES: the label is {says}, which {reasons}", _IN)


def _sum(caps: Sequence[CapLabel]) -> list[str]:
    wrong = [cap.code for cap in caps if cap.agrees is False]
    unsaid = [cap.code for cap in caps if cap.written is None]
    unknown = [cap.code for cap in caps if cap.written is not None and cap.agrees is None]
    if not caps:
        return wrapped("No caps: the build file says nothing about its dampers.", 0)
    lines = []
    if wrong:
        verb = "disagrees" if len(wrong) == 1 else "disagree"
        text = (
            f"{len(wrong)} of {len(caps)} caps {verb}: {', '.join(wrong)}. Find out which is "
            "right before you write a label again or paste a line: the damper, or the build file "
            "(buildlint rulebook bench/label)."
        )
        lines += wrapped(text, 0)
    elif not unsaid and not unknown:
        lines += ["All caps agree."]
    if unsaid:
        lines += wrapped(f"No label in the build file: {', '.join(unsaid)}.", 0)
    if unknown:
        lines += wrapped(f"Not checked: {', '.join(unknown)}.", 0)
    text = (
        "Holes and their size in mm, cSt at 25 degC, then the hold-back. The corner stands apart."
    )
    return [*lines, *wrapped(text, 0)]
