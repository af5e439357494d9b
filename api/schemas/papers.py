"""Papers: how a bakery wants them, which are asked for, and their rows for other programs."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from api.pages.choice import Paper
from api.pages.rows import PaperRow
from api.pages.sheet import PaperSize
from api.pages.weighing import Scales
from api.pages.wording import Units
from api.pages.words import LANGUAGES, Words
from api.schemas.base import Entry, Number, ReadAsWord
from api.schemas.units import wrong


def _known_language(value: str | None) -> str | None:
    if value is not None and value not in LANGUAGES:
        raise wrong("", value, "is no language of the papers", f"write {' or '.join(LANGUAGES)}")
    return value


def _known_size(value: object) -> object:
    by_name = {size.value.casefold(): size for size in PaperSize}
    return by_name.get(value.strip().casefold(), value) if isinstance(value, str) else value


Language = Annotated[
    str,
    AfterValidator(_known_language),
    Field(description="Language of the papers: en or es.", examples=["en"]),
]
SecondLanguage = Annotated[
    str | None,
    AfterValidator(_known_language),
    Field(description="A second language behind each word, for a mixed crew.", examples=["es"]),
]


class PapersInput(Entry):
    """How a bakery wants its papers."""

    language: Language = "en"
    second_language: SecondLanguage = None
    size: Annotated[
        Literal["a4", "letter"],
        ReadAsWord,
        Field(description="Size of the sheets: A4 or Letter.", examples=["a4"]),
    ] = "a4"
    scale_step: Annotated[
        Number | None,
        Field(
            gt=0,
            le=1,
            description="Step of the scale for flour and water, in the unit that is printed"
            " [kg or lb]; 0.01, or 0.001 for small batches, when left out.",
            examples=[0.02],
        ),
    ] = None
    small_scale_step: Annotated[
        Number,
        Field(
            gt=0,
            le=0.1,
            description="Step of the small scale, in the unit that is printed [kg or lb].",
            examples=[0.001],
        ),
    ] = 0.001
    small_scale_below: Annotated[
        Number,
        Field(
            ge=0,
            le=100,
            description="Lines lighter than this are weighed on the small scale [kg or lb].",
            examples=[1.0],
        ),
    ] = 1.0
    aliases: Annotated[
        dict[str, str],
        Field(
            description="What the house calls a thing, by the word that is printed otherwise;"
            " names that you entered stay as they are.",
            examples=[{"levain": "sour"}],
        ),
    ] = Field(default_factory=dict)

    @property
    def scales(self) -> Scales:
        """Steps of the house's scales."""
        return Scales(self.scale_step, self.small_scale_step, self.small_scale_below)

    @property
    def words(self) -> Words:
        """Words of the house."""
        return Words(self.language, self.second_language, self.aliases)

    @property
    def paper_size(self) -> PaperSize:
        """Size of its sheets."""
        return PaperSize.LETTER if self.size == "letter" else PaperSize.A4


class DrawingQuery(BaseModel):
    """In which words and units the drawing of a day is wanted."""

    model_config = ConfigDict(extra="forbid")

    language: Annotated[
        str | None,
        AfterValidator(_known_language),
        Field(description="Language, instead of the bakery's own.", examples=["es"]),
    ] = None
    second_language: SecondLanguage = None
    units: Annotated[
        Units | None, Field(description="Units, instead of the bakery's own.", examples=["us"])
    ] = None


class PapersQuery(DrawingQuery):
    """Which papers are wanted; the small pack of the whole shift when nothing is said."""

    paper: Annotated[
        list[Paper],
        Field(description="Kinds of paper; say it again for more.", examples=[["divide", "bake"]]),
    ] = Field(default_factory=list)
    person: Annotated[
        str | None, Field(description="Only what this person does.", examples=["ana"])
    ] = None
    place: Annotated[
        str | None,
        Field(
            description="Only what happens at this mixer, oven, room, chamber or at the `bench`.",
            examples=["deck_oven"],
        ),
    ] = None
    from_utc: Annotated[
        datetime | None,
        Field(description="Only what starts from then on [UTC].", examples=["2026-07-15T18:00Z"]),
    ] = None
    until_utc: Annotated[
        datetime | None,
        Field(description="Only what starts before then [UTC].", examples=["2026-07-16T02:00Z"]),
    ] = None
    ticket: Annotated[
        list[str],
        Field(
            description="Mixes that get a full ticket though they are plain; say it again for"
            " more.",
            examples=[["rolls_early"]],
        ),
    ] = Field(default_factory=list)
    size: Annotated[
        PaperSize | None,
        Field(description="Size of the sheets, instead of the bakery's own.", examples=["Letter"]),
    ] = None
    compared_with: Annotated[
        str | None,
        Field(
            description="Id of the plan whose papers hang on the wall, for what changed; the"
            " version before when left out.",
            examples=["weir.2026-07-16.1"],
        ),
    ] = None


class RowRead(BaseModel):
    """One row of the shift's sheet, as it is printed, and as moments and ids."""

    at_utc: Annotated[
        datetime, Field(description="When it is due [UTC].", examples=["2026-07-15T21:40:00Z"])
    ]
    local_date: Annotated[
        str, Field(description="Date by the bakery's clock.", examples=["2026-07-15"])
    ]
    local_time: Annotated[str, Field(description="Time by that clock.", examples=["23:40"])]
    hands_on: Annotated[
        bool, Field(description="Whether a person does it; else it waits.", examples=[True])
    ]
    what: Annotated[str, Field(description="What is done or waits.", examples=["divide"])]
    subject: Annotated[
        str, Field(description="Id of the mix, load or preparation.", examples=["rolls_early"])
    ]
    mix: Annotated[str, Field(description="Number and dough on paper.", examples=["1 white dough"])]
    amount: Annotated[str, Field(description="How much.", examples=["120 pcs"])]
    place: Annotated[str, Field(description="Where.", examples=["rack oven"])]
    place_id: Annotated[str, Field(description="Id of the place.", examples=["rack_oven"])]
    person: Annotated[str, Field(description="Who.", examples=["Ana"])]
    person_id: Annotated[str, Field(description="Id of the person.", examples=["ana"])]
    target: Annotated[str, Field(description="Temperature to reach.", examples=["25.0 °C"])]
    limit: Annotated[
        str, Field(description="Last time, or what limits a wait.", examples=["by 01:35"])
    ]
    ends: Annotated[str, Field(description="When a wait ends.", examples=["02:30"])]

    @classmethod
    def of(cls, row: PaperRow) -> RowRead:
        """Return a row of the papers as it is sent."""
        return cls.model_validate(row, from_attributes=True)
