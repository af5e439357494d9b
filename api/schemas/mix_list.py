"""The mix list of a production day as it is entered: orders or ready mixes, and who works when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from pydantic import Discriminator, Field, Tag, model_validator

from api.schemas.bakery import PersonInput
from api.schemas.base import Entry, Faults, Id, Number, Whole, found_id, slug
from api.schemas.house import the_only
from api.schemas.times import TimeText, after, at_work, on_the_date, shown_local
from api.schemas.units import wrong
from planner import day as core
from planner.bakery import Person
from planner.errors import refuse

MIXES = "Into how many mixes; as few as mixers and ovens allow when left out."
SIGNED = "Name of who answers for mixes that are more than the mixer takes."
PRIORITY = "1 is ordinary; 2 counts double when something must be late."


@dataclass(frozen=True)
class Span:
    """The production day: its date, its zone and the time that may be planned [UTC]."""

    production_date: date
    zone: ZoneInfo
    start_utc: datetime
    end_utc: datetime

    def inside(self, field: str, moment: datetime) -> datetime:
        """Return a moment that lies inside the span.

        Raises
        ------
        InputError
            If it lies before or after.
        """
        if not self.start_utc < moment <= self.end_utc:
            raise refuse(
                field,
                shown_local(moment, self.zone),
                "lies outside the time that can be planned",
                f"enter a time between {shown_local(self.start_utc, self.zone)} and"
                f" {shown_local(self.end_utc, self.zone)}, or change span_from and span_to",
            )
        return moment


class OrderInput(Entry):
    """So many pieces that must leave the door by a time."""

    product: Annotated[str, Field(description="What is ordered.", examples=["country loaf"])]
    pieces: Annotated[Whole, Field(description="How many.", examples=[96])]
    leave_by: Annotated[
        TimeText,
        Field(
            description="When they leave the door, local time on the production date.",
            examples=["06:30"],
        ),
    ]
    priority: Annotated[Whole, Field(description=PRIORITY, examples=[1])] = 1
    mixes: Annotated[Whole | None, Field(description=MIXES, examples=[2])] = None
    overload_signed_by: Annotated[str, Field(description=SIGNED, examples=["Ana"])] = ""
    id: Id = None

    @property
    def label(self) -> str:
        """The id given, or what is ordered in short."""
        return self.id or slug(self.product)

    def to_core(self, id: str, span: Span, products: Sequence[str]) -> core.Order:
        """Return the core's order."""
        leave_by = on_the_date("leave_by", self.leave_by, span.production_date, span.zone)
        return core.Order(
            id,
            found_id(self.product, products),
            self.pieces,
            span.inside("leave_by", leave_by),
            self.priority,
            self.mixes,
            self.overload_signed_by,
        )


class MixInput(Entry):
    """A ready mix: a dough, its weight, and perhaps the window in which it should be ripe."""

    dough_kg: Annotated[Number, Field(description="Weight of dough [kg].", examples=[60.0])]
    formula: Annotated[
        str | None,
        Field(description="Its dough; the only formula when left out.", examples=["rye"]),
    ] = None
    bulk_from_min: Annotated[
        Number | None,
        Field(description="Bulk wanted from so many minutes on [min].", examples=[80.0]),
    ] = None
    bulk_by_min: Annotated[
        Number | None,
        Field(description="Bulk wanted to so many minutes [min].", examples=[110.0]),
    ] = None
    ready_from: Annotated[
        TimeText | None,
        Field(description="Wanted ripe from this local time on.", examples=["02:30"]),
    ] = None
    ready_by: Annotated[
        TimeText | None,
        Field(description="Wanted ripe until this local time.", examples=["03:15"]),
    ] = None
    product: Annotated[
        str | None,
        Field(
            description="What becomes of it; the plan ends at the divide when left out.",
            examples=["country loaf"],
        ),
    ] = None
    leave_by: Annotated[
        TimeText | None,
        Field(
            description="When the baked goods leave, local time on the production date.",
            examples=["06:30"],
        ),
    ] = None
    priority: Annotated[Whole, Field(description=PRIORITY, examples=[1])] = 1
    mixes: Annotated[Whole | None, Field(description=MIXES, examples=[2])] = None
    overload_signed_by: Annotated[str, Field(description=SIGNED, examples=["Ana"])] = ""
    id: Id = None

    @property
    def label(self) -> str:
        """The id given, or the name of its dough in short."""
        return self.id or slug(self.formula or "mix")

    @model_validator(mode="after")
    def _one_whole_window(self) -> MixInput:
        minutes = {"bulk_from_min": self.bulk_from_min, "bulk_by_min": self.bulk_by_min}
        clock = {"ready_from": self.ready_from, "ready_by": self.ready_by}
        for window in (minutes, clock):
            missing = [key for key, value in window.items() if value is None]
            if len(missing) == 1:
                raise wrong(
                    missing[0], None, "is missing, so the window has one end", "enter both ends"
                )
        if self.bulk_from_min is not None and self.ready_from is not None:
            raise wrong(
                "ready_from",
                self.ready_from,
                "is a second window beside the one in minutes",
                "write only one of the two",
            )
        return self

    def to_core(
        self, id: str, span: Span, formulas: Sequence[str], products: Sequence[str]
    ) -> core.MixRequest:
        """Return the core's mix."""
        leave_by = None
        if self.leave_by is not None:
            leave_by = span.inside(
                "leave_by",
                on_the_date("leave_by", self.leave_by, span.production_date, span.zone),
            )
        return core.MixRequest(
            id,
            the_only("formula", self.formula, formulas, formulas),
            self.dough_kg,
            self._window(span),
            None if self.product is None else found_id(self.product, products),
            leave_by,
            self.priority,
            self.mixes,
            self.overload_signed_by,
        )

    def _window(self, span: Span) -> core.BulkWindow | core.ReadyWindow | None:
        if self.bulk_from_min is not None and self.bulk_by_min is not None:
            return _bulk_window(self.bulk_from_min, self.bulk_by_min)
        if self.ready_from is None or self.ready_by is None:
            return None
        start = at_work("ready_from", self.ready_from, span.production_date, span.zone)
        end = at_work("ready_by", self.ready_by, span.production_date, span.zone)
        if end <= start:
            raise refuse(
                "ready_by",
                self.ready_by,
                f"the window ends before it starts at {shown_local(start, span.zone)}",
                "enter a later end",
            )
        return core.ReadyWindow(span.inside("ready_from", start), span.inside("ready_by", end))


def _bulk_window(from_min: float, by_min: float) -> core.BulkWindow:
    if by_min <= from_min:
        raise refuse(
            "bulk_by_min",
            by_min,
            f"the window ends before it starts at {from_min:g}",
            "enter a later end",
        )
    return core.BulkWindow(from_min, by_min)


def _sort(line: Any) -> str:  # noqa: ANN401  whatever was sent
    """Tell an order from a ready mix: only a mix has a weight of dough."""
    if isinstance(line, OrderInput):
        return "order"
    if isinstance(line, MixInput):
        return "ready mix"
    is_mix = isinstance(line, Mapping) and (
        any(str(key).startswith("dough") for key in line)
        or ("formula" in line and "pieces" not in line)
    )
    return "ready mix" if is_mix else "order"


LineInput = Annotated[
    Annotated[OrderInput, Tag("order")] | Annotated[MixInput, Tag("ready mix")],
    Discriminator(_sort),
]


class ShiftInput(Entry):
    """Hours in which one person works; two entries leave a break between them."""

    person: Annotated[str, Field(description="Who works.", examples=["Ana"])]
    from_: Annotated[
        TimeText,
        Field(
            alias="from",
            description="Start, local time; from 12:00 on it is the evening before.",
            examples=["22:00"],
        ),
    ]
    to: Annotated[
        TimeText,
        Field(description="End, local time; the next time the clock shows it.", examples=["06:00"]),
    ]

    def to_core(self, people: Sequence[str], production_date: date, zone: ZoneInfo) -> core.Shift:
        """Return the core's shift."""
        start = at_work("from", self.from_, production_date, zone)
        end = after("to", self.to, start, zone)
        if end <= start:
            raise refuse(
                "to",
                self.to,
                f"the shift ends before it starts at {shown_local(start, zone)}",
                "enter a later end",
            )
        return core.Shift(found_id(self.person, people), start, end)


class MixListInput(Entry):
    """What is wanted on a production day, who works, and what time may be planned."""

    mix_list: Annotated[
        list[LineInput],
        Field(
            description="Orders and ready mixes.",
            examples=[[{"product": "country loaf", "pieces": 96, "leave_by": "06:30"}]],
        ),
    ]
    shifts: Annotated[
        list[ShiftInput],
        Field(
            description="Who works from when to when; the people's usual hours when left out.",
            examples=[[{"person": "Ana", "from": "22:00", "to": "06:00"}]],
        ),
    ] = Field(default_factory=list)
    span_from: Annotated[
        TimeText | None,
        Field(
            description="Start of the time that may be planned; 12:00 the day before when left"
            " out.",
            examples=["14:00"],
        ),
    ] = None
    span_to: Annotated[
        TimeText | None,
        Field(
            description="End of the time that may be planned; 24:00 of the production date when"
            " left out.",
            examples=["16:00"],
        ),
    ] = None

    def span(self, production_date: date, zone: ZoneInfo) -> Span:
        """Return the time that may be planned.

        Raises
        ------
        InputError
            If the clocks skip or repeat one of its ends.
        """
        day_before = production_date - timedelta(days=1)
        start = (
            on_the_date("span_from", "12:00", day_before, zone)
            if self.span_from is None
            else at_work("span_from", self.span_from, production_date, zone)
        )
        end = on_the_date("span_to", self.span_to or "24:00", production_date, zone)
        if end <= start:
            raise refuse(
                "span_to",
                shown_local(end, zone),
                f"ends before it starts at {shown_local(start, zone)}",
                "enter a later end",
            )
        return Span(production_date, zone, start, end)

    def lines_to_core(
        self, faults: Faults, span: Span, formulas: Sequence[str], products: Sequence[str]
    ) -> tuple[core.Order | core.MixRequest, ...]:
        """Return the core's lines, those with faults left out.

        Parameters
        ----------
        faults
            Takes what is wrong.
        span
            The production day.
        formulas, products
            Known ids.
        """
        made = [
            _line_to_core(faults.at(f"mix_list.{id}"), line, id, span, formulas, products)
            for id, line in zip(line_ids(self.mix_list), self.mix_list, strict=True)
        ]
        return tuple(one for one in made if one is not None)

    def all_shifts(self, people: Sequence[PersonInput]) -> list[ShiftInput]:
        """Return the day's shifts, or the usual hours of the people when it names none."""
        return self.shifts or [
            ShiftInput.model_validate({"person": p.key, "from": p.from_, "to": p.to})
            for p in people
            if p.from_ is not None and p.to is not None
        ]

    def shifts_to_core(
        self, faults: Faults, people: Sequence[PersonInput], production_date: date, zone: ZoneInfo
    ) -> tuple[core.Shift, ...]:
        """Return the core's shifts, those with faults left out."""
        ids = [p.key for p in people] or [p.id for p in self.people_of_shifts()]
        made = [
            faults.at(f"shifts[{i}]").build(shift.to_core, ids, production_date, zone)
            for i, shift in enumerate(self.all_shifts(people))
        ]
        return tuple(one for one in made if one is not None)

    def people_of_shifts(self) -> tuple[Person, ...]:
        """Return the people that the shifts name, each once."""
        by_id = {slug(shift.person): shift.person for shift in self.shifts}
        return tuple(Person(id, name) for id, name in by_id.items())


def _line_to_core(
    faults: Faults,
    line: OrderInput | MixInput,
    id: str,
    span: Span,
    formulas: Sequence[str],
    products: Sequence[str],
) -> core.Order | core.MixRequest | None:
    if isinstance(line, OrderInput):
        return faults.build(line.to_core, id, span, products)
    return faults.build(line.to_core, id, span, formulas, products)


def line_ids(lines: Sequence[OrderInput | MixInput]) -> list[str]:
    """Return an id for each line: the one given, or its name, numbered when it comes again.

    Examples
    --------
    >>> loaf = OrderInput(product="loaf", pieces=3, leave_by="06:00")
    >>> line_ids([loaf, loaf])
    ['loaf', 'loaf_2']
    """
    ids: list[str] = []
    for line in lines:
        times = sum(other.label == line.label for other in lines[: len(ids)])
        ids.append(line.label if line.id or times == 0 else f"{line.label}_{times + 1}")
    return ids
