"""What every input schema shares: strictness, units, plain sentences, ids, collecting faults."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum
from typing import Annotated, Any, Self, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ModelWrapValidatorHandler,
    ValidationError,
    model_validator,
)
from pydantic_core import ErrorDetails, InitErrorDetails, PydanticCustomError

from api.schemas.sentences import sentence
from api.schemas.units import Rewritten, in_si, number_from, shown, whole_number_from, wrong
from planner.errors import Fault, InputError

Made = TypeVar("Made")

Number = Annotated[float, BeforeValidator(number_from)]
"""A number; as text also with a decimal comma."""

Whole = Annotated[int, BeforeValidator(whole_number_from)]
"""A whole number."""


def as_word(value: object) -> object:
    """Return a word of a fixed list as it is spelled there: lower case, blanks between words.

    Examples
    --------
    >>> as_word("Hand_and-Bowl ")
    'hand and bowl'
    """
    if isinstance(value, str) and not isinstance(value, StrEnum):
        return " ".join(value.casefold().replace("_", " ").replace("-", " ").split())
    return value


ReadAsWord = BeforeValidator(as_word)
"""Put beside a fixed list of words, so that case and blanks do not matter."""

Name = Annotated[
    str, Field(min_length=1, description="What it is called on the sheet.", examples=["bakehouse"])
]


def _plain_id(value: str | None) -> str | None:
    if value and any(c.isspace() or c in "/.[]" for c in value):
        raise wrong(
            "", value, "holds a blank, dot, slash or bracket", "use letters, digits, - and _"
        )
    return value


Id = Annotated[
    str | None,
    AfterValidator(_plain_id),
    Field(
        description="Short name that stays the same and that other entries use; made from the"
        " name when left out.",
        examples=["bakehouse"],
    ),
]


class Entry(BaseModel):
    """Base of all that is entered, from a day file or as JSON.

    Unknown fields, NaN and infinities are refused; other units are turned into SI; what is wrong
    is said in plain words.
    """

    model_config = ConfigDict(
        extra="forbid",
        allow_inf_nan=False,
        str_strip_whitespace=True,
        frozen=True,
        serialize_by_alias=True,
        validate_by_name=True,
        validate_by_alias=True,
    )

    @model_validator(mode="wrap")
    @classmethod
    def _read(cls, entry: Any, handler: ModelWrapValidatorHandler[Self]) -> Self:  # noqa: ANN401  whatever was sent
        """Turn units into SI and every complaint into a sentence."""
        if not isinstance(entry, dict):
            return handler(entry)
        rewritten = in_si(_keys(cls), entry)
        found = [_detail((key,), value, error) for key, value, error in rewritten.wrongs]
        try:
            made = handler(rewritten.data)
        except ValidationError as error:
            found += _in_words(cls, error, rewritten)
        if found:
            raise ValidationError.from_exception_data(cls.__name__, found)
        return made


class Named(Entry):
    """Something with a name, and an id made from it."""

    name: Name
    id: Id = None

    @property
    def key(self) -> str:
        """Its id: the one given, or the name in short."""
        return self.id or slug(self.name)


def _keys(model: type[BaseModel]) -> list[str]:
    return [info.alias or name for name, info in model.model_fields.items()]


def _detail(
    loc: tuple[str | int, ...], value: object, error: PydanticCustomError
) -> InitErrorDetails:
    return InitErrorDetails(type=error, loc=loc, input=value)


def _in_words(
    model: type[BaseModel], error: ValidationError, rewritten: Rewritten
) -> list[InitErrorDetails]:
    """Return a library's complaints as sentences, each at the key that was written."""
    found = []
    misnamed = {key for key, _, _ in rewritten.wrongs}
    for one in error.errors(include_url=False):
        loc = one["loc"]
        written = rewritten.written_as.get(str(loc[0]), str(loc[0])) if loc else ""
        if one["type"] == "missing" and written in misnamed:
            continue
        at = (written, *loc[1:]) if loc else ()
        found.append(_detail(at, one["input"], _worded(model, one)))
    return found


def _worded(model: type[BaseModel], error: ErrorDetails) -> PydanticCustomError:
    context = error.get("ctx", {})
    if error["type"] == "fault":
        return PydanticCustomError("fault", "{problem}; {remedy}", context)
    infos = {info.alias or name: info for name, info in model.model_fields.items()}
    info = infos.get(str(error["loc"][0])) if error["loc"] else None
    problem, remedy = sentence(error, info, list(infos))
    if error["type"] == "missing":
        return wrong("", None, problem, remedy)
    if error["type"].startswith("union_tag"):
        key = str(context["discriminator"]).strip("'")
        return wrong(key, context.get("tag"), problem, remedy)
    return wrong("", error["input"], problem, remedy)


def slug(name: str) -> str:
    """Return a name in short: lower case, without accents, words joined by underscores.

    Examples
    --------
    >>> slug("Pain de Campagne, 1 kg")
    'pain_de_campagne_1_kg'
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    kept = "".join(c for c in plain if not unicodedata.combining(c))
    return "_".join("".join(c if c.isalnum() else " " for c in kept).split())


class Faults:
    """Collects every fault of an input, so that none hides behind the first.

    Parameters
    ----------
    prefix
        Path below which all that is added here stands.
    """

    def __init__(self, prefix: str = "", found: list[Fault] | None = None) -> None:
        self.prefix = prefix
        self.found: list[Fault] = [] if found is None else found

    def at(self, *parts: str) -> Faults:
        """Return a collector of the same faults, one or more steps further down."""
        return Faults(".".join(p for p in (self.prefix, *parts) if p), self.found)

    def add(self, field: str, value: object, problem: str, remedy: str) -> None:
        """Add a fault of one field."""
        text = value if isinstance(value, str) else shown(value)
        self.extend([Fault(field, text, problem, remedy)])

    def extend(self, faults: Iterable[Fault]) -> None:
        """Add faults that the core found, in the words of the input."""
        for fault in faults:
            value = "nothing" if fault.value in {"None", "()", "''"} else fault.value
            worded = Fault(_in_input_words(fault.field), value, fault.problem, fault.remedy)
            self.found.append(_below(self.prefix, worded))

    def build(self, make: Callable[..., Made], *args: Any, **kwargs: Any) -> Made | None:  # noqa: ANN401  passed on as they are
        """Return what ``make`` builds, or None after noting why it could not."""
        try:
            return make(*args, **kwargs)
        except InputError as error:
            self.extend(error.faults)
            return None

    def settle(self) -> None:
        """Raise all that was collected.

        Raises
        ------
        InputError
            If there is any fault.
        """
        if self.found:
            raise InputError(self.found)


def every(
    list_name: str, entries: Sequence[Any], to_core: Callable[[Any], Made]
) -> tuple[Made, ...]:
    """Return the core's values of a list's entries.

    Raises
    ------
    InputError
        With every entry that is wrong, by its index.
    """
    faults = Faults()
    made = [faults.at(f"{list_name}[{i}]").build(to_core, entry) for i, entry in enumerate(entries)]
    faults.settle()
    return tuple(one for one in made if one is not None)


def _below(prefix: str, fault: Fault) -> Fault:
    if not prefix:
        return fault
    if not fault.field:
        return Fault(prefix, fault.value, fault.problem, fault.remedy)
    return fault.under(prefix)


CORE_WORDS = {
    "place_id": "place",
    "room_id": "room",
    "formula_id": "formula",
    "product_id": "product",
    "person_id": "person",
    "mixer_id": "mixer",
    "mix_id": "mix",
    "store_id": "store",
    "vessel_id": "vessel",
    "oven_ids": "ovens",
    "supplies": "water",
    "supplies_c": "water_c",
    "routes": "proof",
    "start_utc": "from",
    "end_utc": "to",
}
"""Names of the core that are spelled otherwise in a day file."""


def _in_input_words(path: str) -> str:
    parts = [part.partition("[") for part in path.split(".")]
    return ".".join(CORE_WORDS.get(a, a) + bracket + rest for a, bracket, rest in parts)


def check_ids(faults: Faults, list_name: str, ids: Iterable[str]) -> None:
    """Note every id that stands twice in a list."""
    seen: set[str] = set()
    for i, one in enumerate(ids):
        if one in seen:
            faults.add(
                f"{list_name}[{i}].id", one, "is the id of two entries", "give each its own id"
            )
        seen.add(one)


def found_id(reference: str, known: Iterable[str]) -> str:
    """Return the id that a name or id refers to; as it is when there is none.

    Examples
    --------
    >>> found_id("Deck oven", ["deck_oven"])
    'deck_oven'
    """
    known = set(known)
    return reference if reference in known or slug(reference) not in known else slug(reference)
