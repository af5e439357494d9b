"""Lines and steps of a formula as they are entered: what goes in, and what is done to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated

from pydantic import Field

from api.schemas.base import Entry, Number, ReadAsWord, Whole, every, found_id
from api.schemas.equipment import Speed
from api.schemas.house import House
from planner import formula as core
from planner import lines
from planner.materials import Material, properties


class CompositionInput(Entry):
    """What an unusual ingredient is made of, as shares of its mass; the rest is carbohydrate."""

    water: Annotated[Number, Field(description="Share of water.", examples=[0.75])] = 0.0
    fat: Annotated[Number, Field(description="Share of fat.", examples=[0.02])] = 0.0
    protein: Annotated[Number, Field(description="Share of protein.", examples=[0.05])] = 0.0
    fibre: Annotated[Number, Field(description="Share of fibre.", examples=[0.03])] = 0.0
    ash: Annotated[Number, Field(description="Share of minerals.", examples=[0.01])] = 0.0

    def to_core(self) -> lines.Composition:
        """Return the core's composition."""
        return lines.Composition(self.water, self.fat, self.protein, self.fibre, self.ash)


class LineInput(Entry):
    """One ingredient."""

    material: Annotated[
        Material, ReadAsWord, Field(description="What it is.", examples=["wheat flour"])
    ]
    percent: Annotated[
        Number, Field(description="Baker's percent of the total flour [%].", examples=[65.0])
    ]
    name: Annotated[
        str,
        Field(description="Its name on the sheet; the material's when empty.", examples=["T65"]),
    ] = ""
    temperature_c: Annotated[
        Number | None,
        Field(
            description="Temperature when it goes in [°C]; that of its store when left out.",
            examples=[5.0],
        ),
    ] = None
    store: Annotated[
        str | None,
        Field(
            description="Flour store, room or chamber it stands in; the usual one when left out.",
            examples=["silo"],
        ),
    ] = None
    step: Annotated[
        Whole,
        Field(description="Mixing step at whose start it goes in, from 0 on.", examples=[0]),
    ] = 0
    composition: Annotated[
        CompositionInput | None,
        Field(
            description="What it is made of, for a material that is not in the list.",
            examples=[{"water": 0.75, "protein": 0.05}],
        ),
    ] = None

    allergens: Annotated[
        list[str],
        Field(
            description="Allergens beside those of its material, by their label words.",
            examples=[["soya"]],
        ),
    ] = Field(default_factory=list)

    def to_core(self, house: House) -> lines.Line:
        """Return the core's line."""
        known = (*house.flour_stores, *house.places)
        return lines.Line(
            self.material,
            self.percent,
            self.name,
            self.temperature_c,
            None if self.store is None else found_id(self.store, known),
            self.step,
            None if self.composition is None else self.composition.to_core(),
            frozenset(one.casefold() for one in self.allergens),
        )


class StepInput(Entry):
    """One step of mixing."""

    speed: Annotated[Speed, Field(description="What the mixer does.", examples=["first speed"])]
    minutes: Annotated[Number, Field(description="How long [min].", examples=[5.0])]

    def to_core(self) -> core.MixStep:
        """Return the core's step."""
        return core.MixStep(self.speed, self.minutes)


def lines_to_core(lines: Sequence[LineInput], house: House) -> tuple[lines.Line, ...]:
    """Return the core's lines.

    Raises
    ------
    InputError
        With every line that is wrong.
    """
    return every("lines", lines, lambda line: line.to_core(house))


def rye_share(lines: Sequence[LineInput]) -> float:
    """Return the share of rye in the flour of some lines, 0 to 1.

    Examples
    --------
    >>> rye_share([LineInput(material="rye flour", percent=30), LineInput(material="water",
    ...     percent=30), LineInput(material="wheat flour", percent=70)])
    0.3
    """
    flour = sum(line.percent for line in lines if properties(line.material).is_flour)
    rye = sum(line.percent for line in lines if line.material is Material.RYE_FLOUR)
    return rye / flour if flour else 0.0
