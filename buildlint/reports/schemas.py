"""JSON Schema (2020-12) of the kinds of file, for editors, and of a report.

They come from the models; of rules and `buildlint.toml`, what hangs on the unit of a measure is
added. A schema sees one file: what another file says, sums and physics are left to `inspect`.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from buildlint.files.models import KINDS
from buildlint.files.settings import Settings
from buildlint.files.tables import Table
from buildlint.judging.rule import Rule
from buildlint.judging.rule_schemas import of_rule_file, of_settings_file
from buildlint.text.errors import UnknownKindError
from buildlint.text.words import nearest, shown

__all__ = ["DIALECT", "FILE_KINDS", "SCHEMA_KINDS", "schema", "schema_text"]

#: The dialect that the schemas are written in.
DIALECT = "https://json-schema.org/draft/2020-12/schema"

#: What a team writes: the kinds of file, the settings (`buildlint.toml`) and a rule.
FILE_KINDS = (*KINDS, "settings", "rule")

#: What there is a schema of: these, and what `inspect --as json` prints.
SCHEMA_KINDS = (*FILE_KINDS, "report")

# What a model cannot say by itself.
_ADDED = {"settings": of_settings_file, "rule": of_rule_file}


def schema(kind: str) -> dict[str, Any]:
    """Return the JSON Schema of a kind of file, or of a report.

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
    if kind == "report":
        from buildlint.reports.models import InspectionReport

        made = InspectionReport.model_json_schema()
    else:
        models: dict[str, type[Table]] = {**KINDS, "settings": Settings, "rule": Rule}
        made = models[kind].model_json_schema(schema_generator=_WithoutNull)
        made = _ADDED[kind](made) if kind in _ADDED else made
    ordered: dict[str, Any] = _ordered({**made, "$schema": DIALECT})
    return ordered


def schema_text(kind: str) -> str:
    """Return the JSON Schema of a kind of file, or of a report, as text: the same each time.

    Raises UnknownKindError for a kind that is none of SCHEMA_KINDS.
    """
    return json.dumps(schema(kind), indent=2, allow_nan=False) + "\n"


class _WithoutNull(GenerateJsonSchema):
    """Leaves null out of schemas: TOML has none, so that a key is there or it is not."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        """Leave out null."""
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        """Say a default only where leaving a key out means a word."""
        inner = self.generate_inner(schema["schema"])
        default = schema.get("default")
        return {**inner, "default": default} if default and isinstance(default, str) else inner

    def sort(self, value: JsonSchemaValue, parent_key: str | None = None) -> JsonSchemaValue:
        """Leave the order to `_ordered`, which is ours and the same for every schema."""
        return value


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
