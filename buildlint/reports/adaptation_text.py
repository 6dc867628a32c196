"""A build carried to another event, as people read it: figures first, no more than a screen."""

from __future__ import annotations

from collections.abc import Iterator
from math import expm1, floor

from buildlint.judging.adapt import Adaptation, AdaptedEnd, Remaining
from buildlint.judging.adapt_blend import Blend
from buildlint.judging.adapt_end import Candidate
from buildlint.reports.advice import cautions
from buildlint.text.words import clean, counted, listed
from buildlint.text.wrapping import wrapped

__all__ = ["adaptation_text"]

# The columns of the table: what is changed, then the figures.
_NAME = 29

# Less than so much is not worth a line.
_NO_MATTER = 0.02


def adaptation_text(found: Adaptation) -> str:
    """Return what a build could be built with for another event, the best first, end by end."""
    there, here = (
        f"{clean(event)} ({round(cold, 1):g} to {round(hot, 1):g} degC)"
        for event, (cold, hot) in (
            (found.event, found.temperatures),
            (found.from_event, found.from_temperatures),
        )
    )
    lines = wrapped(f"{clean(found.build)} for {there}, to feel as at {here}", 4, first="")
    if found.bench_temperature is not None:
        text = (
            f"Holds only when both ends are sealed at {round(found.bench_temperature, 1):g} degC: "
            "at the temperature of the bench now a must fails, whatever is fitted. The plan says "
            "so under [bench]."
        )
        lines += ["", *wrapped(text, 0)]
    for end in (found.front, found.rear):
        lines += ["", *_end(end)]
    lines += ["", *wrapped(_together(found), 0)]
    for each in found.remaining:
        # a should of one end is told with its candidate
        if each.level == "must" or each.subject == "car" or each.rule.startswith("like/"):
            lines += _remaining(each)
    for caution in cautions(each.caution for each in found.remaining):
        lines += wrapped(caution, 0)
    lines += ["", *wrapped(_LEGEND.format(clean(found.from_event)), 0)]
    return "\n".join(lines) + "\n"


_LEGEND = (
    "In per cent: damping and force there against those at {}. Window: the hold-backs "
    "within which every must holds; chance: the least that one is kept. 1 has the "
    "fewest parts changed of all that come within 5 points of the nearest; = is as "
    "good as 1. -o NAME.build.toml writes 1 down as a plan."
)

_HEADING = (
    f"{'':{_NAME}}{'damping':>11}{'at 0.5 m/s':>13}{'held back':>13}",
    f"{'':{_NAME}}{'cold':>5}{'hot':>6}{'cold':>7}{'hot':>6}{'mm':>7}{'window':>12}{'chance':>8}",
)


def _end(end: AdaptedEnd) -> Iterator[str]:
    now, first = end.unchanged, end.candidates[0]
    parts = [clean(part) for part in (now.oil, now.piston, now.bladder) if part is not None]
    yield from wrapped(f"{listed(parts) or 'left and right unlike'}", 8, first=f"{end.end:<8}")
    yield from _HEADING
    if not _same(first, now):
        yield from _candidate("", now, now)
        if now.fails:
            fail = "fails or is" if len(now.fails) == 1 else "fail or are"
            yield from wrapped(f"there {listed(now.fails)} {fail} borderline", 6)
    if first.fails:
        yield "  none holds; this comes nearest:"
    for number, candidate in enumerate(end.candidates, 1):
        yield from _candidate("=" if candidate.as_good else f"{number}", candidate, now)
        if not candidate.bore_known:
            yield from wrapped(
                f"see that bladder {clean(candidate.bladder or '')} fits this bore", 6
            )
        if candidate.newly_fails:
            fail = "fails" if len(candidate.newly_fails) == 1 else "fail"
            yield from wrapped(f"but then {listed(candidate.newly_fails)} {fail}", 6)
    if end.least_error >= _NO_MATTER:
        least = f"{expm1(end.least_error) * 100.0:.0f} %"
        text = (
            f"No oil here, however thick, comes nearer than {least}: from cold to hot it thins by "
            "another ratio there."
        )
        yield from wrapped(text, 4)
    if end.blend is not None:
        yield from wrapped(_blend(end.blend), 4)


def _same(one: Candidate, other: Candidate) -> bool:
    return not one.changed and one.hold_back == other.hold_back


def _candidate(mark: str, found: Candidate, now: Candidate) -> Iterator[str]:
    parts = {kind: getattr(found, kind) for kind in found.changed}
    name = ", ".join(f"{kind} {clean(ident or '')}" for kind, ident in parts.items())
    if not parts:
        name = "nothing changed" if _same(found, now) else "another hold-back"
    figures = f"{_signed(found.cold):>5}{_signed(found.hot):>6}"
    figures += f"{_signed(found.force_cold):>7}{_signed(found.force_hot):>6}"
    held = f"{found.hold_back:.1f}" if found.hold_back is not None else ""
    window = "none" if found.hold_back is not None else ""
    if found.least is not None and found.most is not None:
        window = f"{found.least:.1f} - {found.most:.1f}"
    figures += f"{held:>7}{window:>12}{floor(found.chance * 100.0 + 1e-9):>8}"
    if len(name) <= _NAME - 4:
        yield f"{mark:>2}  {name:{_NAME - 4}}{figures}"
    else:
        yield from wrapped(name, 6, first=f"{mark:>2}  ")
        yield f"{'':{_NAME}}{figures}"


def _blend(found: Blend) -> str:
    mixed = " and ".join(
        f"{counted(tenths, 'part')} {clean(oil)}"
        for tenths, oil in zip(found.tenths, found.oils, strict=True)
    )
    return (
        f"Nearer, with the piston as now: {mixed}, cold {_signed(found.cold)} %, hot "
        f"{_signed(found.hot)} %. Mix it, give it an id in a parts file, then adapt again."
    )


def _together(found: Adaptation) -> str:
    balance = f"cold {_signed(found.balance_cold)} %, hot {_signed(found.balance_hot)} %"
    text = f"With 1 at both ends: front against rear {balance}; "
    if any(each.level == "must" for each in found.remaining):
        text += "this stays:"
    elif not found.holds:
        text += "not every must could be checked."
    elif found.remaining:
        text += "every must holds, but a should newly fails."
    else:
        text += "every must holds, and no should newly fails."
    if found.not_checked:
        text += f" Not checked: needs {clean(listed(found.not_checked))}."
    return text


def _remaining(found: Remaining) -> Iterator[str]:
    text = f"{found.verdict.upper()}  {found.subject.replace('.', ' ')}  {found.short}"
    yield from wrapped(f"{text}  ({clean(found.rule)})", 4, first="  ")


def _signed(share: float) -> str:
    text = f"{share * 100.0:+.0f}"
    return "0" if float(text) == 0.0 else text
