"""TOML that is nearly right: a good file with something in it changed, left out, doubled, moved."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence

from tests.fuzz.odd_readings import odd_reading, odd_text, spoilt

__all__ = ["mutated", "odd_bytes", "quoted"]

_KEY = re.compile(r"^(\s*)([\w.\"'-]+)(\s*=\s*)(.*)$")
_VALUE_TEXT = r"""
0 -0 1 -1 7 60 0.65 1e400 -1e400 nan -nan inf +inf 1_000 0x7f 0o7 0b1 1e-320 true false
2027-06-05 2027-13-05 2027-02-30 0001-01-01 9999-12-31 07:32:00 24:00:00 05.06.2027 06/05/27
1979-05-27T07:32:00Z 2027-06-05T25:00:00 2027-06-05T00:32:00-23:59 0000-01-01 = [ nothing '
"x" [] [[]] {} [{}] [1] ["bled"] ["bled","bled"] [1,"a"] {a=1} {a={b={}}} '' '''a''' '''
"\u001b[31m" "\ud800" "\U0010ffff" "\q" "\u0000" "\u202e" "heron" "front" "car" "±" "#" "must"
"exactly" "100\u0020%" "5\u0020mm" "5\u0020cSt" "5\u0020%" "5mm"
"""
_VALUES = (*_VALUE_TEXT.split(), '""', '" "', '"""a\nb"""', '"""')
_LINES = (
    "[front]",
    "[[front]]",
    "[front.left]",
    "[front.left.left]",
    "[rear.right]",
    "[oil.o450]",
    "[oil]",
    "[[oil.o450]]",
    "[body.'']",
    '["front"]',
    "[ front . left ]",
    "[.]",
    "[]",
    "[[concession]]",
    '[change."pair/length"]',
    "[change.pair.length]",
    "[only]",
    "[[bands]]",
    "front.left.hold_back = '6 mm'",
    "front = 1",
    "front.left = []",
    'front = { piston = "four-18", left = { oil = "o450" } }',
    "= 1",
    "a",
    "a =",
    '"',
    "'''",
    '"""',
    "]",
    "}",
    "#",
    "# ± \u202e",
    "leave_out = true",
    'level = "should"',
    "\ufeff",
    "\x0b",
)
_LETTERS = "\"'[]{}=#,.\\\n\r\t _-+0123456789eE\x00\x01\x1b\x7f\x85\u00a0\u0301\u2028\u202e\ufeff"
_ENDINGS = ("\n", "\r\n", "\r", "\n\r", "\u2028", "\x0c\n")


def quoted(text: str) -> str:
    """Give the text as a basic string of TOML, where its letters can stand in one."""
    escaped = "".join(
        f"\\{c}" if c in '"\\' else f"\\u{ord(c):04x}" if c < " " or c == "\x7f" else c
        for c in text
        if not "\ud800" <= c <= "\udfff"
    )
    return f'"{escaped}"'


def mutated(chance: random.Random, good: str, others: Sequence[str] = ()) -> bytes:
    """Give a good file with one or a few things in it changed; `others` lend it their lines."""
    lines = good.split("\n")
    for _ in range(1 + int(chance.expovariate(0.7))):
        change = chance.choice(_CHANGES)
        change(chance, lines)
    if others and chance.random() < 0.15:
        lend = chance.choice(others).split("\n")
        at, start = chance.randint(0, len(lines)), chance.randrange(len(lend))
        lines[at:at] = lend[start : start + chance.randint(1, 12)]
    return _as_bytes(chance, "\n".join(lines))


def odd_bytes(chance: random.Random) -> bytes:
    """Give bytes that were never a file of ours."""
    form = chance.randrange(5)
    length = int(chance.expovariate(0.01))
    if form == 0:
        return chance.randbytes(length)
    if form == 1:
        return "".join(chance.choices(_LETTERS, k=length)).encode("utf-8", "surrogatepass")
    if form == 2:
        lines = (chance.choice(_LINES) for _ in range(length // 10 + 1))
        return "\n".join(lines).encode()
    if form == 3:
        return chance.choice((b"[", b"a.", b"{a=", b"[[a", b'"', b"'''", b"a=[", b"#")) * length
    return odd_text(chance).encode("utf-8", "surrogatepass")


# --- one change ----------------------------------------------------------------------------------

_Change = Callable[[random.Random, list[str]], None]


def _at(chance: random.Random, lines: list[str]) -> int:
    if not lines:
        lines.append("")
    return chance.randrange(len(lines))


def _with_key(chance: random.Random, lines: list[str]) -> tuple[int, re.Match[str]] | None:
    """Give a line that holds a key, and what stands in it."""
    for _ in range(8):
        at = _at(chance, lines)
        match = _KEY.match(lines[at])
        if match is not None:
            return at, match
    return None


def _drop(chance: random.Random, lines: list[str]) -> None:
    at = _at(chance, lines)
    del lines[at : at + chance.choice((1, 1, 1, 2, 5, 100))]


def _double(chance: random.Random, lines: list[str]) -> None:
    at = _at(chance, lines)
    some = lines[at : at + chance.choice((1, 1, 1, 3, 10))]
    to = at if chance.random() < 0.5 else _at(chance, lines)
    lines[to:to] = some


def _move(chance: random.Random, lines: list[str]) -> None:
    line = lines.pop(_at(chance, lines))
    lines.insert(chance.randint(0, len(lines)), line)


def _put_line(chance: random.Random, lines: list[str]) -> None:
    lines.insert(chance.randint(0, len(lines)), chance.choice(_LINES))


def _new_value(chance: random.Random, lines: list[str]) -> None:
    found = _with_key(chance, lines)
    if found is not None:
        at, match = found
        lines[at] = match[1] + match[2] + match[3] + _value(chance)


def _value(chance: random.Random) -> str:
    form = chance.randrange(20)
    if form < 9:
        return chance.choice(_VALUES)
    if form < 15:
        return quoted(odd_reading(chance))
    if form == 15:
        return quoted(odd_text(chance))
    if form == 16:
        return "[" * (deep := chance.choice((2, 17, 200, 3000))) + "]" * deep
    if form == 17:
        return "{a=" * (deep := chance.choice((2, 17, 200, 3000))) + "1" + "}" * deep
    if form == 18:
        return chance.choice("-+ 1") + "9" * chance.choice((18, 20, 400, 4301, 20_000))
    one = chance.choice(("x", "é", "👩\u200d🔧", "a" * 39 + "é", " "))
    return quoted(one * chance.choice((40, 3000)))


def _swap_values(chance: random.Random, lines: list[str]) -> None:
    one, other = _with_key(chance, lines), _with_key(chance, lines)
    if one is not None and other is not None:
        (a, first), (b, second) = one, other
        lines[a] = first[1] + first[2] + first[3] + second[4]
        lines[b] = second[1] + second[2] + second[3] + first[4]


def _inside_text(chance: random.Random, lines: list[str]) -> None:
    """Spoil what stands between quotes: a reading, an id, a step."""
    at = _at(chance, lines)
    texts = list(re.finditer(r'"([^"\\]*)"', lines[at]))
    if texts:
        text = chance.choice(texts)
        new = quoted(spoilt(chance, text[1]) if chance.random() < 0.6 else odd_reading(chance))
        lines[at] = lines[at][: text.start()] + new + lines[at][text.end() :]


def _new_key(chance: random.Random, lines: list[str]) -> None:
    found = _with_key(chance, lines)
    if found is None:
        return
    at, match = found
    key = match[2]
    form = chance.randrange(8)
    if form < 3:
        key = spoilt(chance, key)
    elif form == 3:
        key += "." + chance.choice(("left", "a", key, "0", '""'))
    elif form == 4:
        key = ".".join([key] * chance.choice((2, 20, 400)))
    elif form == 5:
        key = quoted(chance.choice((key, odd_text(chance), "", " ", "a.b", "x" * 500, "\x1b[2J")))
    elif form == 6:
        key = chance.choice(
            ("front", "rear.left", "note", "at", "viscosity", "leave_out", "is", "1", "é")
        )
    else:
        other = _with_key(chance, lines)
        key = other[1][2] if other is not None else key
    lines[at] = match[1] + key + match[3] + match[4]


def _new_head(chance: random.Random, lines: list[str]) -> None:
    heads = [at for at, line in enumerate(lines) if line.startswith("[")]
    if not heads:
        return
    at = chance.choice(heads)
    inside = lines[at].partition("]")[0].strip("[] ")
    lines[at] = chance.choice(
        (
            f"[[{inside}]]",
            f"[{inside}.{inside}]",
            f"[{spoilt(chance, inside)}]",
            f"[{quoted(inside)}]",
            f"[{inside}.{quoted(odd_text(chance))}]",
            f"[{inside.partition('.')[0]}]",
            f"[{'.'.join([inside] * 40)}]",
            f"[{inside}",
            f"{inside} = {{}}",
            f"{inside} = {{",
        )
    )


def _letter(chance: random.Random, lines: list[str]) -> None:
    at = _at(chance, lines)
    column = chance.randint(0, len(lines[at]))
    put = chance.choice(_LETTERS) if chance.random() < 0.7 else ""
    lines[at] = lines[at][:column] + put + lines[at][column + chance.randint(0, 1) :]


def _many(chance: random.Random, lines: list[str]) -> None:
    """Write some lines again and again: as they are, or each with a number."""
    if chance.random() > 0.1:
        return
    at = _at(chance, lines)
    some = lines[at : at + chance.randint(1, 4)]
    times = chance.choice((10, 100, 100, 1000))
    numbered = chance.random() < 0.7
    new = [
        re.sub(r"([\w-])(\]|\s*=)", rf"\g<1>{n}\g<2>", line, count=1) if numbered else line
        for n in range(times)
        for line in some
    ]
    lines[at:at] = new


_CHANGES: Sequence[_Change] = (
    _drop,
    _double,
    _move,
    _put_line,
    *[_new_value] * 4,
    _swap_values,
    *[_inside_text] * 4,
    *[_new_key] * 2,
    _new_head,
    _letter,
    _many,
)


def _as_bytes(chance: random.Random, text: str) -> bytes:
    form = chance.randrange(40)
    if form == 0:
        text = text.replace("\n", chance.choice(_ENDINGS))
    elif form == 1:
        text = "\ufeff" * chance.choice((1, 1, 2)) + text
    elif form == 2:
        return text.encode(chance.choice(("latin-1", "utf-16", "cp1252", "utf-7")), "replace")
    elif form == 3:
        text = text[: chance.randint(0, len(text))]
    elif form == 4:
        data = bytearray(text.encode("utf-8", "surrogatepass"))
        for _ in range(chance.randint(1, 4)):
            if data:
                data[chance.randrange(len(data))] = chance.randrange(256)
        return bytes(data)
    elif form == 5:
        text = text.replace("\n", "\r\n", chance.randint(1, 5))
    return text.encode("utf-8", "surrogatepass" if form == 6 else "replace")
