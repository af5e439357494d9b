"""A person whose name is erased, while what was read and planned stays."""

from __future__ import annotations

from typing import Annotated

from api.schemas.reader import Read, shown


class ForgottenRead(Read):
    """What stands in a person's place now."""

    instead: Annotated[
        str, shown("Id and name that stand in the place of the person's.", "person_1")
    ]
    documents: Annotated[int, shown("Stored documents in which the person was named.", 12)]
