"""What the keys of a rule take, and the tables within it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, ConfigDict, Field

from buildlint.files.mistakes import Checked, Line, ReadBy, wrong
from buildlint.files.part_models import PART_KINDS
from buildlint.files.readings import LONGEST, Mistake
from buildlint.files.tables import Complaint
from buildlint.text.words import clean, shown

__all__ = [
    "ASKS",
    "ASKS_OF_A_BAND",
    "MOST_BANDS",
    "TURNABLE",
    "Asks",
    "Band",
    "Level",
    "Only",
    "Turned",
]

Level = Literal["must", "should"]

#: What one can ask.
ASKS = (
    *("at_most", "at_least", "between", "same_within", "as_planned_within"),
    *("bands", "is", "one_of"),
)
#: Of these, what a band can.
ASKS_OF_A_BAND = ("at_most", "at_least", "between")
#: What a rule may name under turn: readings that are solved for, and parts that are tried.
TURNABLE = ("hold_back", "limiter", "collar", *PART_KINDS)

#: The most bands of one rule.
MOST_BANDS = 100

# --- what the keys take --------------------------------------------------------------------------


def _limit(given: Any) -> str:
    if not isinstance(given, str):
        raise wrong('a limit is a reading in quotes, such as "6.4 mm"')
    return " ".join(str.split(given))


def _between(given: Any) -> tuple[str, ...]:
    if not isinstance(given, (list, tuple)) or len(given) != 2:
        raise wrong('between takes two limits, such as ["1 mm", "2 mm"]')
    return tuple(map(_limit, given))


def _ids(given: Any) -> tuple[str, ...]:
    fits = isinstance(given, (list, tuple)) and given
    if not fits or not all(isinstance(each, str) and clean(each) == each for each in given):
        raise wrong("one_of takes a list of ids, each in quotes")
    return tuple(map(str, given))


def _true(given: Any) -> bool:
    if given is not True:
        raise wrong("is takes true")
    return True


def _turned(given: Any) -> str:
    if isinstance(given, str) and given in TURNABLE:
        return str(given)
    what = shown(given) if isinstance(given, str) else "this"
    raise wrong(f"{what} cannot be turned; these can: {', '.join(TURNABLE)}")


def _class(given: Any) -> str:
    if not isinstance(given, str) or clean(given) != given:
        raise wrong("class is text in quotes")
    return str(given)


_LIMIT_SCHEMA = {"type": "string", "minLength": 1, "maxLength": LONGEST}
Limit = Annotated[str, ReadBy(_limit, **_LIMIT_SCHEMA)]
Between = Annotated[
    tuple[str, ...],
    ReadBy(_between, type="array", items=_LIMIT_SCHEMA, minItems=2, maxItems=2),
]
Ids = Annotated[tuple[str, ...], ReadBy(_ids, type="array", items={"type": "string"}, minItems=1)]
IsTrue = Annotated[bool, ReadBy(_true, const=True)]
Turned = Annotated[str, ReadBy(_turned, type="string", enum=[*TURNABLE])]
CarClass = Annotated[str, ReadBy(_class, type="string")]

_AT_MOST = "The figure is no more than this."
_AT_LEAST = "The figure is no less than this."
_BETWEEN = "The figure lies between these two, the smaller one first."


class Band(Checked):
    """A limit that holds up to a value of the figure under by."""

    model_config = ConfigDict(title="Band")
    called: ClassVar[str] = "band"
    together: ClassVar[dict[str, Any]] = {"oneOf": [{"required": [key]} for key in ASKS_OF_A_BAND]}

    up_to: Limit | None = Field(
        default=None,
        description="The band holds up to this value of the figure under by.",
        examples=["45 mm"],
    )
    at_most: Limit | None = Field(default=None, description=_AT_MOST, examples=["3 mm"])
    at_least: Limit | None = Field(default=None, description=_AT_LEAST, examples=["1 mm"])
    between: Between | None = Field(
        default=None, description=_BETWEEN, examples=[["4.5 mm", "8.5 mm"]]
    )

    def complaints(self) -> Iterator[Complaint]:
        """One limit stands in a band."""
        if len([key for key in ASKS_OF_A_BAND if getattr(self, key) is not None]) != 1:
            what = "a band has one of at_most, at_least, between"
            yield (), Mistake("", what, with_keys=ASKS_OF_A_BAND)


class Only(Checked):
    """Which dampers a rule speaks of; what is left out is any."""

    model_config = ConfigDict(title="Only")
    called: ClassVar[str] = "table under only"
    no_key: ClassVar[tuple[str, str]] = ("is not a key of only", "its keys are")

    style: Literal["bladder", "emulsion"] | None = Field(
        default=None, description="Only dampers of this style."
    )
    end: Literal["front", "rear"] | None = Field(
        default=None, description="Only dampers at this end of the car."
    )
    cap: Literal["vented", "sealed"] | None = Field(
        default=None, description="Only dampers with such a cap."
    )
    car_class: CarClass | None = Field(
        default=None,
        alias="class",
        description="Only cars of this class; capitals make no difference.",
    )

    @property
    def words(self) -> dict[str, str]:
        """What it is narrowed to, by key."""
        found = {key: getattr(self, name) for name, key in _ONLY_KEYS}
        return {key: word for key, word in found.items() if word is not None}


_ONLY_KEYS = (("style", "style"), ("end", "end"), ("cap", "cap"), ("car_class", "class"))


def _bands(given: Any) -> Any:
    listed = isinstance(given, (list, tuple)) and given
    if not listed or not all(isinstance(each, (dict, Band)) for each in given):
        example = '[{ up_to = "45 mm", at_most = "3 mm" }, { at_most = "8 mm" }]'
        raise wrong(f"bands takes a list, such as {example}")
    if len(given) > MOST_BANDS:
        raise wrong(f"at most {MOST_BANDS} bands fit")
    return given


class Asks(Checked):
    """What may be asked of a measure: one of these."""

    by: Line | None = Field(
        default=None, description="The figure that the bands go by.", examples=["body_length"]
    )
    at_most: Limit | None = Field(default=None, description=_AT_MOST, examples=["10 mm"])
    at_least: Limit | None = Field(default=None, description=_AT_LEAST, examples=["1 mm"])
    between: Between | None = Field(default=None, description=_BETWEEN, examples=[["1 mm", "2 mm"]])
    same_within: Limit | None = Field(
        default=None,
        description='Left and right differ by no more than this; "exactly" for an id.',
        examples=["0.5 mm", "exactly"],
    )
    as_planned_within: Limit | None = Field(
        default=None,
        description="What was read on a side differs by no more than this from what its end says, "
        "which was planned.",
        examples=["0.5 mm"],
    )
    bands: Annotated[tuple[Band, ...], Field(min_length=1), BeforeValidator(_bands)] = Field(
        default=(),
        description="Limits that hold up to values of another figure; the last has no up_to.",
        examples=[[{"up_to": "45 mm", "at_most": "3 mm"}, {"at_most": "8 mm"}]],
    )
    is_: IsTrue | None = Field(
        default=None, alias="is", description="The question is answered with yes."
    )
    one_of: Ids | None = Field(
        default=None, description="The id is one of these.", examples=[["o350", "o450"]]
    )

    @property
    def asked(self) -> dict[str, Any]:
        """What is asked, by its key in a file."""
        found = {key: getattr(self, "is_" if key == "is" else key) for key in ASKS}
        return {key: given for key, given in found.items() if given not in (None, ())}
