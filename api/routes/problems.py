"""What kinds of problems there are; the `type` of a problem leads here."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path

from api.errors import FRAMEWORK_KINDS, KINDS, NotFoundError, responses
from api.routes.strict import StrictRoute
from api.schemas.problem_kinds import ProblemKindRead

router = APIRouter(tags=["problems"], prefix="/problems", route_class=StrictRoute)
pages = APIRouter(include_in_schema=False, route_class=StrictRoute)

Name = Annotated[str, Path(description="Last part of the type.", examples=["not-found"])]


@router.get("", responses=responses(503, is_open=True))
def list_problem_kinds() -> list[ProblemKindRead]:
    """List the kinds of problems, each with its stable type."""
    told = {
        kind.name: ProblemKindRead(type=kind.type, title=kind.title, status=kind.status)
        for kind in KINDS
    }
    for name, (title, status) in FRAMEWORK_KINDS.items():
        told.setdefault(name, ProblemKindRead(type=f"/problems/{name}", title=title, status=status))
    return sorted(told.values(), key=lambda one: one.type)


@pages.get("/problems/{name}")
def read_problem_kind(name: Name) -> ProblemKindRead:
    """Say what a kind of problem is."""
    for kind in list_problem_kinds():
        if kind.type == f"/problems/{name}":
            return kind
    raise NotFoundError("kind of problem", name)
