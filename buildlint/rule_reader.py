"""Read one rule from its TOML: the rule, or every mistake in it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from buildlint.damper import KEY_IN_PART
from buildlint.errors import RulebookError
from buildlint.files.places import Places
from buildlint.measures import MEASURES
from buildlint.measures.graph import stands_on
from buildlint.readings import Mistake, read, written
from buildlint.rule import ASKS, KEYS, ONLY, TEXTS, TURNABLE, Ask, Band, Rule
from buildlint.toml_file import read_toml
from buildlint.units import dimension_of
from buildlint.words import clean, nearest, shown, stands_at

__all__ = ["RuleReader", "read_rule"]

# A rule of many paragraphs has a twentieth of it.
_LARGEST = 100_000
_MOST_BANDS = 100


def read_rule(ident: str, path: Path, own: bool = False) -> Rule:
    """Read a rule from its file; raises RulebookError with every mistake in it.

    Of a team's `own` it is looked too whether what it has turned moves its measure: of those that
    ship the tests know.
    """
    data, raw = read_toml(path, _LARGEST, RulebookError)
    reader = RuleReader(ident, path, raw)
    rule = reader.rule()
    if own and rule is not None and rule.measure is not None:
        reader.check_turn(rule.turn, rule.measure, rule.by)
    if reader.mistakes or rule is None:
        places = Places(data)
        lines = []
        for keys, message in reader.mistakes:
            place = places.of_key(keys)
            lines.append(f"{stands_at(path, place.line, place.column)}: {message}")
        raise RulebookError(lines)
    return rule


class RuleReader:
    """Reads one rule; what is wrong gathers in `mistakes` with the keys where it stands."""

    def __init__(self, ident: str, path: Path, raw: dict[str, Any]) -> None:
        self.ident = ident
        self.path = path
        self.raw = raw
        self.mistakes: list[tuple[tuple[str, ...], str]] = []

    def rule(self) -> Rule | None:
        """Give the rule, or None where something in it is wrong."""
        raw = self.raw
        for key in raw:
            if key not in KEYS:
                near = nearest(key, KEYS)
                hint = f"; did you mean {near}?" if near else ""
                self._wrong((key,), f"{shown(key)} is not a key of a rule{hint}")
        texts = {key: self._text(key) for key in TEXTS}
        for key in ("title", "source", "why", "cure"):
            if not texts[key] and key not in {k for keys, _ in self.mistakes for k in keys[:1]}:
                self._wrong((), f"{key} is missing: every rule needs it")
        level = raw.get("level")
        if level not in ("must", "should"):
            self._wrong(("level",), 'level is "must" or "should"')
        measure, ask, by, bands = self.measured()
        turn = self._turn()
        only = self._only()
        if self.mistakes or level not in ("must", "should"):
            return None
        return Rule(
            id=self.ident,
            level=level,
            path=self.path,
            measure=measure,
            ask=ask,
            by=by,
            bands=bands,
            turn=turn,
            only=only,
            **texts,
        )

    def _wrong(self, keys: tuple[str, ...], message: str) -> None:
        self.mistakes.append((keys, message))

    def _text(self, key: str) -> str:
        given = self.raw.get(key, "")
        if not isinstance(given, str):
            self._wrong((key,), f"{key} is text in quotes")
            return ""
        return clean(" ".join(given.split()))

    def measured(self) -> tuple[str | None, Ask | None, str | None, tuple[Band, ...]]:
        """Give the measure, and what is asked of it: a limit, or bands by another measure."""
        raw = self.raw
        asks = [key for key in ASKS if key in raw]
        if self.ident.startswith("file/"):
            for key in ("measure", "by", "turn", *asks):
                if key in raw:
                    self._wrong((key,), f"{key}: a rule about files has no measure")
            return None, None, None, ()
        measure = self._measure("measure")
        if len(asks) != 1:
            what = f"this one has {' and '.join(asks)}" if asks else "this one has none"
            self._wrong(tuple(asks[1:2]), f"a rule asks one of {', '.join(ASKS)}; {what}")
            return measure, None, None, ()
        if measure is None:
            return None, None, None, ()
        if MEASURES[measure].of and asks[0] in ("same_within", "bands"):
            what = f"{measure} is a figure of the whole car: it has no left and right, and no bands"
            self._wrong((asks[0],), what)
            return measure, None, None, ()
        if asks[0] != "bands":
            if "by" in raw:
                self._wrong(("by",), "by goes with bands")
            return measure, self._ask(asks[0], raw[asks[0]], measure, ()), None, ()
        by = self._measure("by")
        if by is None:
            return measure, None, None, ()
        if MEASURES[by].unit in ("id", "yes") or MEASURES[by].of:
            self._wrong(("by",), f"{by} is not a figure of a damper, and bands go by such a figure")
            return measure, None, None, ()
        return measure, None, by, self._bands(measure, by)

    def _measure(self, key: str) -> str | None:
        name = self.raw.get(key)
        if name is None:
            needed = "every rule needs it" if key == "measure" else "bands go by a measure"
            self._wrong((), f"{key} is missing: {needed}")
            return None
        if not isinstance(name, str) or name not in MEASURES:
            near = nearest(name, MEASURES) if isinstance(name, str) else None
            hint = f"; did you mean {near}?" if near else ""
            self._wrong((key,), f"{shown(str(name))} is not a measure{hint}")
            return None
        return name

    def _ask(self, kind: str, given: Any, measure: str, above: tuple[str, ...]) -> Ask | None:
        keys = (*above, kind)
        if kind == "is":
            if given is not True:
                self._wrong(keys, "is takes true")
            if MEASURES[measure].unit != "yes":
                self._wrong(keys, f"{measure} is not a yes or no: it does not take is = true")
            return Ask(is_true=True, texts={"is": "true"})
        if kind == "one_of":
            if (
                not isinstance(given, list)
                or not given
                or not all(isinstance(g, str) and clean(g) == g for g in given)
            ):
                self._wrong(keys, "one_of takes a list of ids, each in quotes")
                return None
            if MEASURES[measure].unit != "id" or measure == "parts":
                self._wrong(keys, f"{measure} is not an id: it does not take one_of")
            return Ask(one_of=tuple(given), texts={"one_of": ", ".join(given)})
        if kind == "between":
            if not isinstance(given, list) or len(given) != 2:
                self._wrong(keys, 'between takes two limits, such as ["1 mm", "2 mm"]')
                return None
            low, high = (self._limit(g, measure, keys) for g in given)
            if low is not None and high is not None and low > high:
                self._wrong(keys, "the first limit is above the second")
            both = " and ".join(map(_as_written, given))
            return Ask(at_least=low, at_most=high, texts={"between": both})
        if kind == "same_within":
            return self._same_within(given, measure, keys)
        limit = self._limit(given, measure, keys)
        if kind == "at_least":
            return Ask(at_least=limit, texts={kind: _as_written(given)})
        return Ask(at_most=limit, texts={kind: _as_written(given)})

    def _same_within(self, given: Any, measure: str, keys: tuple[str, ...]) -> Ask | None:
        unit = MEASURES[measure].unit
        if given == "exactly":
            if unit == "yes":
                self._limit(given, measure, keys)
            elif unit != "id":
                self._wrong(keys, f"{measure} is a figure, not an id: give how much it may differ")
            return Ask(exactly=True, texts={"same_within": "exactly"})
        if isinstance(given, str) and given.strip().endswith("%") and unit not in ("1", "id"):
            limit, relative = self._reading(given, "share", keys), True
        else:
            limit, relative = self._limit(given, measure, keys), False
        if limit is not None and limit < 0.0:
            self._wrong(keys, "same_within cannot be below zero")
        texts = {"same_within": _as_written(given)}
        return Ask(same_within=limit, relative=relative, texts=texts)

    def _limit(self, given: Any, measure: str, keys: tuple[str, ...]) -> float | None:
        unit = MEASURES[measure].unit
        if unit == "id":
            self._wrong(keys, f'{measure} is an id: it takes same_within = "exactly", or one_of')
            return None
        if unit == "yes":
            self._wrong(keys, f"{measure} is a yes or no: it takes is = true")
            return None
        if not isinstance(given, str):
            self._wrong(keys, 'a limit is a reading in quotes, such as "6.4 mm"')
            return None
        for word in ("steps", "step") if unit == "step" else ():
            given = given.strip().removesuffix(word)
        dimension = "share" if unit in ("1", "step") else dimension_of(unit)[0]
        return self._reading(given, dimension, keys)

    def _reading(self, given: str, dimension: str, keys: tuple[str, ...]) -> float | None:
        try:
            if written(given).tolerance is not None:
                self._wrong(keys, f"{shown(given)}: a limit has no tolerance")
            return read(given, dimension).value
        except Mistake as mistake:
            self._wrong(keys, mistake.message)
            return None

    def _bands(self, measure: str, by: str) -> tuple[Band, ...]:
        given = self.raw["bands"]
        if not isinstance(given, list) or not given or not all(isinstance(b, dict) for b in given):
            example = '[{ up_to = "45 mm", at_most = "3 mm" }, { at_most = "8 mm" }]'
            self._wrong(("bands",), f"bands takes a list, such as {example}")
            return ()
        if len(given) > _MOST_BANDS:
            self._wrong(("bands",), f"at most {_MOST_BANDS} bands fit")
            return ()
        found: list[Band] = []
        for number, table in enumerate(given):
            keys = ("bands", str(number))
            asks = [k for k in ("at_most", "at_least", "between") if k in table]
            unknown = [k for k in table if k not in ("up_to", *asks)]
            if unknown:
                self._wrong((*keys, unknown[0]), f"{shown(unknown[0])} is not a key of a band")
            if len(asks) != 1:
                self._wrong(keys, "a band has one of at_most, at_least, between")
                continue
            up_to = self._limit(table["up_to"], by, (*keys, "up_to")) if "up_to" in table else None
            if ("up_to" in table) == (number == len(given) - 1):
                self._wrong(keys, "every band but the last has up_to; the last has none")
            if found and up_to is not None and up_to <= (found[-1].up_to or 0.0):
                self._wrong(keys, "up_to has to be larger than in the band before")
            ask = self._ask(asks[0], table[asks[0]], measure, keys)
            if ask is not None:
                found.append(Band(up_to, ask, _as_written(table.get("up_to", ""))))
        return tuple(found)

    def _turn(self) -> tuple[str, ...]:
        given = self.raw.get("turn", [])
        if not isinstance(given, list) or not all(isinstance(g, str) for g in given):
            self._wrong(("turn",), 'turn takes a list of readings or parts, such as ["hold_back"]')
            return ()
        for name in given:
            if name not in TURNABLE:
                known = ", ".join(TURNABLE)
                self._wrong(("turn",), f"{shown(name)} cannot be turned; these can: {known}")
        return tuple(given)

    def check_turn(self, turn: Sequence[str], measure: str, by: str | None) -> None:
        """Take as a mistake what is turned and moves neither the measure nor what bands go by."""
        names = (measure,) if by is None else (measure, by)
        moving = {reading for name in names for reading in stands_on(name)}
        moving |= {KEY_IN_PART[name][0] for name in moving if name in KEY_IN_PART}
        these = [name for name in TURNABLE if name in moving]
        hint = f"; {' and '.join(these)} would" if these else "; nothing that can be turned would"
        for name in turn:
            if name not in moving:
                self._wrong(("turn",), f"{name} does not move {measure}{hint}")

    def _only(self) -> dict[str, str]:
        given = self.raw.get("only", {})
        if not isinstance(given, dict):
            self._wrong(
                ("only",),
                'only is written with its keys in brackets, such as { style = "bladder" }',
            )
            return {}
        for key, word in given.items():
            if key not in ONLY:
                self._wrong(
                    ("only", key),
                    f"{shown(key)} is not a key of only; its keys are {', '.join(ONLY)}",
                )
                continue
            words = ONLY[key]
            known = isinstance(word, str) and (word in words if words else clean(word) == word)
            if not known:
                due = " or ".join(shown(w) for w in words or ()) or "text in quotes"
                self._wrong(("only", key), f"{key} is {due}")
        return {str(key): str(word) for key, word in given.items()}


def _as_written(given: Any) -> str:
    """Give a limit as it was written, on one line and fit to be shown."""
    return clean(" ".join(str(given).split()))
