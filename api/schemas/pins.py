"""What the baker fixes about one production day."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from api.schemas.base import Entry
from api.schemas.day import PinInput


class PinsInput(Entry):
    """Pins of one production day."""

    pins: Annotated[
        list[PinInput],
        Field(
            description="What the baker fixes, mix by mix.",
            max_length=500,
            examples=[[{"mix": "country_loaf-1", "start": "23:30"}]],
        ),
    ]
