"""Problem Details (RFC 9457): what the API answers when it cannot do what was asked.

References
----------
M. Nottingham, E. Wilde, S. Dalal: Problem Details for HTTP APIs. RFC 9457, 2023.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from planner.errors import Fault

MEDIA_TYPE = "application/problem+json"


class FaultRead(BaseModel):
    """One thing wrong with what was sent."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    field: Annotated[
        str,
        Field(description="Path of the field.", examples=["formulas.rye.lines[2].percent"]),
    ]
    value: Annotated[str, Field(description="What was sent, as text.", examples=["-3"])]
    problem: Annotated[
        str, Field(description="What is wrong with it.", examples=["is out of range"])
    ]
    remedy: Annotated[
        str, Field(description="What to send instead.", examples=["enter 0 to 1000 %"])
    ]

    @classmethod
    def of(cls, fault: Fault) -> FaultRead:
        """Return a fault of the core as it is sent."""
        return cls(field=fault.field, value=fault.value, problem=fault.problem, remedy=fault.remedy)


class Problem(BaseModel):
    """A problem, as every failing request answers it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    type: Annotated[
        str,
        Field(
            description="Stable name of the kind of problem, relative to the service's address.",
            examples=["/problems/invalid-input"],
        ),
    ]
    title: Annotated[
        str,
        Field(description="The kind of problem in a few words.", examples=["Input is not right"]),
    ]
    status: Annotated[int, Field(description="HTTP status code.", examples=[422])]
    detail: Annotated[
        str,
        Field(
            description="What happened this time, and what to do about it.",
            examples=["1 thing is wrong with what was sent."],
        ),
    ]
    instance: Annotated[
        str,
        Field(
            description="Path of the request that failed.",
            examples=["/api/v1/bakeries/weir"],
        ),
    ]
    faults: Annotated[
        list[FaultRead],
        Field(
            description="Every fault found, in the order of the input; empty when the problem is"
            " not one of input.",
            examples=[
                [
                    {
                        "field": "formulas.rye.lines[2].percent",
                        "value": "-3",
                        "problem": "is out of range",
                        "remedy": "enter 0 to 1000 %",
                    }
                ]
            ],
        ),
    ]
