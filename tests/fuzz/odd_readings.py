"""Readings as someone might write them, sound ones and others, from a source of chances."""

from __future__ import annotations

import random

from buildlint.files.unit_sizes import SIZES

__all__ = ["odd_reading", "odd_text", "spoilt"]

_NO_UNITS = "SUS wt W weight mm³ mm²/s mPa·s °C µm μm ″ 1/K /K deg ° Ohm %% mm^ K/1 m\u00a0m"
_UNITS = (*sorted({u for units in SIZES.values() for u in units}), *_NO_UNITS.split(" "), "m m")
_SIGNS = ("", "", "", "", "-", "+", "−", "--", "±")
_BETWEEN = ("±", " ± ", "+/-", " +/- ", "+-", " +− ", "+/−", "±±", " - ", " + ", "∓")
_SPACES = ("", " ", " ", " ", "  ", "\t", "\u00a0", "\u2009", "\n", "\u3000", "\u200b")
_WHOLE = ("0", "00", "1", "3", "7", "16", "25", "450", "99999", "1" * 19, "9" * 60, "0" * 50)
_LETTERS = (
    "0123456789.,/-+eE ±%()xX×mcsltKdegCFinPah^\"'\\_*"
    "\x00\x07\x1b\x7f\x85\u00a0\u00ad\u0301\u0660\u0663\u200b\u200f\u202e\u2028\u2212\u2215"
    "\ufeff\ufffe\ud800\udfff\uff11\U0001f527½Ⅷ²³µμ°″′"
)


def odd_reading(chance: random.Random) -> str:
    """Give a reading: mostly of the grammar, now and then spoilt in a letter or two."""
    if chance.random() < 0.1:
        return odd_text(chance)
    text = _one(chance)
    if chance.random() < 0.4:
        text += chance.choice(_BETWEEN) + _one(chance)
    if chance.random() < 0.1:
        text = f"({text}){chance.choice(_SPACES)}{chance.choice(_UNITS)}"
    if chance.random() < 0.1:
        text = f"{chance.choice(('1', '4', '0', '999', '1000', '٣', ''))} x {text}"
        while chance.random() < 0.4:
            text += f" + {chance.randrange(12)} x {_one(chance)}"
    if chance.random() < 0.3:
        text = spoilt(chance, text)
    return text


def odd_text(chance: random.Random) -> str:
    """Give a text of letters that mean something to a reading, and of others that never should."""
    letters = _LETTERS if chance.random() < 0.8 else "".join(map(chr, range(0x250)))
    return "".join(chance.choices(letters, k=int(chance.expovariate(0.1))))


def spoilt(chance: random.Random, text: str) -> str:
    """Give the text with a letter or two left out, put in or exchanged."""
    for _ in range(chance.randint(1, 3)):
        at = chance.randint(0, len(text))
        put = chance.choice(("", chance.choice(_LETTERS), text[at : at + 3] * 2))
        text = text[:at] + put + text[at + chance.randint(0, 2) :]
    return text


def _one(chance: random.Random) -> str:
    return (
        chance.choice(_SIGNS) + _number(chance) + chance.choice(_SPACES) + chance.choice(_UNITS)
        if chance.random() < 0.9
        else chance.choice(_SIGNS) + _number(chance)
    )


def _number(chance: random.Random) -> str:
    form = chance.randrange(12)
    if form < 5:
        return f"{chance.uniform(0, 10 ** chance.randint(0, 4)):.{chance.randint(0, 3)}f}"
    whole, other = chance.choice(_WHOLE), chance.choice(_WHOLE)
    return (
        f"{whole}/{other}",
        f"{chance.randint(0, 9)} {whole}/{other}",
        f"{whole}e{chance.randint(-400, 400)}",
        f"{whole}.{other}E{chance.choice(('', '+', '-', '−'))}{chance.randint(0, 30)}",
        f".{whole}",
        f"{whole}.",
        chance.choice(("nan", "inf", "-inf", "1_000", "0x10", "1e", "e5", "1,5", "١٢", "½", "")),
    )[form - 5]
