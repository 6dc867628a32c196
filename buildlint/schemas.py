"""JSON Schema (2020-12) of the kinds of file, for editors.

The four kinds of file come from their models; `buildlint.toml` and rules from the constants of the
rulebook. A schema sees one file: what another file says, sums and physics are left to `inspect`.
"""

from __future__ import annotations

import datetime
import json
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from buildlint.errors import UnknownKindError
from buildlint.files.models import KINDS
from buildlint.files.part_models import MOST_IN_A_BLEND, STATED_AT, Oil
from buildlint.files.tables import Table, core_of
from buildlint.files.texts import TEXTS, title_of
from buildlint.rule_schemas import rule_schema, settings_schema
from buildlint.words import nearest, shown

__all__ = ["DIALECT", "SCHEMA_KINDS", "schema", "schema_text"]

#: The dialect that the schemas are written in.
DIALECT = "https://json-schema.org/draft/2020-12/schema"

#: What there is a schema of: the kinds of file, the settings (`buildlint.toml`) and a rule.
SCHEMA_KINDS = (*KINDS, "settings", "rule")


def schema(kind: str) -> dict[str, Any]:
    """Give the JSON Schema of a kind of file.

    Raises UnknownKindError for a kind that is none of SCHEMA_KINDS.

    >>> schema("car")["required"]
    ['name', 'front', 'rear']
    """
    if kind not in SCHEMA_KINDS:
        near = nearest(kind, SCHEMA_KINDS)
        hint = f"; did you mean {near}?" if near else ""
        known = ", ".join(SCHEMA_KINDS)
        raise UnknownKindError(
            f"there is no schema of {shown(kind)}: there is one of {known}{hint}"
        )
    if kind == "settings":
        made = settings_schema()
    elif kind == "rule":
        made = rule_schema()
    else:
        made = _FromModels().generate(core_of(KINDS[kind], named=True), mode="validation")
    ordered: dict[str, Any] = _ordered({**made, "$schema": DIALECT})
    return ordered


def schema_text(kind: str) -> str:
    """Give the JSON Schema of a kind of file as text, the same each time.

    Raises UnknownKindError for a kind that is none of SCHEMA_KINDS.
    """
    return json.dumps(schema(kind), indent=2, allow_nan=False) + "\n"


# --- from the models -----------------------------------------------------------------------------


class _FromModels(GenerateJsonSchema):
    """Says of a model what its file may hold, where pydantic says what the model may.

    A model's fields may all be missing, so that one mistake hides no other; TOML has no null.
    """

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        """Leave out null: TOML has none."""
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        """Say a default only where leaving a key out means a word."""
        inner = self.generate_inner(schema["schema"])
        default = schema.get("default")
        return {**inner, "default": default} if isinstance(default, str) else inner

    def function_plain_schema(self, schema: core_schema.PlainValidatorFunctionSchema) -> Any:
        """Let the kind of reading say what it takes."""
        return schema["function"]["function"].__dict__["kind"].json_schema()

    def date_schema(self, schema: core_schema.DateSchema) -> JsonSchemaValue:
        """Say a date as tools hand a TOML date to a schema."""
        example = datetime.date(2027, 6, 5).isoformat()
        return {"type": "string", "format": "date", "examples": [example]}

    def model_schema(self, schema: core_schema.ModelSchema) -> JsonSchemaValue:
        """Add what the model says elsewhere: what is required, the texts, what goes together."""
        made = {**self.generate_inner(schema["schema"]), "additionalProperties": False}
        model = schema["cls"]
        assert issubclass(model, Table)
        text = TEXTS[model.__name__]
        properties = {
            key: _told(key, value, text.keys[key]) for key, value in made["properties"].items()
        }
        if model is Oil:
            properties["at"]["default"] = STATED_AT.text
            properties["blend"].update(minProperties=1, maxProperties=MOST_IN_A_BLEND)
        made.update(title=text.title, description=text.about, properties=properties)
        if model.required:
            made["required"] = list(model.required)
        elif model is KINDS["parts"]:
            made["minProperties"] = 1
        return {**made, **_BETWEEN_KEYS.get(model.__name__, {})}

    def sort(self, value: JsonSchemaValue, parent_key: str | None = None) -> JsonSchemaValue:
        """Leave the order to `_ordered`, which is ours and the same for every schema."""
        return value


def _told(key: str, field: dict[str, Any], about: str) -> dict[str, Any]:
    described = {**field}
    # the kind of reading says its range behind what it is
    described["description"] = " ".join([about, *filter(None, [field.get("description")])])
    described["title"] = title_of(key)
    return described


# --- what goes together within a file ------------------------------------------------------------


def _any_of(*needs: list[str]) -> dict[str, Any]:
    return {"anyOf": [{"required": keys} for keys in needs]}


def _says(key: str, **what: Any) -> dict[str, Any]:
    """Give the condition that a key is there and its value is of a sort."""
    return {"properties": {key: what}, "required": [key]}


def _of_both(key: str) -> dict[str, Any]:
    """Give the demand that an end says a key: for both sides, or on each."""
    sides = {side: {"required": [key]} for side in ("left", "right")}
    return {"anyOf": [{"required": [key]}, {"properties": sides, "required": [*sides]}]}


def _at_each_end(*keys: str) -> dict[str, Any]:
    demand = {"allOf": [_of_both(key) for key in keys]}
    return {"properties": {"front": demand, "rear": demand}}


# Of the units of viscosity, only the dynamic ones have a P.
_DYNAMIC = {"type": "string", "pattern": "P"}
_SAYBOLT = {"type": "string", "pattern": "SUS"}

_BETWEEN_KEYS: dict[str, dict[str, Any]] = {
    "Body": {"if": _says("cap", const="sealed"), "then": {"required": ["gas"]}},
    "Oil": {
        **_any_of(["viscosity"], ["blend"]),
        "allOf": [
            {"if": _says("viscosity", **_DYNAMIC), "then": {"required": ["density"]}},
            {
                "if": _says("second", **_says("viscosity", **_DYNAMIC)),
                "then": {"required": ["density"]},
            },
            {"if": _says("viscosity", **_SAYBOLT), "then": {"required": ["at"]}},
        ],
    },
    "Spring": _any_of(["rate"], ["wire", "mean_diameter", "coils"]),
    "Build": {
        "allOf": [_at_each_end("piston", "oil")],
        "if": _says("style", const="emulsion"),
        "then": _at_each_end("air"),
        "else": _at_each_end("hold_back"),
    },
}


# --- the order of what is written ----------------------------------------------------------------

_FIRST = ("$schema", "title", "description", "$ref", "type")
_LAST = ("if", "then", "else", "$defs")


def _ordered(value: Any, names: bool = False) -> Any:
    """Put what a reader looks for first; keys of a file stay in the order of its model."""
    if isinstance(value, list):
        return [_ordered(each) for each in value]
    if not isinstance(value, dict):
        return value
    keys = list(value) if names else sorted(value, key=_place)
    return {key: _ordered(value[key], names=key == "properties" and not names) for key in keys}


def _place(key: str) -> tuple[int, str]:
    if key in _FIRST:
        return _FIRST.index(key), ""
    return len(_FIRST) + (_LAST.index(key) + 1 if key in _LAST else 0), key
