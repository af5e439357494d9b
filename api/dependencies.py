"""What routes are given: settings, the clock, the core, sessions, jobs."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, cast

from fastapi import Depends, Request
from sqlalchemy import Engine
from sqlmodel import Session

from api.access import Principal, bakery_of_plan
from api.clock import Clock
from api.jobs.clockwork import Clockwork
from api.jobs.event_hub import EventHub
from api.jobs.planning import Core, PlanningJobs
from api.settings import Settings
from api.store import changes
from api.store.engine import for_writing


@dataclass(frozen=True, slots=True)
class Services:
    """Everything a running service holds; made once, at its start."""

    settings: Settings
    clock: Clock
    core: Core
    engine: Engine
    jobs: PlanningJobs
    hub: EventHub
    clockwork: Clockwork
    turn: asyncio.Semaphore


# What does not wait is no thread's work: a thread for each would cost more than the reading.
async def services(request: Request) -> Services:
    """Return what the running service holds."""
    return cast("Services", request.app.state.services)


ServicesDep = Annotated[Services, Depends(services)]


async def settings(held: ServicesDep) -> Settings:
    """Return the settings."""
    return held.settings


async def now(held: ServicesDep) -> datetime:
    """Return the moment of the request [UTC]."""
    return held.clock()


async def core(held: ServicesDep) -> Core:
    """Return the core's functions."""
    return held.core


async def jobs(held: ServicesDep) -> PlanningJobs:
    """Return the planning jobs."""
    return held.jobs


def reading_session(held: ServicesDep) -> Iterator[Session]:
    """Give a session that only reads."""
    with Session(held.engine) as session, session.begin():
        yield session


async def principal(request: Request) -> Principal:
    """Return who sends the request; `api.guard` has found out."""
    return cast("Principal", request.state.principal)


def bakery_named(request: Request) -> str | None:
    """Return the bakery that the address of a request names, itself or by a plan's id."""
    named = request.path_params
    if "plan_id" in named:
        return bakery_of_plan(str(named["plan_id"]))
    return str(named["bakery_id"]) if "bakery_id" in named else None


async def turn(held: ServicesDep) -> AsyncIterator[None]:
    """Wait for the turn to write, and hand it on when the request is done.

    Whoever waits so holds neither a thread nor a connection. Else all threads could wait for one
    request that is nearly done and needs another thread to go on.
    """
    async with held.turn:
        yield


TurnDep = Annotated[None, Depends(turn, scope="function")]
IN_TURN = (Depends(turn, scope="function"),)
"""Of a route that opens its own session to write."""


def writing_session(held: ServicesDep, request: Request, _turn: TurnDep) -> Iterator[Session]:
    """Give a session whose one transaction is committed when the request is done.

    It is committed before the answer leaves (scope ``function``): what was answered is stored.
    """
    with Session(for_writing(held.engine)) as session, session.begin():
        yield session
        changes.note(
            session,
            cast("Principal", request.state.principal),
            bakery_named(request),
            request.method,
            request.url.path,
            held.clock(),
        )
    held.hub.wake()


PrincipalDep = Annotated[Principal, Depends(principal)]
SettingsDep = Annotated[Settings, Depends(settings)]
NowDep = Annotated[datetime, Depends(now)]
CoreDep = Annotated[Core, Depends(core)]
JobsDep = Annotated[PlanningJobs, Depends(jobs)]
ReadDep = Annotated[Session, Depends(reading_session, scope="function")]
WriteDep = Annotated[Session, Depends(writing_session, scope="function")]
