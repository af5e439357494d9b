"""What stands in a bakery, as it is entered: rooms, mixers, ovens, water, ice, flour, vessels."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from api.schemas.base import Entry, Id, Named, Number, ReadAsWord, Whole, slug
from api.schemas.house import House, the_only
from api.schemas.units import wrong
from planner import bakery as core
from planner import mixers
from planner import water_sources as sources
from planner.estimate import Estimate, Origin

MixerKind = Annotated[mixers.MixerKind, ReadAsWord]
Speed = Annotated[mixers.Speed, ReadAsWord]

USUAL_CHAMBER_C: dict[core.ChamberKind, tuple[float, float]] = {
    core.ChamberKind.RETARDER: (4.0, 1.5),
    core.ChamberKind.COOLER: (4.0, 1.5),
    core.ChamberKind.PROOFER: (30.0, 2.0),
    core.ChamberKind.FREEZER: (-18.0, 3.0),
    core.ChamberKind.FRIDGE: (5.0, 1.5),
}
"""Usual air temperature of chambers with its standard deviation [°C, K] (our guesses)."""

FRIDGE_KW = Estimate(0.10, 0.04, Origin.ASSUMED, "usual kitchen fridge")
"""What a kitchen fridge takes from its shelves, its walls already served [kW] (our guess)."""

USUAL_ICE: dict[sources.IceKind, tuple[float, float]] = {
    sources.IceKind.FLAKE: (-2.0, 0.90),
    sources.IceKind.CRUSHED: (-2.0, 0.95),
    sources.IceKind.NUGGET: (-1.0, 0.90),
    sources.IceKind.CUBE: (-8.0, 1.0),
}
"""Usual temperature [°C] and share of true ice by kind: machine-made ice stands wet near its
melting point, cubes come dry from a freezer (our guesses; flake 0.90 ± 0.07)."""


class RoomInput(Named):
    """A room with its own air."""

    usual_c: Annotated[
        Number | None,
        Field(
            description="Usual air temperature [°C], for fermentation times told by the clock;"
            " the mean of the night when left out.",
            examples=[24.0],
        ),
    ] = None
    racks: Annotated[
        Whole | None,
        Field(
            description="Oven loads that can proof in it at once, one rack for each deck or rack;"
            " not limited when left out.",
            examples=[12],
        ),
    ] = None

    def to_core(self) -> core.Room:
        """Return the core's room."""
        return core.Room(self.key, self.name, self.racks)


class MixerInput(Named):
    """A mixer, or a bowl and two hands."""

    kind: Annotated[MixerKind, Field(description="How it works the dough.", examples=["spiral"])]
    max_dough_kg: Annotated[
        Number, Field(description="The most dough it takes [kg].", examples=[120.0])
    ]
    room: Annotated[
        str | None,
        Field(
            description="Room it stands in; the only room when left out.", examples=["bakehouse"]
        ),
    ] = None
    min_dough_kg: Annotated[
        Number | None, Field(description="The least dough it works [kg].", examples=[18.0])
    ] = None
    bowl_kg: Annotated[
        Number | None, Field(description="Weight of bowl and tool [kg].", examples=[42.0])
    ] = None
    loss_w_per_k: Annotated[
        Number | None,
        Field(description="Heat passed between dough and air while mixing [W/K].", examples=[17.0]),
    ] = None
    work_kj_per_kg_min: Annotated[
        dict[Speed, Number],
        Field(
            description="Mixing work by speed [kJ per kg of dough and minute].",
            examples=[{"first speed": 0.7, "second speed": 1.6}],
        ),
    ] = Field(default_factory=dict)
    cooling_k: Annotated[
        Number,
        Field(
            description="Degrees a cooled mixer takes off a full batch, by its maker's word [K].",
            examples=[3.0],
        ),
    ] = 0.0
    coolant_c: Annotated[
        Number | None,
        Field(
            description="Instead of degrees: the coolant in the jacket of a cooled mixer [°C].",
            examples=[-4.0],
        ),
    ] = None
    cooling_delay_min: Annotated[
        Number,
        Field(description="Minutes from the start until its jacket cools [min].", examples=[2]),
    ] = 0.0
    cooling_on: Annotated[
        bool, Field(description="Whether its cooling is used today.", examples=[True])
    ] = True
    clean_down_min: Annotated[
        Whole, Field(description="Minutes of cleaning between doughs [min].", examples=[10])
    ] = 10

    def to_core(self, house: House) -> mixers.Mixer:
        """Return the core's mixer, with defaults of its kind marked as assumed."""
        return mixers.mixer(
            self.key,
            self.name,
            self.kind,
            the_only("room", self.room, house.rooms, house.rooms),
            self.max_dough_kg,
            min_dough_kg=self.min_dough_kg,
            bowl_kg=self.bowl_kg,
            loss_w_per_k=self.loss_w_per_k,
            work_kj_per_kg_min=self.work_kj_per_kg_min,
            cooling_k=self.cooling_k,
            clean_down_min=self.clean_down_min,
            coolant_c=self.coolant_c,
            cooling_delay_min=self.cooling_delay_min,
            cooling_on=self.cooling_on,
        )


class OvenInput(Named):
    """An oven that takes so many loads at once."""

    kind: Annotated[
        core.OvenKind, ReadAsWord, Field(description="How it is loaded.", examples=["deck"])
    ] = core.OvenKind.DECK
    places: Annotated[
        Whole,
        Field(description="Decks or racks that can be loaded on their own.", examples=[4]),
    ] = 1
    recovery_min: Annotated[
        Whole,
        Field(description="Minutes to regain heat between two loads [min].", examples=[5]),
    ] = 5
    recovery_min_per_kg: Annotated[
        Number,
        Field(
            description="Minutes more for each kilo of dough on a deck or rack [min/kg].",
            examples=[0.2],
        ),
    ] = 0.0
    heats_k_per_min: Annotated[
        Number | None,
        Field(
            description="How fast it heats up to a higher set temperature, one for all its places"
            " [K/min]. With it, bread of unlike bake_c does not share the oven.",
            examples=[4.0],
        ),
    ] = None
    cools_k_per_min: Annotated[
        Number | None,
        Field(
            description="How fast it cools down to a lower set temperature [K/min].",
            examples=[1.0],
        ),
    ] = None
    falls_k_per_h: Annotated[
        Number | None,
        Field(
            description="How fast an oven that is fired before the bake cools [K/h]; its fires"
            " stand among the conditions of the night.",
            examples=[20.0],
        ),
    ] = None
    gap_min: Annotated[
        Whole,
        Field(
            description="Minutes a conveyor is left empty where its time or temperature changes"
            " [min].",
            examples=[8],
        ),
    ] = 5

    def to_core(self) -> core.Oven:
        """Return the core's oven."""
        return core.Oven(
            self.key,
            self.name,
            self.kind,
            self.places,
            self.recovery_min,
            self.recovery_min_per_kg,
            self.heats_k_per_min,
            self.cools_k_per_min,
            self.falls_k_per_h,
            self.gap_min,
        )


class ChamberInput(Named):
    """A retarder, proofer, cooler, freezer, or a kitchen fridge."""

    kind: Annotated[
        core.ChamberKind, ReadAsWord, Field(description="What it is for.", examples=["retarder"])
    ]
    racks: Annotated[
        Whole,
        Field(description="Oven loads it holds: one rack for each deck or rack.", examples=[8]),
    ]
    temperature_c: Annotated[
        Number | None,
        Field(description="Air temperature [°C]; usual of its kind when left out.", examples=[4.0]),
    ] = None

    cooling_kw: Annotated[
        Number | None,
        Field(
            description="Heat it takes from its load at that temperature [kW]; unlimited when left"
            " out, for a kitchen fridge the usual.",
            examples=[1.5],
        ),
    ] = None
    most_kg: Annotated[
        Number | None,
        Field(
            description="The most dough that may stand in it at once [kg], of doughs in bulk and"
            " of pieces together; only its racks count when left out.",
            examples=[400.0],
        ),
    ] = None

    def to_core(self) -> core.Chamber:
        """Return the core's chamber."""
        usual_c, sd_k = USUAL_CHAMBER_C[self.kind]
        cooling = FRIDGE_KW if self.kind is core.ChamberKind.FRIDGE else None
        return core.Chamber(
            self.key,
            self.name,
            self.kind,
            Estimate.entered_or(self.temperature_c, usual_c, sd_k, f"usual {self.kind}"),
            self.racks,
            cooling if self.cooling_kw is None else Estimate(self.cooling_kw),
            self.most_kg,
        )


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


class FlourStoreInput(Named):
    """Where flour stands."""

    kind: Annotated[
        core.FlourStoreKind, ReadAsWord, Field(description="How it stands.", examples=["sack"])
    ]
    place: Annotated[
        str | None,
        Field(
            description="Room or chamber it stands in; the only room when left out.",
            examples=["flour loft"],
        ),
    ] = None
    moisture_fraction: Annotated[
        Number | None, Field(description="Flour moisture, as a share.", examples=[0.14])
    ] = None
    conveying_offset_k: Annotated[
        Number, Field(description="Degrees gained on the way to the bowl [K].", examples=[2.0])
    ] = 0.0

    def to_core(self, house: House) -> core.FlourStore:
        """Return the core's flour store."""
        return core.FlourStore(
            self.key,
            self.name,
            self.kind,
            house.place(self.place),
            Estimate.entered_or(self.moisture_fraction, 0.14, 0.01, "usual flour, 13 to 15 %"),
            self.conveying_offset_k,
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


class TubInput(Named):
    """A kind of tub in which doughs rise."""

    holds_kg: Annotated[
        Number, Field(description="Dough that rises well in one of them [kg].", examples=[25.0])
    ]
    count: Annotated[Whole, Field(description="How many there are.", examples=[12])]

    def to_core(self) -> core.Tub:
        """Return the core's tub."""
        return core.Tub(self.key, self.name, self.holds_kg, self.count)


class VesselInput(Named):
    """A tub, pan, bowl or tray."""

    shape: Annotated[
        core.VesselShape, ReadAsWord, Field(description="Round or box.", examples=["round"])
    ]
    length_m: Annotated[
        Number, Field(description="Inner length, or diameter when round [m].", examples=[0.4])
    ]
    width_m: Annotated[
        Number | None, Field(description="Inner width [m]; not when round.", examples=[0.3])
    ] = None
    capacity_kg: Annotated[
        Number, Field(description="The most it takes [kg of dough or paste].", examples=[20.0])
    ]
    cover: Annotated[
        core.Cover, ReadAsWord, Field(description="What lies on it.", examples=["film"])
    ] = core.Cover.FILM
    wall_kg: Annotated[Number, Field(description="Weight of the vessel [kg].", examples=[2.0])] = (
        0.0
    )
    material: Annotated[
        Literal["steel", "plastic"],
        ReadAsWord,
        Field(description="What it is made of.", examples=["steel"]),
    ] = "steel"
    count: Annotated[Whole, Field(description="How many there are.", examples=[4])] = 1
    pour_loss: Annotated[
        Number | None,
        Field(
            description="Share of the rise over the room that a pour into it loses, 0 to 0.6.",
            examples=[0.12],
        ),
    ] = None
    cooling_factor: Annotated[
        Number | None,
        Field(
            description="How much faster it loses heat than a vessel of the books.",
            examples=[1.2],
        ),
    ] = None

    def to_core(self) -> core.Vessel:
        """Return the core's vessel."""
        specific_heat = {"steel": 0.5, "plastic": 1.9}[self.material]
        return core.Vessel(
            self.key,
            self.name,
            self.shape,
            self.length_m,
            self.length_m if self.width_m is None else self.width_m,
            self.capacity_kg,
            self.cover,
            self.wall_kg,
            specific_heat,
            self.count,
            Estimate.entered_or(self.pour_loss, 0.15, 0.08, "published pours"),
            Estimate.entered_or(self.cooling_factor, 1.0, 0.3, "still air of a bakehouse"),
        )
