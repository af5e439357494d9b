"""Mixes, loads, preparations and tasks of a plan as they are sent."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from pydantic import ValidationInfo, model_validator

from api.schemas.reader import Read, attributes, reader_of, shown
from api.schemas.remarks import RemarkRead
from api.schemas.tickets import TicketRead, WaterLineRead
from planner.alternative import Shifted
from planner.mixers import Speed
from planner.planned import PlannedMix
from planner.planned_preparation import PreparationKind

SCALING = {
    "name": "strong flour",
    "percent": 100.0,
    "mass_kg": 60.0,
    "temperature_c": 23.0,
    "step": 0,
}


class ScalingLineRead(Read):
    """One line to weigh."""

    name: Annotated[str, shown("What it is called.", "strong flour")]
    percent: Annotated[float, shown("Baker's percent of the total flour.", 100.0)]
    mass_kg: Annotated[float, shown("What to weigh [kg].", 60.0)]
    temperature_c: Annotated[
        float | None, shown("Expected temperature [°C]; null when it does not matter.", 23.0)
    ]
    step: Annotated[int, shown("Index of the mixing step at whose start it goes in.", 0)]


class StepRead(Read):
    """One mixing step."""

    speed: Annotated[Speed, shown("What the step does.", "first speed")]
    minutes: Annotated[float, shown("How long [min].", 5.0)]


class MoveRead(Read):
    """A dough or its pieces go on to another place."""

    at_utc: Annotated[datetime, shown("When they are moved.", "2026-07-16T00:10:00Z")]
    place_id: Annotated[str, shown("Room or chamber they go to.", "retarder")]


MOVE = {"at_utc": "2026-07-16T00:10:00Z", "place_id": "retarder"}


class LoadRead(Read):
    """Shaped pieces that go into the oven together."""

    id: Annotated[str, shown("Id of the load.", "white-1.1")]
    product_id: Annotated[str, shown("Id of the product.", "tin")]
    pieces: Annotated[int, shown("Number of pieces.", 60)]
    proof_place_id: Annotated[str, shown("Room or chamber of the proof.", "bakehouse")]
    proof_start_utc: Annotated[datetime, shown("Start of the proof.", "2026-07-15T23:10:00Z")]
    load_from_utc: Annotated[datetime, shown("Proofed enough from.", "2026-07-16T00:05:00Z")]
    load_by_utc: Annotated[datetime, shown("Over-proofed after.", "2026-07-16T00:30:00Z")]
    load_utc: Annotated[datetime, shown("Planned loading.", "2026-07-16T00:15:00Z")]
    out_utc: Annotated[datetime, shown("Out of the oven.", "2026-07-16T00:50:00Z")]
    ready_utc: Annotated[datetime, shown("Cool and ready to leave.", "2026-07-16T01:35:00Z")]
    oven_id: Annotated[str, shown("Id of the oven.", "deck")]
    oven_places: Annotated[int, shown("Decks or racks it takes.", 2)]
    ripeness: Annotated[float, shown("Progress of the proof at loading; 1 is ripe.", 1.0)]
    route: Annotated[int, shown("Which of the product's ways to proof it takes, from 0.", 0)]
    moves: Annotated[list[MoveRead], shown("Where they go on to before loading.", [MOVE])]
    leave_by_utc: Annotated[
        datetime | None,
        shown("When they must leave; null for the time of their mix.", "2026-07-16T03:00:00Z"),
    ]


class SteeredRead(Read):
    """What the plan decided about the temperature of a mix."""

    dough_c: Annotated[float, shown("The dough temperature chosen [°C].", 25.0)]
    use_chilled: Annotated[bool, shown("Whether it may take chilled water.", example=True)]
    ice_kg: Annotated[float, shown("The most ice it may take [kg].", 4.2)]
    chilled_kg: Annotated[float, shown("The most chilled water it may take [kg].", 12.0)]
    bowl_c: Annotated[float, shown("Bowl and tool at the start [°C].", 24.0)]
    bowl_end_c: Annotated[float, shown("Bowl and tool at the end [°C].", 25.0)]


class AlternativeRead(Read):
    """A mix with its start or its dough temperature elsewhere, all other mixes held."""

    what: Annotated[Shifted, shown("What of it is elsewhere.", "start")]
    by: Annotated[
        float, shown("Minutes later or degrees warmer; below zero sooner or cooler.", -10.0)
    ]
    binds: Annotated[str, shown("What leaves it no place there; empty if it has one.", "mixers")]
    late_min: Annotated[float, shown("Minutes more by which it leaves late [min].", 0.0)]
    window_min: Annotated[float, shown("Minutes more past its windows [min].", 0.0)]
    ice_kg: Annotated[float, shown("Ice more than as planned [kg].", 0.4)]
    points: Annotated[float, shown("Points of the search more than as planned.", 3.0)]
    because: Annotated[
        str, shown("What makes it late or past its windows there; empty if nothing.", "ovens")
    ]


class TubsRead(Read):
    """Tubs of one kind in which a dough rises."""

    tub_id: Annotated[str, shown("Id of the kind of tub.", "large_tub")]
    count: Annotated[int, shown("How many of them.", 2)]


class MixRead(Read):
    """One bowl of dough, from scaling to the oven.

    The five numbers of the mixer hand are `ticket.wanted_c`, `ticket.water_c`,
    `ticket.water_kg`, `ticket.ice_kg` and `mix_min`; the headline above them is `start_utc`.
    """

    id: Annotated[str, shown("Id of the mix.", "white-1")]
    number: Annotated[int, shown("Its place in the order of starting, from 1.", 1)]
    line_id: Annotated[str, shown("Id of the line of the mix list.", "white")]
    line_ids: Annotated[
        list[str], shown("Lines of the mix list it is for; several when mixed together.", ["white"])
    ]
    overload_signed_by: Annotated[
        str, shown("Who answers for its being more than the mixer takes; empty if it is not.", "")
    ]
    formula_id: Annotated[str, shown("Id of the formula.", "white")]
    dough: Annotated[str, shown("Name of the dough.", "White tin dough")]
    product_id: Annotated[
        str | None, shown("Id of the product; null when the plan ends at the divide.", "tin")
    ]
    product: Annotated[str, shown("Name of the product; empty without one.", "Tin loaf")]
    batch: Annotated[int, shown("Which of the equal batches it is.", 1)]
    batches: Annotated[int, shown("How many equal batches there are.", 2)]
    dough_kg: Annotated[float, shown("Weight of dough [kg].", 100.0)]
    flour_kg: Annotated[float, shown("Total flour, that of its parts included [kg].", 60.0)]
    pieces: Annotated[int, shown("Pieces divided from it; 0 without a product.", 110)]
    mixer_id: Annotated[str, shown("Id of the mixer.", "spiral_1")]
    mixer: Annotated[str, shown("Name of the mixer.", "spiral 120")]
    start_utc: Annotated[datetime, shown("Mixer on.", "2026-07-15T21:00:00Z")]
    mix_end_utc: Annotated[datetime, shown("Dough off the mixer.", "2026-07-15T21:11:00Z")]
    mix_min: Annotated[float, shown("Minutes in the mixer, rests included [min].", 11.0)]
    steps: Annotated[
        list[StepRead],
        shown("Mixing steps in order.", [{"speed": "first speed", "minutes": 5.0}]),
    ]
    scaling: Annotated[list[ScalingLineRead], shown("What to weigh, in loading order.", [SCALING])]
    ticket: TicketRead
    divide_from_utc: Annotated[datetime, shown("Ripe from.", "2026-07-15T22:25:00Z")]
    divide_by_utc: Annotated[datetime, shown("Over-ripe after.", "2026-07-15T22:55:00Z")]
    divide_utc: Annotated[datetime, shown("Planned divide.", "2026-07-15T22:40:00Z")]
    divide_end_utc: Annotated[datetime, shown("End of the divide.", "2026-07-15T23:05:00Z")]
    ripeness: Annotated[float, shown("Progress of the bulk at the divide; 1 is ripe.", 1.0)]
    minutes_per_degree: Annotated[
        float, shown("How much earlier it is ripe per degree warmer [min/K].", 9.0)
    ]
    band_min: Annotated[float, shown("Half width of the uncertainty of ripeness [min].", 12.0)]
    folds_utc: Annotated[list[datetime], shown("When to fold.", ["2026-07-15T21:51:00Z"])]
    moves: Annotated[list[MoveRead], shown("Where its bulk goes on to.", [MOVE])]
    tubs: Annotated[
        list[TubsRead],
        shown("Tubs in which it rises, where they are counted.", [{"tub_id": "large", "count": 2}]),
    ]
    loads: list[LoadRead]
    leave_by_utc: Annotated[
        datetime | None, shown("When it must leave; null when not given.", "2026-07-16T03:00:00Z")
    ]
    preparation_ids: Annotated[
        list[str], shown("Levains, scalds and soakers it uses.", ["levain-1"])
    ]
    steered: SteeredRead
    remarks: list[RemarkRead]
    reasons: Annotated[
        list[RemarkRead],
        shown(
            "Why it starts then at that dough temperature; empty once it has begun.",
            [
                {
                    "kind": "reason",
                    "code": "why_not_sooner",
                    "text": "Not 10 min sooner: its mixer is taken.",
                    "subject": "white-1",
                }
            ],
        ),
    ]
    alternatives: Annotated[
        list[AlternativeRead],
        shown(
            "What a little either way would do, all other mixes held.",
            [
                {
                    "what": "start",
                    "by": -10.0,
                    "binds": "mixers",
                    "late_min": 0.0,
                    "window_min": 0.0,
                    "ice_kg": 0.0,
                    "points": 0.0,
                    "because": "",
                }
            ],
        ),
    ]

    @model_validator(mode="before")
    @classmethod
    def _name(cls, value: Any, info: ValidationInfo) -> Any:  # noqa: ANN401  any input
        if not isinstance(value, PlannedMix):
            return value
        names = reader_of(info).names
        return {
            **attributes(value),
            "number": names.mix_number(value.id),
            "dough": names.dough(value),
            "product": names.product(value.product_id),
            "mixer": names.place(value.mixer_id),
            "mix_min": value.mix_min,
        }


class BuildRead(Read):
    """One build of a preferment that is fed in steps."""

    name: Annotated[str, shown("What it is called.", "rye sour, build 1 of 2")]
    start_utc: Annotated[datetime, shown("When it is set.", "2026-07-15T08:00:00Z")]
    start_c: Annotated[float, shown("Temperature when it is set [°C].", 25.0)]
    fed_kg: Annotated[float, shown("What it takes of the build before, or seed [kg].", 1.2)]
    fed_c: Annotated[float | None, shown("How warm that is then [°C]; null for seed.", 24.0)]
    ripe_from_utc: Annotated[datetime, shown("Ripe from.", "2026-07-15T19:00:00Z")]
    ripe_by_utc: Annotated[datetime, shown("Ripe until.", "2026-07-15T22:00:00Z")]
    ripeness: Annotated[
        float | None, shown("Progress when the next takes it; null for the last.", 1.0)
    ]
    scaling: Annotated[list[ScalingLineRead], shown("What to weigh.", [SCALING])]
    water: Annotated[
        list[WaterLineRead],
        shown(
            "Its own water.",
            [{"supply_id": "tap", "kind": "tap", "water_kg": 3.0, "temperature_c": 28.0}],
        ),
    ]


class PreparationRead(Read):
    """A levain build, a scald or a soaker."""

    id: Annotated[str, shown("Id of the preparation.", "levain-1")]
    part_id: Annotated[str, shown("Id of the part in its formula.", "levain")]
    name: Annotated[str, shown("What it is called.", "levain")]
    kind: Annotated[PreparationKind, shown("What is prepared.", "preferment")]
    formula_id: Annotated[str, shown("Id of the formula.", "country")]
    mix_ids: Annotated[list[str], shown("The mixes that use it.", ["country-1"])]
    made_kg: Annotated[float, shown("Mass made [kg].", 26.4)]
    kept_back_kg: Annotated[float, shown("Seed kept back of it [kg].", 2.4)]
    seed_kg: Annotated[float, shown("Ripe culture put in [kg].", 2.4)]
    place_id: Annotated[str, shown("Room or chamber it stands in.", "bakehouse")]
    start_utc: Annotated[datetime, shown("When it is set or poured.", "2026-07-15T16:00:00Z")]
    ready_from_utc: Annotated[datetime, shown("Ripe or cool enough from.", "2026-07-15T23:30:00Z")]
    ready_by_utc: Annotated[datetime, shown("Of use until.", "2026-07-16T01:30:00Z")]
    start_c: Annotated[float, shown("Temperature when set or poured [°C].", 26.0)]
    use_c: Annotated[list[float], shown("Temperature at each use [°C].", [25.2])]
    use_at_most_c: Annotated[float, shown("The warmest it may be at its use [°C].", 35.0)]
    scaling: Annotated[list[ScalingLineRead], shown("What to weigh.", [SCALING])]
    water: Annotated[
        list[WaterLineRead],
        shown(
            "Its own water.",
            [{"supply_id": "tap", "kind": "tap", "water_kg": 12.0, "temperature_c": 28.0}],
        ),
    ]
    ice_kg: Annotated[float, shown("Its own ice [kg].", 0.0)]
    later_water: Annotated[
        list[WaterLineRead],
        shown(
            "Water of a scald that is kept back with its ice.",
            [{"supply_id": "chiller", "kind": "chiller", "water_kg": 6.0, "temperature_c": 4.0}],
        ),
    ]
    add_utc: Annotated[
        datetime | None,
        shown("When kept-back water and ice go in; null without.", "2026-07-15T16:30:00Z"),
    ]
    mixer_id: Annotated[str | None, shown("Id of its mixer; null by hand.", "twin")]
    vessel: Annotated[str, shown("What it stands in.", "tub")]
    way: Annotated[str, shown("How a scald is cooled, a short name.", "own, nothing kept back")]
    way_words: Annotated[
        str, shown("How, when not as its baker does it.", "on 8 × tray, uncovered")
    ]
    builds: list[BuildRead]
    remarks: list[RemarkRead]


class TaskRead(Read):
    """Hands-on work of one person."""

    kind: Annotated[str, shown("Plain word for the work.", "divide and shape")]
    subject: Annotated[str, shown("Id of the mix, preparation or load.", "white-1")]
    start_utc: Annotated[datetime, shown("Start of the work.", "2026-07-15T22:40:00Z")]
    end_utc: Annotated[datetime, shown("End of the work.", "2026-07-15T23:05:00Z")]
    person_id: Annotated[str | None, shown("Who does it; null when nobody is free.", "ana")]
    place_id: Annotated[str, shown("Where it is done.", "bakehouse")]
