"""Finished mixes as they are written down, night after night."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from api.schemas.base import Entry, Number
from api.schemas.day import RememberedInput


class FinishedInput(RememberedInput):
    """A mix as it was read when it came off: what a remembered mix holds, but read."""

    about_k: Annotated[
        Number,
        Field(
            description="How sure the dough's temperature is, one standard deviation [K].",
            examples=[0.5],
        ),
    ] = 0.5


class FinishedMixesInput(Entry):
    """Finished mixes, oldest first."""

    finished: Annotated[
        list[FinishedInput],
        Field(
            description="Mixes that came off, oldest first.",
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
    ]
