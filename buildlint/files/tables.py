"""What a table of a file is: a class whose annotations say what each key takes.

pydantic's core does the checking. Its classes do more than is needed here and take longer to make
than a commit hook should wait, so the core is told directly: one schema a table, from annotations
of a few forms. Every field may be left out, and then has its default.
"""

from __future__ import annotations

import datetime
import sys
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Annotated, Any, ClassVar, Literal, NamedTuple, TypeVar, get_args, get_origin

from pydantic_core import SchemaValidator, core_schema

from buildlint.readings import Mistake

__all__ = [
    "Complaint",
    "FieldOf",
    "PlainDate",
    "Table",
    "Text",
    "core_of",
    "fields_of",
    "keyed",
    "table_in",
    "validated",
]

Path = tuple[str, ...]
Complaint = tuple[Path, Mistake]
Kind = TypeVar("Kind", bound="Table")


class Text(NamedTuple):
    """Text of so many characters, as the annotation of a field."""

    least: int
    most: int

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Let a table use this as the annotation of a field."""
        return core_schema.str_schema(
            strict=True, min_length=self.least or None, max_length=self.most
        )


class FieldOf(NamedTuple):
    """A field of a table: its key in the file, what it takes, its default, whether it may be None.

    One that may not, and has no default, is an empty table where it is left out.
    """

    key: str
    takes: Any
    default: Any
    optional: bool


class _Keyed(NamedTuple):
    key: str


def keyed(key: str) -> Any:
    """Give a field another key in the file than its name, which Python keeps for itself."""
    return _Keyed(key)


class Table:
    """A table of a file: unknown keys are refused, nothing is changed once read."""

    __slots__ = (
        "__dict__",
        "__pydantic_extra__",
        "__pydantic_fields_set__",
        "__pydantic_private__",
    )

    required: ClassVar[tuple[str, ...]] = ()
    __pydantic_fields_set__: set[str]

    def complaints(self) -> Iterator[Complaint]:
        """Give what is wrong between the keys of this table; nothing by default."""
        yield from ()

    @property
    def given(self) -> set[str]:
        """The names of the fields that stand in the file."""
        return self.__pydantic_fields_set__

    def __iter__(self) -> Iterator[tuple[str, Any]]:
        """Go through the fields with their values."""
        return iter(self.__dict__.items())

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self.__dict__ == other.__dict__

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"{type(self).__name__} is not changed once read")

    def __repr__(self) -> str:
        given = ", ".join(f"{k}={v!r}" for k, v in self if k in self.given)
        return f"{type(self).__name__}({given})"


def fields_of(table: type[Table]) -> Mapping[str, FieldOf]:
    """Give the fields of a kind of table, by name, in their order; a base's come first."""
    key: Any = table  # a class can be kept by, whatever mypy makes of its hash
    return _fields(key)


@cache
def _fields(table: Any) -> Mapping[str, FieldOf]:
    found: dict[str, FieldOf] = {}
    for base in reversed(table.__mro__):
        if base is Table or not issubclass(base, Table):
            continue
        # the annotations are text of our own, kept from being worked out by the __future__ import
        scope = vars(sys.modules[base.__module__])
        for name, annotation in base.__annotations__.items():
            takes = annotation.removesuffix(" | None")
            optional = takes != annotation
            default = base.__dict__.get(name)
            key = default.key if isinstance(default, _Keyed) else name
            default = None if isinstance(default, _Keyed) else default
            found[name] = FieldOf(key, eval(takes, scope), default, optional)
    return found


def table_in(annotation: Any) -> Any:
    """Give the kind of table inside an annotation; a mapping of ids to tables as {"each": kind}."""
    arguments = get_args(annotation)
    # first: on Python 3.10 dict[...] passes for a class
    if get_origin(annotation) is dict:
        return {"each": arguments[1]}
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next((found for a in arguments if (found := table_in(a)) is not None), None)


def validated(table: type[Kind], raw: Mapping[str, Any]) -> Kind:
    """Give a table of a kind, from what stands in a file; raises pydantic's ValidationError."""
    key: Any = table
    made: Kind = _validator(key).validate_python(raw)
    return made


@cache
def _validator(table: Any) -> SchemaValidator:
    return SchemaValidator(core_of(table))


def core_of(table: type[Table], named: bool = False) -> core_schema.CoreSchema:
    """Give what pydantic's core has to know of a kind of table; `named` lets others refer to it."""
    key: Any = table
    return _core(key, named)


@cache
def _core(table: Any, named: bool) -> core_schema.CoreSchema:
    fields = {
        name: core_schema.model_field(
            _with_default(_takes(field.takes, named), field),
            validation_alias=field.key if field.key != name else None,
        )
        for name, field in fields_of(table).items()
    }
    return core_schema.model_schema(
        table,
        core_schema.model_fields_schema(fields, model_name=table.__name__, extra_behavior="forbid"),
        config=core_schema.CoreConfig(title=table.__name__, extra_fields_behavior="forbid"),
        ref=f"{table.__module__}.{table.__name__}:{id(table)}" if named else None,
    )


def _with_default(schema: core_schema.CoreSchema, field: FieldOf) -> core_schema.CoreSchema:
    if field.optional:
        schema = core_schema.nullable_schema(schema)
    elif field.default is None:
        return core_schema.with_default_schema(schema, default_factory=get_origin(field.takes))
    return core_schema.with_default_schema(schema, default=field.default)


def _takes(takes: Any, named: bool) -> core_schema.CoreSchema:
    if isinstance(takes, type) and issubclass(takes, Table):
        return core_of(takes, named)
    origin, arguments = get_origin(takes), get_args(takes)
    if origin is Literal:
        return core_schema.literal_schema(list(arguments))
    if origin is list:
        return core_schema.list_schema(_takes(arguments[0], named))
    if origin is dict:
        return core_schema.dict_schema(core_schema.str_schema(), _takes(arguments[1], named))
    if origin is Annotated:
        for note in arguments[1:]:
            made: Callable[..., core_schema.CoreSchema] | None = getattr(
                note, "__get_pydantic_core_schema__", None
            )
            if made is not None:
                return made(takes, None)
    raise TypeError(f"no field takes {takes}")


class PlainDate:
    """A date without a time of day, as the annotation of a field."""

    def __init__(self, mistake: Callable[[], Exception]) -> None:
        self.mistake = mistake

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Let a table use this as the annotation of a field."""

        def plain(given: object) -> object:
            # a date with a time of day is no date here, nor is a date in quotes
            if type(given) is datetime.date:
                return given
            raise self.mistake()

        return core_schema.no_info_before_validator_function(plain, core_schema.date_schema())
