"""People of a bakery: a name can be erased, while what was read and planned stays."""

from __future__ import annotations

from typing import Annotated

from fastapi import Path

from api.dependencies import WriteDep
from api.errors import responses
from api.routes.once import ONCE_IN_TURN
from api.routes.shared import BakeryId, resource
from api.schemas.forgetting import ForgottenRead
from api.store.forgetting import forget_person

router = resource("people", "/bakeries/{bakery_id}/people")

PersonId = Annotated[str, Path(description="Id of the person.", max_length=100, examples=["ana"])]


@router.post(
    "/{person_id}/forget", dependencies=ONCE_IN_TURN, responses=responses(404, 409, 422, 503)
)
def forget(bakery_id: BakeryId, person_id: PersonId, session: WriteDep) -> ForgottenRead:
    """Put a made-up name in the place of a person's: in the house, shifts, plans and the trail.

    What was read and planned stays. It cannot be undone, except from a copy made before.
    """
    return forget_person(session, bakery_id, person_id)
