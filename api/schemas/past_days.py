"""A plan beside the last days, as it is sent."""

from __future__ import annotations

from typing import Annotated

from api.schemas.reader import Read, shown


class BesideRead(Read):
    """One figure of a plan beside those of the last days."""

    name: Annotated[str, shown("What it counts or measures.", "ice")]
    unit: Annotated[
        str,
        shown(
            "Its unit; empty for a count. Clock times are minutes from 00:00 of the production"
            " date, local time, negative for the evening before.",
            "kg",
        ),
    ]
    value: Annotated[float, shown("In this plan.", 14.5)]
    usual: Annotated[float, shown("The median of the last days.", 6.0)]
    lowest: Annotated[float, shown("The least of the last days.", 0.0)]
    highest: Annotated[float, shown("The most of the last days.", 9.5)]
    is_unusual: Annotated[
        bool, shown("Whether it is less or more than on each of at least three days.", True)
    ]


class PastDaysRead(Read):
    """A plan beside the plans that counted in the 14 days before it."""

    days: Annotated[int, shown("How many of these days had a plan that counted.", 12)]
    figures: Annotated[list[BesideRead], shown("Figure by figure; none without such days.", [])]
