"""JSON Schema (2020-12) of the kinds of file, for editors, and of a report.

The four kinds of file and the report come from their models; `buildlint.toml` and rules from the
constants of the rulebook. A schema sees one file: what another file says, sums and physics are left
to `inspect`.
"""

from __future__ import annotations

import json
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from buildlint.errors import UnknownKindError
from buildlint.files.models import KINDS
from buildlint.rule_schemas import rule_schema, settings_schema
from buildlint.words import nearest, shown

__all__ = ["DIALECT", "FILE_KINDS", "SCHEMA_KINDS", "schema", "schema_text"]

#: The dialect that the schemas are written in.
DIALECT = "https://json-schema.org/draft/2020-12/schema"

#: What a team writes: the kinds of file, the settings (`buildlint.toml`) and a rule.
FILE_KINDS = (*KINDS, "settings", "rule")

#: What there is a schema of: these, and what `inspect --as json` prints.
SCHEMA_KINDS = (*FILE_KINDS, "report")


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
    if kind == "settings":
        made = settings_schema()
    elif kind == "rule":
        made = rule_schema()
    elif kind == "report":
        from buildlint.reports.models import InspectionReport

        made = InspectionReport.model_json_schema()
    else:
        made = KINDS[kind].model_json_schema(schema_generator=_WithoutNull)
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
        return {**inner, "default": default} if isinstance(default, str) else inner

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
