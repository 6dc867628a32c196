"""What a table of a file is: a pydantic model, complete in a user's hands, in parts for the reader.

A model is whole: what it requires is there, nothing unknown stands in it, and its keys agree with
each other. The reader of a file wants more, every mistake at once and what the rest of it says: for
that there is, of each model, a partial twin made from the same annotations, in which every key may
be missing.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from functools import cache
from types import UnionType
from typing import (
    Annotated,
    Any,
    ClassVar,
    Literal,
    NamedTuple,
    NoReturn,
    TypeVar,
    Union,
    get_args,
    get_origin,
)

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    StringConstraints,
    ValidationError,
    create_model,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, InitErrorDetails, PydanticCustomError, core_schema

from buildlint.files.readings import Mistake

__all__ = [
    "BETWEEN_KEYS",
    "IN_A_FILE",
    "Complaint",
    "Drawer",
    "FieldOf",
    "PlainDate",
    "Table",
    "Text",
    "any_of",
    "custom_error",
    "fields_of",
    "nothing_of",
    "partial_of",
    "says",
    "table_in",
    "title_of",
    "whole_of",
]

Path = tuple[str, ...]
Complaint = tuple[Path, Mistake]
Value = TypeVar("Value")
Model = TypeVar("Model", bound="Table")

#: The context of a validation of what stands in a file, where a date has no quotes.
IN_A_FILE = {"in_a_file": True}

#: What marks the error of keys that do not agree with each other.
BETWEEN_KEYS = "between keys"


def custom_error(mistake: Mistake, about: str = "") -> PydanticCustomError:
    """Return a mistake as an error for pydantic: its rule and message stand in the context."""
    context = {"rule": mistake.rule, "message": mistake.message, "about": about}
    return PydanticCustomError("buildlint", "{message}", context)


class Frozen(dict[str, Value]):
    """A dict that is not changed: of a frozen model, all is frozen."""

    def _refuse(self, *args: Any, **named: Any) -> NoReturn:
        raise TypeError("this is not changed once read")

    __setitem__ = __delitem__ = clear = pop = popitem = setdefault = update = __ior__ = _refuse

    def __reduce__(self) -> tuple[Any, ...]:
        """Return what a copy is made of."""
        return type(self), (dict(self),)


#: Parts, or shares, by their ids.
Drawer = Annotated[dict[str, Value], AfterValidator(Frozen)]


def Text(least: int, most: int) -> Any:  # noqa: N802 - used as an annotation
    """Return the annotation of a text of so many characters."""
    return StringConstraints(strict=True, min_length=least or None, max_length=most)


class FieldOf(NamedTuple):
    """A field of a table: its key in the file, and what it takes."""

    key: str
    takes: Any


class Table(BaseModel):
    """A table of a file: unknown keys are refused, nothing is changed once read."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    #: Whether every key may be missing; see `partial_of`.
    partial: ClassVar[bool] = False
    #: What JSON Schema says of keys that go together.
    together: ClassVar[dict[str, Any]] = {}

    def complaints(self) -> Iterator[Complaint]:
        """Return what is wrong between the keys of this table; nothing by default."""
        yield from ()

    @model_validator(mode="after")
    def _agree(self) -> Any:
        if self.partial:
            return self
        errors = [
            InitErrorDetails(type=custom_error(mistake, BETWEEN_KEYS), loc=path, input=None)
            for path, mistake in self.complaints()
        ]
        if errors:
            raise ValidationError.from_exception_data(type(self).__name__, errors)
        return self

    def as_table(self) -> dict[str, Any]:
        """Return what was given, as the table of a file: by its keys, readings as their text."""
        found: dict[str, Any] = self.model_dump(mode="json", by_alias=True, exclude_unset=True)
        return found

    @property
    def given(self) -> set[str]:
        """The names of the fields that were given."""
        return self.model_fields_set

    def model_copy(
        self: Model, *, update: Mapping[str, Any] | None = None, deep: bool = False
    ) -> Model:
        """Return a copy, with some fields changed: it is checked as a new one would be.

        Raises pydantic's ValidationError where the changed fields do not go with the others.
        """
        if not update:
            return super().model_copy(deep=deep)
        fields = fields_of(type(self))
        values = _values(self)
        values |= {fields[name].key if name in fields else name: v for name, v in update.items()}
        return type(self).model_validate(values)

    @classmethod
    def required(cls) -> tuple[str, ...]:
        """Return the keys that have to be there."""
        whole = cls.__mro__[1] if cls.partial else cls
        assert issubclass(whole, Table)
        return tuple(f.alias or n for n, f in whole.model_fields.items() if f.is_required())

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        made = handler.resolve_ref_schema(handler(core))
        for name, field in cls.model_fields.items():
            told = made["properties"][field.alias or name]
            told["title"] = title_of(field.alias or name)
            kind = next((k for k in _kinds(field) if hasattr(k, "in_words")), None)
            if kind is not None:
                told["description"] = f"{field.description} {kind.in_words()}"
        # what follows is for programmers
        made["description"] = made["description"].partition("\n\n")[0].replace("\n", " ")
        made.update(cls.together)
        return made


def title_of(key: str) -> str:
    """Return a key as a title.

    >>> title_of("hold_back")
    'Hold back'
    """
    return key.replace("_", " ").capitalize()


def any_of(*needs: list[str]) -> dict[str, Any]:
    """Say in JSON Schema that some keys are there, or some others."""
    return {"anyOf": [{"required": keys} for keys in needs]}


def says(key: str, **what: Any) -> dict[str, Any]:
    """Say in JSON Schema that a key is there and its value is of a sort."""
    return {"properties": {key: what}, "required": [key]}


def _kinds(field: Any) -> Iterator[Any]:
    yield from field.metadata
    for argument in get_args(field.annotation):
        if get_origin(argument) is Annotated:
            yield from get_args(argument)[1:]


def fields_of(table: type[Table]) -> Mapping[str, FieldOf]:
    """Return the fields of a kind of table, by name, in their order."""
    return {
        name: FieldOf(field.alias or name, field.annotation)
        for name, field in table.model_fields.items()
    }


def table_in(annotation: Any) -> Any:
    """Return the kind of table inside an annotation; of ids to tables as {"each": kind}."""
    arguments = get_args(annotation)
    if get_origin(annotation) is dict:
        return {"each": arguments[1]}
    if _is_table(annotation):
        return annotation
    return next((found for a in arguments if (found := table_in(a)) is not None), None)


def _is_table(annotation: Any) -> bool:
    # on Python 3.10 list[...] passes for a class
    is_class = isinstance(annotation, type) and get_origin(annotation) is None
    return is_class and issubclass(annotation, Table)


# --- the partial twin ----------------------------------------------------------------------------


@cache
def partial_of(model: type[Model]) -> type[Model]:
    """Return the twin of a model in which every key may be missing, in the tables inside it too.

    Its keys need not agree with each other: the reader asks `complaints` of it.
    """
    fields: dict[str, Any] = {}
    for name, field in model.model_fields.items():
        takes = _loose(field.annotation)
        if field.metadata:
            takes = Annotated[(takes, *field.metadata)]
        default = None if field.is_required() else field.get_default(call_default_factory=True)
        fields[name] = (Union[takes, None], Field(default, alias=field.alias))  # noqa: UP007 - built at run time
    made: Any = create_model(f"Partial{model.__name__}", __base__=model, **fields)
    made.partial = True
    found: type[Model] = made
    return found


def whole_of(model: type[Model], table: Table) -> Model | None:
    """Return a table as the whole model, where all that it requires could be read."""
    if not table.partial:
        return table if isinstance(table, model) else None
    try:
        return model.model_validate(_values(table))
    except ValidationError:
        return None


def _values(table: Table) -> dict[str, Any]:
    """Return what was given, by its keys, of the tables inside too."""

    def value(given: Any) -> Any:
        if isinstance(given, Table):
            return _values(given)
        return {k: value(v) for k, v in given.items()} if isinstance(given, dict) else given

    fields = fields_of(type(table))
    return {fields[name].key: value(getattr(table, name)) for name in table.given}


def nothing_of(model: type[Model]) -> Model:
    """Return the partial twin of a file of which nothing could be read."""
    made: Model = partial_of(model).model_validate({})
    return made


def _loose(annotation: Any) -> Any:
    """Return an annotation with the partial twins of the models in it."""
    if _is_table(annotation):
        return partial_of(annotation)
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return Annotated[(_loose(arguments[0]), *arguments[1:])]
    if origin in (Union, UnionType):
        return Union[tuple(_loose(a) for a in arguments)]  # noqa: UP007 - built at run time
    if origin is not None and origin is not Literal:
        return origin[tuple(_loose(a) for a in arguments)]
    return annotation


class PlainDate:
    """A date without a time of day, as the annotation of a field: in a file without quotes."""

    def __init__(self, mistake: Mistake) -> None:
        """Take what to say of anything else."""
        self.mistake = mistake

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> CoreSchema:
        """Return what pydantic's core has to know of it."""

        def plain(given: object, info: core_schema.ValidationInfo) -> object:
            if type(given) is datetime.date:
                return given
            if type(given) is str and not (info.context or {}).get("in_a_file"):
                try:
                    return datetime.date.fromisoformat(given)
                except ValueError:
                    pass
            # a date with a time of day is no date here
            raise custom_error(self.mistake)

        return core_schema.with_info_plain_validator_function(
            plain,
            serialization=core_schema.to_string_ser_schema(when_used="json"),
        )

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Return a date as tools hand a TOML date to a schema."""
        return {"type": "string", "format": "date", "examples": ["2027-06-05"]}
