"""What stands in a bakery, as it is entered: rooms, mixers, ovens, water, ice, flour, vessels."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from api.schemas.base import Entry, Named, Number, ReadAsWord, Whole, every
from api.schemas.house import House, the_only
from planner import bakery as core
from planner import mixers
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


class SpeedLimitInput(Entry):
    """How long a speed may run in stiff doughs."""

    speed: Annotated[Speed, Field(description="A machine speed.", examples=["second speed"])]
    below_hydration_percent: Annotated[
        Number,
        Field(description="For doughs with less water on flour than this [%].", examples=[50.0]),
    ]
    most_min: Annotated[
        Number, Field(description="The longest in one mix; 0 for not at all [min].", examples=[0])
    ] = 0.0

    def to_core(self) -> mixers.SpeedLimit:
        """Return the core's limit."""
        return mixers.SpeedLimit(self.speed, self.below_hydration_percent / 100, self.most_min)


class ColourCleanInput(Entry):
    """Cleaning from doughs of one colour class to those of another."""

    before: Annotated[str, Field(description="Colour class of the first dough.", examples=["dark"])]
    after: Annotated[str, Field(description="Colour class of the next.", examples=["light"])]
    minutes: Annotated[Whole, Field(description="Minutes of cleaning [min].", examples=[15])]

    def to_core(self) -> mixers.ColourClean:
        """Return the core's cleaning."""
        return mixers.ColourClean(self.before, self.after, self.minutes)


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
    rated_hydration_percent: Annotated[
        Number | None,
        Field(
            description="Water on flour of the stiffest dough of which it takes `max_dough_kg` [%];"
            " of a stiffer one it takes less, in proportion.",
            examples=[55.0],
        ),
    ] = None
    cold_less_percent: Annotated[
        Number | None,
        Field(
            description="How much less it takes of a cold mix: chilled flour, cold water, ice [%].",
            examples=[10.0],
        ),
    ] = None
    strong_less_percent: Annotated[
        Number | None,
        Field(description="How much less it takes with strong flour [%].", examples=[10.0]),
    ] = None
    cold_water_c: Annotated[
        Number, Field(description="Water below this is cold [°C].", examples=[20.0])
    ] = mixers.COLD_WATER_C
    cold_flour_c: Annotated[
        Number, Field(description="Flour below this is chilled [°C].", examples=[12.0])
    ] = mixers.COLD_FLOUR_C
    speed_limits: Annotated[
        list[SpeedLimitInput] | None,
        Field(
            description="How long its speeds may run in stiff doughs; usual of its kind, and then"
            " only told, when left out.",
            examples=[[{"speed": "second speed", "below_hydration_percent": 50}]],
        ),
    ] = None
    colour_cleans: Annotated[
        list[ColourCleanInput],
        Field(
            description="Cleaning between colour classes where it is not `clean_down_min`.",
            examples=[[{"before": "light", "after": "dark", "minutes": 0}]],
        ),
    ] = Field(default_factory=list)

    def to_core(self, house: House) -> mixers.Mixer:
        """Return the core's mixer, with defaults of its kind marked as assumed."""
        limits = None
        if self.speed_limits is not None:
            limits = every("speed_limits", self.speed_limits, SpeedLimitInput.to_core)
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
            rated_hydration=_share(self.rated_hydration_percent),
            cold_less=_share(self.cold_less_percent),
            strong_less=_share(self.strong_less_percent),
            cold_water_c=self.cold_water_c,
            cold_flour_c=self.cold_flour_c,
            speed_limits=limits,
            colour_cleans=every("colour_cleans", self.colour_cleans, ColourCleanInput.to_core),
        )


def _share(percent: float | None) -> float | None:
    return None if percent is None else percent / 100


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
