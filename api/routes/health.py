"""Whether the service and its database answer."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter
from sqlalchemy import text

from api.dependencies import ReadDep, ServicesDep
from api.errors import StoppingError, responses
from api.schemas.reader import Read, shown

router = APIRouter(tags=["health"], prefix="/health")
probes = APIRouter(include_in_schema=False)


class HealthRead(Read):
    """The service and its database answer."""

    database: Annotated[str, shown("Kind of database that answered.", "sqlite")]


@router.get("", responses=responses(503, is_open=True))
def read_health(session: ReadDep) -> HealthRead:
    """Say whether the service and its database answer."""
    session.execute(text("SELECT 1"))
    return HealthRead(database=session.get_bind().dialect.name)


@probes.get("/healthz")
async def is_alive() -> dict[str, str]:
    """Say that the process answers: one that does not should be started anew."""
    return {"status": "alive"}


@probes.get("/readyz")
def is_ready(session: ReadDep, held: ServicesDep) -> dict[str, str]:
    """Say that requests may be sent here: the database answers, and nobody told us to stop."""
    if held.hub.is_closed:
        raise StoppingError("The service is stopping. Ask another one.")
    session.execute(text("SELECT 1"))
    return {"status": "ready"}
