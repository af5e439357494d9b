"""What all read schemas share: no defaults, and a description with an example on every field."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, cast
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo

from api.pages.names import Names
from api.pages.wording import Clock, Units, clock_of, render_remark
from planner.planned import Plan
from planner.remarks import Remark


class Read(BaseModel):
    """Base of what is sent. It is made from a core value of the same field names."""

    model_config = ConfigDict(extra="forbid", frozen=True, from_attributes=True)


def shown(description: str, example: Any) -> Any:  # noqa: ANN401  any JSON; a field has any type
    """Return the description and example of a field."""
    return Field(description=description, examples=[example])


@dataclass(frozen=True, slots=True)
class Reader:
    """For whom sentences are written: the names, zone and units of one plan's bakery.

    Attributes
    ----------
    names
        Names behind ids.
    clock
        Clock times of the plan's day.
    units
        Units in which the house reads.
    """

    names: Names
    clock: Clock
    units: Units

    @classmethod
    def of(cls, plan: Plan, units: Units) -> Reader:
        """Return the reader of a plan."""
        return cls(Names(plan), clock_of(plan, ZoneInfo(plan.day.bakery.zone)), units)

    def sentence(self, remark: Remark) -> str:
        """Return a remark as text."""
        return render_remark(remark, self.clock.zone, self.units, clock=self.clock)


def reader_of(info: ValidationInfo) -> Reader:
    """Return the reader for whom a core value is being turned into a schema."""
    return cast("Reader", info.context)


def attributes(value: Any) -> dict[str, Any]:  # noqa: ANN401  any core value
    """Return the fields of a core value, not descending into them."""
    return {field.name: getattr(value, field.name) for field in fields(value)}
