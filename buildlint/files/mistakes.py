"""Every mistake in a table of which one refuses all, such as a rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Annotated, Any, ClassVar, Literal, TypeVar, get_args, get_origin

from pydantic import BeforeValidator, ConfigDict, ValidationError
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from buildlint.files.readings import Mistake
from buildlint.files.tables import (
    BETWEEN_KEYS,
    IN_A_FILE,
    Table,
    custom_error,
    fields_of,
    partial_of,
    table_in,
)
from buildlint.text.words import clean, listed, nearest, shown

__all__ = ["Checked", "KeyPath", "Line", "ReadBy", "Told", "checked", "due", "line", "wrong"]

KeyPath = tuple[str, ...]
#: A mistake, with the keys where it stands.
Told = tuple[KeyPath, str]
Model = TypeVar("Model", bound="Checked")

# What marks a message that goes on after the name of its key.
_AFTER_THE_KEY = "after the key"

# Of so many mistakes it is looked what was meant: more are not told.
_MOST_HINTS = 100

# What was refused is left out and the rest tried again, no more than so many times.
_MOST_TRIES = 4


class Checked(Table):
    """A table of which one mistake refuses all."""

    # most runs use few of them
    model_config = ConfigDict(defer_build=True)

    #: What such a table is called.
    called: ClassVar[str]
    #: What is said of a key that is none of its own, and before those that are.
    no_key: ClassVar[tuple[str, str]] = ("is not a key of a {}", "the keys are")
    #: Keys of an earlier version, each with what to write now.
    gone: ClassVar[dict[str, str]] = {}

    @classmethod
    def known_keys(cls) -> list[str]:
        """Return the keys that such a table of a file takes."""
        return [field.key for field in fields_of(cls).values()]


# --- what fields take ----------------------------------------------------------------------------


def wrong(message: str, about: str = "") -> PydanticCustomError:
    """Return a mistake as an error for pydantic; raise it in a validator."""
    return custom_error(Mistake("", message), about)


def due(kinds: type | tuple[type, ...], message: str) -> BeforeValidator:
    """Return what refuses, with this message, a value that is of none of these kinds."""

    def check(given: Any) -> Any:
        if isinstance(given, kinds):
            return given
        raise wrong(message)

    return BeforeValidator(check)


class ReadBy:
    """A value that a function of ours reads, as the annotation of a field."""

    def __init__(self, read: Callable[[Any], Any], **schema: Any) -> None:
        """Take the function, and what JSON Schema says of the value."""
        self._read = read
        self._schema = schema

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> CoreSchema:
        """Return what pydantic's core has to know of it."""
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        """Describe the value to an editor."""
        return dict(self._schema)


def line(longest: int | None = None, blank: bool = False) -> ReadBy:
    """Return what reads a text that is shown on one line, whatever line breaks it has."""

    def read(given: Any) -> str:
        if not isinstance(given, str):
            raise wrong("is text in quotes", _AFTER_THE_KEY)
        text = clean(" ".join(str.split(given)))
        if not text and not blank:
            raise wrong("is empty: text belongs here", _AFTER_THE_KEY)
        if longest is not None and len(given) > longest:
            raise wrong(f"is too long: at most {longest:,} characters", _AFTER_THE_KEY)
        return text

    schema: dict[str, Any] = {"type": "string"}
    schema |= {} if blank else {"pattern": r"\S"}
    schema |= {} if longest is None else {"maxLength": longest}
    return ReadBy(read, **schema)


#: A text, of any length.
Line = Annotated[str, line()]


# --- every mistake at once -----------------------------------------------------------------------


def checked(model: type[Model], raw: dict[str, Any]) -> tuple[Model, list[Told], set[KeyPath]]:
    """Return what a table says as a model, every mistake in it, and the keys that were refused.

    With a mistake, the model is its partial twin, of what could be read; what is refused is taken
    out of `raw`.
    """
    told: list[Told] = []
    refused: set[KeyPath] = set()
    use: Any = model
    for _ in range(_MOST_TRIES):
        try:
            found: Model = use.model_validate(raw, context=IN_A_FILE)
        except ValidationError as error:
            use = partial_of(model)
            details = [d for d in error.errors(include_url=False) if not _waits(d)]
            # from the last to the first: what leaves a list moves nothing that is still to go
            for detail in reversed(details):
                _leave_out(raw, detail["loc"])
            for detail in details:
                keys = tuple(map(str, detail["loc"]))
                refused.add(keys)
                if detail["type"] == "extra_forbidden":
                    here = _table_at(model, keys[:-1])
                    known = here.known_keys() if len(told) < _MOST_HINTS else ()
                    meant = nearest(keys[-1], known)
                    told.append((keys, _not_a_key(here, keys[-1], meant)))
                    refused.add((*keys[:-1], meant or keys[-1]))
                else:
                    told.append((keys, _message(keys[-1], detail)))
            continue
        if use is not model:
            told += _between_keys(found, (), refused)
        return found, told, refused
    raise AssertionError("what is refused can be left out")  # pragma: no cover


def _waits(detail: Any) -> bool:
    """Return whether a mistake is looked for in what is left: missing, or between keys."""
    about = detail.get("ctx", {}).get("about")
    return bool(detail["type"] == "missing" or about == BETWEEN_KEYS)


def _leave_out(raw: Any, location: tuple[int | str, ...]) -> None:
    *above, last = location
    with suppress(LookupError):  # the table that it stood in is left out already
        for part in above:
            raw = raw[part]
        del raw[last]


def _not_a_key(table: type[Checked], key: str, meant: str | None) -> str:
    if key in table.gone:
        return table.gone[key]
    what, these = table.no_key
    hint = f"did you mean {meant}?" if meant else f"{these} {listed(table.known_keys())}"
    return f"{shown(key)} {what.format(table.called)}; {hint}"


def _message(key: str, detail: Any) -> str:
    context = detail.get("ctx", {})
    if detail["type"] == "literal_error":
        return f"{key} is {context['expected']}".replace("'", '"')
    message: str = context.get("message", detail["msg"])
    return f"{key} {message}" if context.get("about") == _AFTER_THE_KEY else message


def _table_at(model: type[Checked], keys: KeyPath) -> type[Checked]:
    """Return the model of the table that stands at a path."""
    here: Any = model
    for part in keys:
        if isinstance(here, dict):
            here = here["each"]
        elif not part.isdigit():
            here = table_in(next(f.takes for f in fields_of(here).values() if f.key == part))
    found: type[Checked] = here
    return found


def _between_keys(table: Checked, above: KeyPath, refused: set[KeyPath]) -> Iterator[Told]:
    """Return what is missing and what does not go together, but for what was refused already."""
    fields = type(table).model_fields
    for key in table.required():
        name = next(n for n, field in fields.items() if (field.alias or n) == key)
        if getattr(table, name) is None and (*above, key) not in refused:
            yield above, _missing(table, key, fields[name].annotation)
    for path, mistake in table.complaints():
        keys = [path, *((key,) for key in mistake.with_keys)]
        if not any((*above, *each) in refused for each in keys):
            yield (*above, *path), mistake.message
    for name, field in fields.items():
        value = getattr(table, name)
        inside: Any = ()
        if isinstance(value, Checked):
            inside = [((), value)]
        elif isinstance(value, tuple):
            inside = [((str(number),), each) for number, each in enumerate(value)]
        elif isinstance(value, dict):
            inside = [((ident,), each) for ident, each in value.items()]
        for path, each in inside:
            if isinstance(each, Checked):
                yield from _between_keys(each, (*above, field.alias or name, *path), refused)


def _missing(table: Checked, key: str, takes: Any) -> str:
    words = next((get_args(t) for t in (takes, *get_args(takes)) if get_origin(t) is Literal), ())
    due = f"it is {' or '.join(map(shown, words))}" if words else f"every {table.called} needs it"
    return f"{key} is missing: {due}"
