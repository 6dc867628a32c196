"""What JSON Schema says of a rule and of `buildlint.toml` beyond their models.

That is what hangs on the unit of the measure: what may be asked of it, and how a limit is written.
A schema cannot see a rule's path: that rules under file/ have no measure and all others have one
is left to the rulebook, and so is the order of bands.
"""

from __future__ import annotations

from typing import Any

from buildlint.files.patterns import limit_pattern
from buildlint.files.rule_keys import ASKS
from buildlint.files.units import dimension_of
from buildlint.judging.rule import FIGURES
from buildlint.judging.rulebook import load_rulebook
from buildlint.judging.rules_in_force import CHANGEABLE_ABOUT_FILES
from buildlint.measures import MEASURES

__all__ = ["of_rule_file", "of_settings_file"]

_LIMITS = ("at_most", "at_least", "between")
# The units of what a plan is kept of.
_PLANNED = ("mm", "1")
_EVERY_UNIT = tuple(dict.fromkeys(measure.unit for measure in MEASURES.values()))
_FIGURES = tuple(unit for unit in _EVERY_UNIT if unit not in ("id", "yes"))


def of_rule_file(made: dict[str, Any]) -> dict[str, Any]:
    """Return the JSON Schema of a rule's file, made of that of a rule."""
    # the file's name says which rule it is
    properties = {k: v for k, v in made["properties"].items() if k not in ("id", "path")}
    by_unit = [_if_measured("measure", unit, _asks_in(unit)) for unit in _EVERY_UNIT]
    by_unit += [_if_measured("by", unit, _bands_up_to(unit)) for unit in _FIGURES]
    return {
        **made,
        "properties": properties,
        "required": [key for key in made["required"] if key in properties],
        "dependentRequired": {"by": ["bands"], "bands": ["by"]},
        "if": {"required": ["measure"]},
        "then": {"oneOf": [{"required": [ask]} for ask in ASKS]},
        # without a measure there is nothing to ask: a rule about files
        "else": {"properties": dict.fromkeys((*ASKS, "by", "turn"), False)},
        "allOf": by_unit,
    }


def of_settings_file(made: dict[str, Any]) -> dict[str, Any]:
    """Return the JSON Schema of `buildlint.toml`, made of that of settings."""
    rules = {}
    for rule in load_rulebook():
        if rule.measure is None and rule.id not in CHANGEABLE_ABOUT_FILES:
            continue
        of = "files" if rule.measure is None else MEASURES[rule.measure].unit
        about = f"{rule.title} ({rule.level})."
        both = [{"$ref": "#/$defs/Change"}, {"$ref": f"#/$defs/{_named(of)}"}]
        rules[rule.id] = {"title": rule.id, "description": about, "allOf": both}
    each = {**made["properties"]["change"], "properties": rules, "additionalProperties": False}
    none = {"not": {"anyOf": [{"required": [ask]} for ask in ASKS]}}
    change = made["$defs"]["Change"]
    by = {**change["properties"]["by"], "enum": [*FIGURES]}
    by.pop("pattern")
    change = {
        **change,
        "properties": {**change["properties"], "by": by},
        "minProperties": 1,
        "oneOf": [none, *({"required": [ask]} for ask in ASKS)],
        "dependentRequired": {"by": ["bands"]},
        "allOf": [_if_measured("by", unit, _bands_up_to(unit)) for unit in _FIGURES],
    }
    return {
        **made,
        "properties": {**made["properties"], "change": each},
        "$defs": {
            **made["$defs"],
            "Change": change,
            _named("files"): {"properties": dict.fromkeys((*ASKS, "by"), False)},
            **{_named(unit): {"properties": _asks_in(unit)} for unit in _EVERY_UNIT},
        },
    }


# --- what each unit lets a rule ask --------------------------------------------------------------


def _in_unit(unit: str) -> dict[str, Any]:
    if unit == "step":
        return {"pattern": r"^\s*\+?[0-9]+(\.[0-9]*)?\s*(steps?)?\s*$"}
    dimension = "share" if unit == "1" else dimension_of(unit)[0]
    return {"pattern": limit_pattern(dimension)}


def _asks_in(unit: str) -> dict[str, Any]:
    """Return what a rule over a measure of this unit may ask, by key; False is not at all."""
    if unit not in _FIGURES:
        other = dict.fromkeys((*_LIMITS, "as_planned_within", "bands"), False)
        only = {"is": False} if unit == "id" else {"one_of": False}
        return {**other, **only, "same_within": {"const": "exactly"}}
    limit = _in_unit(unit)
    limits = {"at_most": limit, "at_least": limit, "between": {"items": limit}}
    same = limit if unit in ("1", "step") else {"anyOf": [limit, _in_unit("1")]}
    bands = {"items": {"properties": limits}}
    planned = limit if unit in _PLANNED else False
    same_and_planned = {"same_within": same, "as_planned_within": planned}
    return {**limits, **same_and_planned, "bands": bands, "is": False, "one_of": False}


def _bands_up_to(unit: str) -> dict[str, Any]:
    return {"bands": {"items": {"properties": {"up_to": _in_unit(unit)}}}}


def _if_measured(key: str, unit: str, then: dict[str, Any]) -> dict[str, Any]:
    names = [name for name, measure in MEASURES.items() if measure.unit == unit]
    condition = {"properties": {key: {"enum": names}}, "required": [key]}
    return {"if": condition, "then": {"properties": then}}


def _named(of: str) -> str:
    """Return the name of the definition of what may be asked over a unit, fit for a reference.

    >>> _named("N s/m"), _named("1")
    ('Asks-in-N-s-per-m', 'Asks-in-share')
    """
    unit = {"1": "share", "yes": "yes-or-no"}.get(of, of)
    return f"Asks-in-{unit.replace('/', ' per ').replace('^', '').replace(' ', '-')}"
