"""How something becomes ripe, as it is entered: by the clock or by hours, and where."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from api.schemas.base import Entry, Number, ReadAsWord, Whole, found_id
from api.schemas.house import USUAL_ROOM_C, House
from api.schemas.units import wrong
from planner import ripening as ripe
from planner.bakery import Cover
from planner.estimate import Estimate

NOT_ITS_OWN = ripe.HoursAt(1.0, 25.0)
"""Stands for the reference of a proof that goes on with the bulk's; it is never read."""


class MoveInput(Entry):
    """On to another room or chamber."""

    after_min: Annotated[
        Number,
        Field(description="Minutes from the start of the fermentation [min].", examples=[60]),
    ]
    place: Annotated[str, Field(description="Room or chamber it goes to.", examples=["retarder"])]


class RipeningInput(Entry):
    """How a dough, a preferment or shaped pieces become ripe: by the clock, or by hours."""

    minutes: Annotated[
        Number | None,
        Field(description="Minutes by the clock, as done today [min].", examples=[90.0]),
    ] = None
    room_c: Annotated[
        Number | None,
        Field(
            description="Air temperature where it stands, as done today [°C]; the place's usual"
            " one when left out.",
            examples=[24.0],
        ),
    ] = None
    start_c: Annotated[
        Number | None,
        Field(
            description="Dough temperature at the start, as done today [°C]; the formula's when"
            " left out.",
            examples=[25.0],
        ),
    ] = None
    usual_kg: Annotated[
        Number | None,
        Field(
            description="What usually stands together [kg]; the day's own when left out.",
            examples=[60.0],
        ),
    ] = None
    hours: Annotated[
        Number | None,
        Field(description="Hours with the dough itself held at dough_c [h].", examples=[2.5]),
    ] = None
    dough_c: Annotated[
        Number | None,
        Field(description="Dough temperature for which the hours hold [°C].", examples=[25.0]),
    ] = None
    place: Annotated[
        str | None,
        Field(description="Room or chamber; the only room when left out.", examples=["bakehouse"]),
    ] = None
    curve: Annotated[
        ripe.Curve | None,
        ReadAsWord,
        Field(description="What ripens it; follows from the formula.", examples=["yeast"]),
    ] = None
    exponent: Annotated[
        Number | None,
        Field(description="Learned exponent on the curve (no unit).", examples=[1.0]),
    ] = None
    from_progress: Annotated[
        Number, Field(description="Ripe from this share of its time on.", examples=[0.9])
    ] = 0.90
    by_progress: Annotated[
        Number, Field(description="Ripe until this share of its time.", examples=[1.15])
    ] = 1.15
    folds_min: Annotated[
        list[Whole],
        Field(
            description="Minutes after the start at which it is folded [min].",
            examples=[[30, 60]],
        ),
    ] = Field(default_factory=list)

    moves: Annotated[
        list[MoveInput],
        Field(
            description="Where it goes on to, in the order of time.",
            examples=[[{"after_min": 60, "place": "retarder"}]],
        ),
    ] = Field(default_factory=list)
    tub: Annotated[
        str | None,
        Field(
            description="The vessel it stands in, as many as it takes; the usual one of its mass"
            " when left out.",
            examples=["dough tub"],
        ),
    ] = None
    cover: Annotated[
        Cover,
        ReadAsWord,
        Field(
            description="What lies on it; pieces under a lid stand in closed boxes.",
            examples=["film"],
        ),
    ] = Cover.FILM
    at_progress: Annotated[
        Number,
        Field(
            description="The share of its time at which it is wanted: less than 1 for a bulk whose"
            " proof goes on with the same clock.",
            examples=[1.0],
        ),
    ] = 1.0
    goes_on: Annotated[
        bool,
        Field(
            description="Whether this proof goes on with the clock of the bulk; then it needs no"
            " minutes or hours of its own.",
            examples=[False],
        ),
    ] = False

    @model_validator(mode="after")
    def _one_way_of_telling(self) -> RipeningInput:
        if self.goes_on:
            return self._without_time()
        if self.minutes is None and self.hours is None:
            raise wrong(
                "minutes", None, "is missing", "enter minutes by the clock, or hours and dough_c"
            )
        if self.minutes is not None and self.hours is not None:
            raise wrong(
                "hours", self.hours, "says the same as minutes", "write only one of the two"
            )
        if self.hours is not None and self.dough_c is None:
            raise wrong(
                "dough_c", None, "is missing", "enter the dough temperature the hours hold for"
            )
        return self

    def _without_time(self) -> RipeningInput:
        for key in ("minutes", "hours"):
            told = getattr(self, key)
            if told is not None:
                raise wrong(
                    key, told, "has no meaning where the clock of the bulk goes on", "leave it out"
                )
        return self

    def to_core(self, house: House, curve: ripe.Curve) -> ripe.Ripening:
        """Return the core's ripening.

        Parameters
        ----------
        house
            What must be known of the bakery.
        curve
            The curve when none is entered.
        """
        place = house.place(self.place)
        return ripe.Ripening(
            self._reference(house.usual_c.get(place, USUAL_ROOM_C)),
            self.curve or curve,
            place,
            Estimate.entered_or(self.exponent, 1.0, 0.2, "published curves"),
            self.from_progress,
            self.by_progress,
            tuple(self.folds_min),
            moves=tuple(ripe.Move(m.after_min, house.place(m.place)) for m in self.moves),
            vessel_id=None if self.tub is None else found_id(self.tub, house.vessels),
            cover=self.cover,
            at_progress=self.at_progress,
            goes_on=self.goes_on,
        )

    def _reference(self, usual_c: float) -> ripe.HoursAt | ripe.ByTheClock:
        if self.goes_on:
            return NOT_ITS_OWN
        if self.hours is not None and self.dough_c is not None:
            return ripe.HoursAt(self.hours, self.dough_c)
        return ripe.ByTheClock(
            self.minutes or 0.0,
            usual_c if self.room_c is None else self.room_c,
            self.start_c,
            self.usual_kg,
        )
