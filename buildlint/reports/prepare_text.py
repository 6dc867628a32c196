"""What is to be done before an event, as people read it, in text and as a page to print."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from buildlint.judging.prepare import CarReady, Preparation, ToPack
from buildlint.text.words import clean, counted, listed
from buildlint.text.wrapping import wrapped

__all__ = ["prepare_html", "prepare_text"]

_CAUTION = (
    "Caution: a damper that is hot or locked may be under pressure: let it cool, wear eye "
    "protection, open it slowly, pointing away from everyone. The maker's instructions and the "
    "event's rules come first."
)


def prepare_text(found: Preparation) -> str:
    """Return what is to be done before an event: cars, what is due, what to pack."""
    lines = [_title(found)]
    for head, rows in _sections(found):
        lines += ["", head]
        for name, said in rows:
            first = f"  {name:<16}" if len(name) < 16 else f"  {name}  "
            lines += wrapped(said[0], 18, first=first)
            for more in said[1:]:
                lines += wrapped(more, 20, first=" " * 18)
    if found.due:
        lines += ["", *wrapped(_CAUTION, 0)]
    return "\n".join([*lines, "", *wrapped(_sum(found), 0)]) + "\n"


def prepare_html(found: Preparation) -> str:
    """Return the same as a page to print, with a box to tick before each line."""
    parts = []
    for head, rows in _sections(found):
        items = "\n".join(_item(name, said) for name, said in rows)
        parts.append(f"<h2>{escape(head)}</h2>\n<ul>\n{items}\n</ul>")
    if found.due:
        parts.append(f'<p class="caution">{escape(_CAUTION)}</p>')
    title = escape(_title(found))
    body = "\n".join(parts)
    return _PAGE.format(title=title, style=_STYLE, sum=escape(_sum(found)), body=body)


def _item(name: str, said: tuple[str, ...]) -> str:
    first, *more = map(escape, said)
    rest = "".join(f"<br>{text}" for text in more)
    box = '<input type="checkbox" autocomplete="off">'
    return f"<li><label>{box} <span><b>{escape(name)}</b> {first}{rest}</span></label></li>"


_STYLE = """\
html { font: 16px/1.4 system-ui, sans-serif; color: #000; background: #fff; }
body { max-width: 48rem; margin: 0 auto; padding: 1rem; overflow-wrap: anywhere; }
h1 { font-size: 1.5rem; line-height: 1.2; }
h2 { font-size: 1.2rem; border-bottom: 2px solid #000; break-after: avoid; }
ul { list-style: none; padding: 0; }
li { break-inside: avoid; }
label { display: flex; gap: 0.6rem; padding: 0.5rem 0; }
input { flex: none; width: 1.5rem; height: 1.5rem; margin: 0; }
.sum { font-weight: 700; }
.caution { border: 2px solid #000; padding: 0.5rem 0.7rem; }
@page { size: A4; margin: 14mm; }
@media print { body { padding: 0; } html { font-size: 11pt; } label { padding: 0.15rem 0; } }
"""

_PAGE = """\
<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
{style}</style>
</head>
<body>
<main>
<h1>{title}</h1>
<p class="sum">{sum}</p>
{body}
</main>
</body>
</html>
"""


# --- what both say -------------------------------------------------------------------------------

_Rows = list[tuple[str, tuple[str, ...]]]


def _title(found: Preparation) -> str:
    named = f"{clean(found.name)} ({clean(found.event)})" if found.name else clean(found.event)
    return f"{named}, {found.on}" if found.on else named


def _sections(found: Preparation) -> Iterator[tuple[str, _Rows]]:
    yield "Cars", [(clean(car.car), tuple(_car(car))) for car in found.cars]
    if found.due:
        yield "Due", [(clean(due.build), (clean(due.text),)) for due in found.due]
    yield "To pack", [(each.kind, (_to_pack(each),)) for each in found.pack]


def _car(car: CarReady) -> Iterator[str]:
    build = f"{clean(car.build)}: " if car.build is not None else ""
    yield f"{build}ready" if car.ready else f"{build}NOT READY: {clean(car.why[0])}"
    yield from map(clean, car.why[1:])
    if car.borderline:
        yield f"borderline: {'; '.join(map(clean, car.borderline))}"
    if car.not_checked and car.life != "plan":
        yield f"not checked, so not known to hold: {'; '.join(map(clean, car.not_checked))}"


def _to_pack(each: ToPack) -> str:
    what = clean(each.id)
    if each.ml is not None:
        about = "about " if each.estimated else ""
        more = " and more: not known for some dampers" if each.not_known else ""
        what += f", {about}{each.ml} ml{more}, one refill"
    else:
        what += ", one spare"
    return f"{what}: {listed([*map(clean, each.cars)])}"


def _sum(found: Preparation) -> str:
    ready = sum(car.ready for car in found.cars)
    mistakes = len(found.mistakes)
    also = f" {counted(mistakes, 'mistake')} in the files." if mistakes else ""
    return f"{ready} of {counted(len(found.cars), 'car')} ready.{also}"
