"""Whether the service and its database answer."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter
from sqlalchemy import text

from api.dependencies import ReadDep
from api.errors import responses
from api.schemas.reader import Read, shown

router = APIRouter(tags=["health"], prefix="/health")


class HealthRead(Read):
    """The service and its database answer."""

    database: Annotated[str, shown("Kind of database that answered.", "sqlite")]


@router.get("", responses=responses(503, is_open=True))
def read_health(session: ReadDep) -> HealthRead:
    """Say whether the service and its database answer."""
    session.execute(text("SELECT 1"))
    return HealthRead(database=session.get_bind().dialect.name)
