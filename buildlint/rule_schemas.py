"""JSON Schema of a rule and of `buildlint.toml`, from the constants of the rulebook.

A schema cannot see a rule's path: that rules under file/ have no measure and all others have one
is left to the rulebook, and so is the order of bands.
"""

from __future__ import annotations

from typing import Any

from buildlint.files.patterns import limit_pattern
from buildlint.files.tables import title_of
from buildlint.measures import MEASURES
from buildlint.readings import LONGEST
from buildlint.rule import ASKS, KEYS, ONLY, TURNABLE
from buildlint.rulebook import load_rulebook
from buildlint.rules_in_force import CHANGEABLE_ABOUT_FILES
from buildlint.settings import CHANCE, WHERE
from buildlint.units import dimension_of

__all__ = ["rule_schema", "settings_schema"]

_ABOUT = {
    "title": "What holds, in a line.",
    "level": "Whether it must hold or should.",
    "measure": "The figure that the rule asks something of.",
    "by": "The figure that the bands go by.",
    "turn": "Readings to solve for, and parts to try, when a figure is offered that mends it.",
    "only": "Which dampers the rule speaks of; left out, all.",
    "source": "Where the limit comes from.",
    "why": "A paragraph for someone at the bench: what goes wrong otherwise.",
    "cure": "What to do, in words.",
    "caution": "The caution to show, where someone can be hurt.",
    "at_most": "The figure is no more than this.",
    "at_least": "The figure is no less than this.",
    "between": "The figure lies between these two, the smaller one first.",
    "same_within": 'Left and right differ by no more than this; "exactly" for an id.',
    "bands": "Limits that hold up to values of another figure; the last has no up_to.",
    "is": "The question is answered with yes.",
    "one_of": "The id is one of these.",
}
_ONLY_ABOUT = {
    "style": "Only dampers of this style.",
    "end": "Only dampers at this end of the car.",
    "cap": "Only dampers with such a cap.",
    "class": "Only cars of this class; capitals make no difference.",
}
_SURE_ABOUT = (
    "The chance from which a must that keeps its limit as read holds; below it, it is borderline. "
    "Left out, 95 %."
)
_BAND_ABOUT = {
    "up_to": "The band holds up to this value of the figure under by.",
    **{key: _ABOUT[key] for key in ("at_most", "at_least", "between")},
}
_LIMITS = ("at_most", "at_least", "between")
_EVERY_UNIT = tuple(dict.fromkeys(measure.unit for measure in MEASURES.values()))
_FIGURES = tuple(unit for unit in _EVERY_UNIT if unit not in ("id", "yes"))


def rule_schema() -> dict[str, Any]:
    """Give the JSON Schema of a file under rules/."""
    properties = {key: _told(key, _ABOUT[key], _form(key)) for key in KEYS}
    by_unit = [_if_measured("measure", unit, _asks_in(unit)) for unit in _EVERY_UNIT]
    by_unit += [_if_measured("by", unit, _bands_up_to(unit)) for unit in _FIGURES]
    return {
        "title": "rules/GROUP/NAME.toml",
        "description": "One rule: what it asks of a figure, where its limit comes from, and why.",
        "type": "object",
        "properties": properties,
        "required": ["title", "level", "source", "why", "cure"],
        "additionalProperties": False,
        "dependentRequired": {"by": ["bands"], "bands": ["by"]},
        "if": {"required": ["measure"]},
        "then": {"oneOf": [{"required": [ask]} for ask in ASKS]},
        # without a measure there is nothing to ask: a rule about files
        "else": {"properties": dict.fromkeys((*ASKS, "by", "turn"), False)},
        "allOf": by_unit,
    }


def settings_schema() -> dict[str, Any]:
    """Give the JSON Schema of `buildlint.toml`."""
    rules = {}
    for rule in load_rulebook():
        if rule.measure is None and rule.id not in CHANGEABLE_ABOUT_FILES:
            continue
        of = "files" if rule.measure is None else MEASURES[rule.measure].unit
        about = f"{rule.title} ({rule.level})."
        both = [{"$ref": "#/$defs/Change"}, {"$ref": f"#/$defs/{_named(of)}"}]
        rules[rule.id] = {"title": rule.id, "description": about, "allOf": both}
    return {
        "title": "buildlint.toml",
        "description": "The team's own limits, how it judges, and its concessions; the file marks "
        "the root.",
        "type": "object",
        "properties": {
            "rules": {
                "title": "Rules",
                "description": "What the team changes of the rules, each in a table by its id.",
                "type": "object",
                "properties": rules,
                "additionalProperties": False,
            },
            "judging": {
                "title": "Judging",
                "description": "How surely what must hold has to hold.",
                "type": "object",
                "properties": {"sure": _sure()},
                "additionalProperties": False,
            },
            "concession": {
                "title": "Concessions",
                "description": "Leave to use builds that a rule refuses, each with its reason.",
                "type": "array",
                "items": {"$ref": "#/$defs/Concession"},
            },
        },
        "additionalProperties": False,
        "$defs": {
            "Change": _change(),
            "Concession": _concession(),
            _named("files"): {"properties": dict.fromkeys((*ASKS, "by"), False)},
            **{_named(unit): {"properties": _asks_in(unit)} for unit in _EVERY_UNIT},
        },
    }


def _sure() -> dict[str, Any]:
    form = CHANCE.json_schema()
    # the reading's own words are its range
    about = f"{_SURE_ABOUT} {form.pop('description')}"
    return _told("sure", about, {**form, "maximum": round(form["maximum"], 6)})


def _told(key: str, about: str, form: dict[str, Any]) -> dict[str, Any]:
    return {"title": title_of(key), "description": about, **form}


def _text(**more: Any) -> dict[str, Any]:
    return {"type": "string", **more}


# --- the form of each key, whatever is measured --------------------------------------------------

_LIMIT = _text(maxLength=LONGEST, minLength=1)
_LISTED = {"type": "array", "items": _text()}


def _form(key: str) -> dict[str, Any]:
    if key == "level":
        return _text(enum=["must", "should"])
    if key == "measure":
        return _text(enum=[*MEASURES])
    if key == "by":
        return _text(enum=[name for name, m in MEASURES.items() if m.unit in _FIGURES])
    if key == "turn":
        return {"type": "array", "items": _text(enum=[*TURNABLE])}
    if key == "only":
        words = {k: _text(enum=[*known]) if known else _text() for k, known in ONLY.items()}
        table = {k: _told(k, _ONLY_ABOUT[k], form) for k, form in words.items()}
        return {"type": "object", "properties": table, "additionalProperties": False}
    if key in ("title", "source", "why", "cure"):
        return _text(pattern=r"\S")
    if key == "caution":
        return _text()
    return _ask_form(key)


def _ask_form(key: str) -> dict[str, Any]:
    if key == "is":
        return {"const": True}
    if key == "one_of":
        return _LISTED
    if key == "between":
        return {"type": "array", "items": _LIMIT, "minItems": 2, "maxItems": 2}
    if key == "bands":
        keys = {k: _told(k, about, _ask_form(k)) for k, about in _BAND_ABOUT.items()}
        band = {
            "title": "Band",
            "description": "A limit that holds up to a value of the figure under by.",
            "type": "object",
            "properties": keys,
            "oneOf": [{"required": [ask]} for ask in _LIMITS],
            "additionalProperties": False,
        }
        return {"type": "array", "items": band, "minItems": 1}
    return _LIMIT


# --- what each unit lets a rule ask --------------------------------------------------------------


def _in_unit(unit: str) -> dict[str, Any]:
    if unit == "step":
        return {"pattern": r"^\s*\+?[0-9]+(\.[0-9]*)?\s*(steps?)?\s*$"}
    dimension = "share" if unit == "1" else dimension_of(unit)[0]
    return {"pattern": limit_pattern(dimension)}


def _asks_in(unit: str) -> dict[str, Any]:
    """Give what a rule over a measure of this unit may ask, by key; False is not at all."""
    if unit not in _FIGURES:
        other = dict.fromkeys((*_LIMITS, "bands"), False)
        only = {"is": False} if unit == "id" else {"one_of": False}
        return {**other, **only, "same_within": {"const": "exactly"}}
    limit = _in_unit(unit)
    limits = {"at_most": limit, "at_least": limit, "between": {"items": limit}}
    same = limit if unit in ("1", "step") else {"anyOf": [limit, _in_unit("1")]}
    bands = {"items": {"properties": limits}}
    return {**limits, "same_within": same, "bands": bands, "is": False, "one_of": False}


def _bands_up_to(unit: str) -> dict[str, Any]:
    return {"bands": {"items": {"properties": {"up_to": _in_unit(unit)}}}}


def _if_measured(key: str, unit: str, then: dict[str, Any]) -> dict[str, Any]:
    names = [name for name, measure in MEASURES.items() if measure.unit == unit]
    condition = {"properties": {key: {"enum": names}}, "required": [key]}
    return {"if": condition, "then": {"properties": then}}


# --- settings ------------------------------------------------------------------------------------


def _named(of: str) -> str:
    """Give the name of the definition of what may be asked over a unit, fit for a reference.

    >>> _named("N s/m"), _named("1")
    ('Asks-in-N-s-per-m', 'Asks-in-share')
    """
    unit = {"1": "share", "yes": "yes-or-no"}.get(of, of)
    return f"Asks-in-{unit.replace('/', ' per ').replace('^', '').replace(' ', '-')}"


def _change() -> dict[str, Any]:
    """Give what a team may change of a rule, whatever it measures."""
    keys = {key: _told(key, _ABOUT[key], _form(key)) for key in (*ASKS, "by", "level")}
    keys |= {key: _told(key, _ABOUT[key], _form(key)) for key in ("title", "source")}
    keys["off"] = _told("off", "True: the rule is not asked at all.", {"type": "boolean"})
    none = {"not": {"anyOf": [{"required": [ask]} for ask in ASKS]}}
    return {
        "title": "A rule's change",
        "description": "Another limit, another level, or off = true.",
        "type": "object",
        "properties": keys,
        "additionalProperties": False,
        "minProperties": 1,
        "oneOf": [none, *({"required": [ask]} for ask in ASKS)],
        "dependentRequired": {"by": ["bands"]},
        "allOf": [_if_measured("by", unit, _bands_up_to(unit)) for unit in _FIGURES],
    }


def _concession() -> dict[str, Any]:
    ident = _text(minLength=1, maxLength=200)
    keys = {
        "rule": _told("rule", "Id of the rule that is conceded.", ident),
        "reason": _told("reason", "Why the team lets it pass.", _text(pattern=r"\S")),
        "until": _told("until", "Last day that it holds, without quotes.", _date()),
        "build": _told("build", "Id of the build it is for; left out, every build.", ident),
        "where": _told(
            "where", "Which damper or end it is for; left out, all.", _text(enum=[*WHERE])
        ),
    }
    return {
        "title": "Concession",
        "description": "Leave to use what a rule refuses, for a reason and until a date.",
        "type": "object",
        "properties": keys,
        "required": ["rule", "reason", "until"],
        "additionalProperties": False,
    }


def _date() -> dict[str, Any]:
    return _text(format="date", examples=["2027-06-05"])
