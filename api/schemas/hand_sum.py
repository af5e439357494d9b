"""The baker's own sum as it is entered: no number without its convention and its unit."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from pydantic import Field, model_validator

from api.schemas.base import Entry, Number, ReadAsWord, slug
from api.schemas.units import wrong
from planner.errors import InputError
from planner.hand_sum import HandSum, SumKind
from planner.quantities import celsius_from_fahrenheit

KEYS: dict[SumKind, tuple[str, ...]] = {
    SumKind.FRICTION: ("value_k",),
    SumKind.RISE: ("value_k",),
    SumKind.BASE: ("value_c", "value_f"),
    SumKind.TWO_TERMS: ("value_k",),
}
"""Where the number of each convention may be written; a difference also in °F, as everywhere."""

ONE_OF_TWO = "write only one of the two"


class HandSumInput(Entry):
    """The baker's own sum for the water; which convention it is must be said."""

    kind: Annotated[
        SumKind,
        ReadAsWord,
        Field(description="What the number is.", examples=["friction in the sum"]),
    ]
    value_k: Annotated[
        Number | None,
        Field(
            description="A friction, or the rise of the dough: a difference of degrees [K].",
            examples=[17.0],
        ),
    ] = None
    value_c: Annotated[
        Number | None,
        Field(
            description="A base temperature: room, flour and water together [°C].",
            examples=[58.0],
        ),
    ] = None
    value_f: Annotated[
        Number | None,
        Field(
            description="A base temperature added up from readings in °F [°F].", examples=[200.0]
        ),
    ] = None
    part: Annotated[
        str,
        Field(description="The part that is a term of the sum, if one is.", examples=["levain"]),
    ] = ""

    @model_validator(mode="after")
    def _one_number(self) -> HandSumInput:
        keys = KEYS[self.kind]
        ways = " or ".join([*keys, *(["value_f_difference"] if keys == ("value_k",) else [])])
        told = {key: number for key, number in self.numbers.items() if number is not None}
        if not told:
            raise wrong(keys[0], None, "is missing", f"write the {self.kind} as {ways}")
        for key, number in told.items():
            if key not in keys:
                raise wrong(key, number, f"is no unit of a {self.kind}", f"write {ways}")
        if len(told) > 1:
            raise wrong("value_f", self.value_f, "says the same as value_c", ONE_OF_TWO)
        return self

    @property
    def numbers(self) -> dict[str, float | None]:
        """The number by the key it may be written at."""
        return {"value_k": self.value_k, "value_c": self.value_c, "value_f": self.value_f}

    def to_core(self) -> HandSum:
        """Return the core's sum.

        Raises
        ------
        InputError
            If the number is none of its convention.
        """
        part_id = slug(self.part) if self.part else ""
        written, number = self._written()
        value = number
        if written == "value_f":
            # Each reading that was added up brought its own 32 °F.
            terms = 4 if part_id else 3
            value = terms * celsius_from_fahrenheit(number / terms)
        try:
            return HandSum(self.kind, value, part_id)
        except InputError as error:
            raise InputError(
                replace(fault, field=written, value=f"{number:g}")
                if fault.field == "value"
                else fault
                for fault in error.faults
            ) from None

    def _written(self) -> tuple[str, float]:
        """Return the key and the number that were written."""
        return next((key, number) for key, number in self.numbers.items() if number is not None)
