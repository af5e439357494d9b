"""Water and ice of a bakery as they are entered: taps and chiller, ice, kettle."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from api.schemas.base import Entry, Id, Number, ReadAsWord, Whole, slug
from api.schemas.units import wrong
from planner import water_sources as sources
from planner.estimate import Estimate

USUAL_ICE: dict[sources.IceKind, tuple[float, float]] = {
    sources.IceKind.FLAKE: (-2.0, 0.90),
    sources.IceKind.CRUSHED: (-2.0, 0.95),
    sources.IceKind.NUGGET: (-1.0, 0.90),
    sources.IceKind.CUBE: (-8.0, 1.0),
}
"""Usual temperature [°C] and share of true ice by kind: machine-made ice stands wet near its
melting point, cubes come dry from a freezer (our guesses; flake 0.90 ± 0.07)."""


WATER_REMEDY = "enter it, or a tap's coldest_c and warmest_c of the year"


class WaterInput(Entry):
    """A source of dough water."""

    kind: Annotated[
        sources.SupplyKind, ReadAsWord, Field(description="Where it comes from.", examples=["tap"])
    ]
    temperature_c: Annotated[
        Number | None,
        Field(
            description="Temperature at the bowl [°C]; not needed for a tap with its season.",
            examples=[17.0],
        ),
    ] = None
    coldest_c: Annotated[
        Number | None,
        Field(description="Coldest a tap gets in a year [°C].", examples=[6.0]),
    ] = None
    warmest_c: Annotated[
        Number | None,
        Field(description="Warmest a tap gets in a year [°C].", examples=[18.0]),
    ] = None
    warmest_month: Annotated[
        Whole,
        Field(description="Month in which the tap is warmest, 1 to 12.", examples=[8]),
    ] = 8
    name: Annotated[
        str | None,
        Field(description="What it is called; its kind when left out.", examples=["cold tap"]),
    ] = None
    id: Id = None
    tank_kg: Annotated[
        Number | None, Field(description="Water in a full chiller tank [kg].", examples=[150.0])
    ] = None
    recovery_kg_per_h: Annotated[
        Number | None,
        Field(description="Water a chiller cools in an hour [kg/h].", examples=[40.0]),
    ] = None

    @model_validator(mode="after")
    def _is_known(self) -> WaterInput:
        extremes = {"coldest_c": self.coldest_c, "warmest_c": self.warmest_c}
        missing = [key for key, told in extremes.items() if told is None]
        if len(missing) == 1:
            raise wrong(missing[0], None, "is missing", "enter both, coldest_c and warmest_c")
        if missing and self.temperature_c is None:
            raise wrong("temperature_c", None, "is missing", WATER_REMEDY)
        return self

    @property
    def key(self) -> str:
        """Its id: the one given, or the name in short."""
        return self.id or slug(self.name or self.kind)

    def _season(self) -> sources.Season | None:
        if self.coldest_c is None or self.warmest_c is None:
            return None
        return sources.Season(self.coldest_c, self.warmest_c, self.warmest_month)

    def to_core(self) -> sources.WaterSupply:
        """Return the core's supply."""
        season, usual_c = self._season(), self.temperature_c
        if usual_c is None:  # then there is a season, see above
            usual_c = ((self.coldest_c or 0.0) + (self.warmest_c or 0.0)) / 2
        return sources.WaterSupply(
            self.key,
            self.name or str(self.kind),
            self.kind,
            Estimate(usual_c),
            self.tank_kg,
            self.recovery_kg_per_h,
            season,
        )


class IceInput(Entry):
    """Ice in the house."""

    kind: Annotated[
        sources.IceKind, ReadAsWord, Field(description="Ice by its shape.", examples=["flake"])
    ]
    bin_kg: Annotated[Number, Field(description="The most the store holds [kg].", examples=[80.0])]
    make_kg_per_h: Annotated[
        Number, Field(description="Ice made in an hour [kg/h].", examples=[8.0])
    ] = 0.0
    temperature_c: Annotated[
        Number | None, Field(description="Temperature of the ice [°C].", examples=[-2.0])
    ] = None
    true_ice_fraction: Annotated[
        Number | None,
        Field(description="Share of its weight that is ice and not water.", examples=[0.9]),
    ] = None

    def to_core(self) -> sources.IceSupply:
        """Return the core's ice."""
        usual_c, usual_fraction = USUAL_ICE[self.kind]
        basis = f"usual {self.kind} ice"
        return sources.IceSupply(
            self.kind,
            Estimate.entered_or(self.temperature_c, usual_c, 2.0, basis),
            Estimate.entered_or(self.true_ice_fraction, usual_fraction, 0.07, basis),
            self.make_kg_per_h,
            self.bin_kg,
        )


class KettleInput(Entry):
    """What boils water for scalds."""

    kg_per_h: Annotated[
        Number, Field(description="Boiling water it makes in an hour [kg/h].", examples=[60.0])
    ]
    holds_kg: Annotated[
        Number, Field(description="The most it gives at once [kg].", examples=[40.0])
    ]

    def to_core(self) -> sources.Kettle:
        """Return the core's kettle."""
        return sources.Kettle(self.kg_per_h, self.holds_kg)
