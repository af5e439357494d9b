"""A whole production day as it is entered, and its one conversion to the core's values."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Annotated, NamedTuple

from pydantic import Field

from api.schemas.bakery import BakeryInput
from api.schemas.base import Entry, Faults, Number, check_ids, every, found_id, slug
from api.schemas.conditions import ConditionsInput
from api.schemas.formula import FormulaInput
from api.schemas.house import House
from api.schemas.mix_list import MixListInput, Span
from api.schemas.products import ProductInput
from api.schemas.times import TimeText, at_work
from planner.bakery import Bakery, Person
from planner.conditions import Conditions
from planner.day import Day
from planner.errors import Fault, InputError
from planner.formula import Formula
from planner.pins import Pin
from planner.product import Product
from planner.remembered import RememberedMix


class PinInput(Entry):
    """Something the baker fixes about one mix."""

    mix: Annotated[
        str,
        Field(
            description="Id of the mix: that of its line, with -1, -2 … when it is split.",
            examples=["country_loaf-1"],
        ),
    ]
    start: Annotated[
        TimeText | None,
        Field(
            description="Starts exactly then, local time; from 12:00 on it is the evening before.",
            examples=["23:30"],
        ),
    ] = None
    not_before: Annotated[
        TimeText | None,
        Field(description="Starts then or later, local time.", examples=["23:00"]),
    ] = None
    mixer: Annotated[str | None, Field(description="Mixed there.", examples=["large spiral"])] = (
        None
    )
    dough_c: Annotated[
        Number | None, Field(description="Desired dough temperature [°C].", examples=[24.0])
    ] = None
    load: Annotated[
        TimeText | None,
        Field(description="Loaded exactly then, local time.", examples=["04:15"]),
    ] = None
    first: Annotated[
        bool, Field(description="Must be the first mix of its mixer.", examples=[True])
    ] = False
    oven: Annotated[str | None, Field(description="Baked there.", examples=["deck oven"])] = None
    before: Annotated[
        list[str],
        Field(
            description="Ids of mixes that start only once this one is off its mixer.",
            examples=[["rye-1"]],
            max_length=50,
        ),
    ] = Field(default_factory=list)

    def to_core(self, span: Span, mixers: Sequence[str], ovens: Sequence[str]) -> Pin:
        """Return the core's pin."""
        moments = {
            f"{field}_utc": None
            if text is None
            else at_work(field, text, span.production_date, span.zone)
            for field, text in (
                ("start", self.start),
                ("not_before", self.not_before),
                ("load", self.load),
            )
        }
        return Pin(
            mix_id=self.mix,
            mixer_id=None if self.mixer is None else found_id(self.mixer, mixers),
            dough_c=self.dough_c,
            first=self.first,
            oven_id=None if self.oven is None else found_id(self.oven, ovens),
            before_ids=tuple(self.before),
            **moments,
        )


class RememberedInput(Entry):
    """A mix as the baker remembers it; it stands in until the first readings."""

    mixer: Annotated[str, Field(description="Where it was mixed.", examples=["large spiral"])]
    formula: Annotated[str, Field(description="Which dough it was.", examples=["white dough"])]
    water_c: Annotated[
        Number, Field(description="Water that went in, about [°C].", examples=[12.0])
    ]
    dough_end_c: Annotated[
        Number, Field(description="Dough when it came off, about [°C].", examples=[26.0])
    ]
    dough_kg: Annotated[
        Number | None,
        Field(
            description="How much it was [kg]; four fifths of the mixer when left out.",
            examples=[60.0],
        ),
    ] = None
    ice_kg: Annotated[Number, Field(description="Ice that went in [kg].", examples=[2.0])] = 0.0
    flour_c: Annotated[
        Number | None,
        Field(description="Flour, about [°C]; the room when left out.", examples=[24.0]),
    ] = None
    room_c: Annotated[
        Number | None,
        Field(description="Room, about [°C]; tonight's when left out.", examples=[24.0]),
    ] = None
    part_c: Annotated[
        dict[str, Number],
        Field(
            description="Preferments and scalds by name, about [°C].", examples=[{"levain": 26.0}]
        ),
    ] = Field(default_factory=dict)
    about_k: Annotated[
        Number,
        Field(
            description="How sure the dough's temperature is, one standard deviation [K].",
            examples=[1.0],
        ),
    ] = 1.0

    def to_core(self, mixers: Sequence[str], formulas: Sequence[str]) -> RememberedMix:
        """Return the core's remembered mix."""
        return RememberedMix(
            mixer_id=found_id(self.mixer, mixers),
            formula_id=found_id(self.formula, formulas),
            water_c=self.water_c,
            dough_end_c=self.dough_end_c,
            dough_kg=self.dough_kg,
            ice_kg=self.ice_kg,
            flour_c=self.flour_c,
            room_c=self.room_c,
            part_c=tuple((slug(name), c) for name, c in self.part_c.items()),
            about_k=self.about_k,
        )


NOBODY = (Person("nobody", "nobody"),)
"""Stands in where nobody is named, so that the day says who is missing and not the bakery."""


class PlanInput(NamedTuple):
    """All that a plan is made from, as values of the core."""

    day: Day
    conditions: Conditions
    pins: tuple[Pin, ...]


class DayInput(MixListInput):
    """One production day of one bakery, with all it needs."""

    production_date: Annotated[
        date,
        Field(
            description="Date of the production day; work may start the evening before.",
            examples=["2026-07-15"],
        ),
    ]
    bakery: Annotated[
        BakeryInput,
        Field(description="The bakery.", examples=[{"name": "Mill Lane", "zone": "Europe/Vienna"}]),
    ]
    formulas: Annotated[
        list[FormulaInput], Field(description="The doughs.", examples=[[{"name": "white tin"}]])
    ]
    conditions: Annotated[
        ConditionsInput,
        Field(description="The night.", examples=[{"coolest_c": 21, "hottest_c": 31}]),
    ]
    products: Annotated[
        list[ProductInput],
        Field(
            description="What is sold; not needed for ready mixes.",
            examples=[[{"name": "country loaf", "piece_kg": 0.85}]],
        ),
    ] = Field(default_factory=list)
    pins: Annotated[
        list[PinInput],
        Field(
            description="What the baker fixes.",
            examples=[[{"mix": "country_loaf-1", "start": "23:30"}]],
        ),
    ] = Field(default_factory=list)

    remembered: Annotated[
        list[RememberedInput],
        Field(
            description="Mixes the baker remembers, for mixers of which nothing was read yet.",
            examples=[
                [
                    {
                        "mixer": "large spiral",
                        "formula": "white dough",
                        "water_c": 12,
                        "dough_end_c": 26,
                    }
                ]
            ],
        ),
    ] = Field(default_factory=list)

    def to_core(
        self, faults: Faults | None = None, *, left_out: frozenset[str] = frozenset()
    ) -> PlanInput:
        """Return day, conditions and pins of the core.

        Parameters
        ----------
        faults
            Collector that may already hold faults.
        left_out
            Ids of entries that were not even readable: naming them is not another fault.

        Raises
        ------
        InputError
            With every fault, not only the first.
        """
        faults = Faults() if faults is None else faults
        house = self._house()
        bakery = self.bakery.to_core(faults.at("bakery"), self.people_of_shifts() or NOBODY)
        formulas, products = self._doughs(faults, house)
        span = faults.build(self.span, self.production_date, house.zone)
        if bakery is None or span is None:
            raise InputError(faults.found)
        day = self._day(faults, span, bakery, formulas, products, left_out)
        conditions = self.conditions.to_core(
            faults.at("conditions"), bakery, span, [p.key for p in self.products]
        )
        mixers = [m.id for m in bakery.mixers]
        ovens = [o.id for o in bakery.ovens]
        pins = faults.build(every, "pins", self.pins, lambda pin: pin.to_core(span, mixers, ovens))
        if faults.found or day is None or conditions is None or pins is None:
            raise InputError(faults.found)
        return PlanInput(day, conditions, pins)

    def _house(self) -> House:
        rooms = self.bakery.house().rooms
        return self.bakery.house(self.conditions.means_c(rooms))

    def _doughs(
        self, faults: Faults, house: House
    ) -> tuple[tuple[Formula, ...], tuple[Product, ...]]:
        """Return formulas and products, those with faults left out."""
        check_ids(faults, "formulas", [f.key for f in self.formulas])
        check_ids(faults, "products", [p.key for p in self.products])
        formulas = {f.key: f.to_core(faults.at(f"formulas.{f.key}"), house) for f in self.formulas}
        curves = {f.key: f.curve for f in self.formulas}
        products = {
            p.key: p.to_core(faults.at(f"products.{p.key}"), house, curves) for p in self.products
        }
        return (
            tuple(one for one in formulas.values() if one is not None),
            tuple(one for one in products.values() if one is not None),
        )

    def _day(
        self,
        faults: Faults,
        span: Span,
        bakery: Bakery,
        formulas: tuple[Formula, ...],
        products: tuple[Product, ...],
        left_out: frozenset[str],
    ) -> Day | None:
        """Return the day; what only follows from another fault is not told again."""
        formula_ids = [f.key for f in self.formulas]
        product_ids = [p.key for p in self.products]
        lines = self.lines_to_core(faults, span, formula_ids, product_ids)
        shifts = self.shifts_to_core(faults, self.bakery.people, self.production_date, span.zone)
        entered = {*formula_ids, *product_ids, *_ids_of(self.bakery)}
        built = {*(f.id for f in formulas), *(p.id for p in products), *_ids_of(bakery)}
        told = (entered - built) | left_out
        mixers = [m.id for m in bakery.mixers]
        remembered = faults.build(
            every, "remembered", self.remembered, lambda one: one.to_core(mixers, formula_ids)
        )
        early = None
        if self.bakery.early_before is not None:
            early = faults.at("bakery").build(
                at_work, "early_before", self.bakery.early_before, self.production_date, span.zone
            )
        try:
            return Day(
                id=self.production_date.isoformat(),
                production_date=self.production_date,
                bakery=bakery,
                formulas=formulas,
                products=products,
                lines=lines,
                shifts=shifts,
                start_utc=span.start_utc,
                end_utc=span.end_utc,
                remembered=remembered or (),
                early_before_utc=early,
            )
        except InputError as error:
            faults.extend(
                f
                for f in error.faults
                if slug(f.value.strip("'")) not in told and not _told(f, faults)
            )
            return None


def _told(fault: Fault, faults: Faults) -> bool:
    """Return whether nobody works only because their hours have faults."""
    return fault.field == "shifts" and any(f.field.startswith("shifts[") for f in faults.found)


def _ids_of(bakery: Bakery | BakeryInput) -> set[str]:
    """Return the ids of all that formulas, products and shifts may name."""
    if isinstance(bakery, BakeryInput):
        lists = (
            bakery.rooms,
            bakery.chambers,
            bakery.ovens,
            bakery.vessels,
            bakery.people,
            bakery.flour_stores,
        )
        return {one.key for things in lists for one in things}
    built = (
        bakery.rooms,
        bakery.chambers,
        bakery.ovens,
        bakery.vessels,
        bakery.people,
        bakery.flour_stores,
    )
    return {one.id for things in built for one in things}
