"""The service: made from its settings, and run."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib.metadata import version
from types import FrameType
from typing import TYPE_CHECKING

from fastapi import APIRouter, Depends, FastAPI
from sqlmodel import Session

from api import logs
from api.around import Around
from api.clock import Clock, utc_now
from api.dependencies import Services
from api.described import keep_to_3_1
from api.errors import described, install
from api.guard import guard
from api.jobs.clockwork import Clockwork
from api.jobs.event_hub import EventHub
from api.jobs.planning import Core, PlanningJobs, planner_core
from api.routes import (
    accounts,
    bakeries,
    bench,
    conditions,
    corrections,
    days,
    events,
    forecasts,
    formulas,
    health,
    mix_lists,
    occurrences,
    office_day,
    office_doughs,
    office_lists,
    office_plan,
    office_setup,
    office_start,
    papers,
    past_days,
    people,
    pins,
    plan_parts,
    plans,
    problems,
    products,
    readings,
    record,
    routines,
    sign_in,
    standing,
    thermometers,
)
from api.routes.strict import StrictRoute
from api.settings import Settings
from api.store import accounts as stored_accounts
from api.store.engine import for_writing, open_engine, writers_at_once
from api.store.upgrade import upgrade

if TYPE_CHECKING:
    import uvicorn

STARTUP_FAILED = 3
"""Exit code when the service cannot start, such as when its port is taken."""

API = "/api/v1"
RESOURCES = (
    health,
    bakeries,
    formulas,
    products,
    mix_lists,
    conditions,
    forecasts,
    standing,
    pins,
    people,
    days,
    plans,
    plan_parts,
    papers,
    readings,
    past_days,
    corrections,
    thermometers,
    routines,
    occurrences,
    events,
    problems,
    accounts,
)

OFFICE = (office_start, office_setup, office_doughs, office_lists, office_day, office_plan)
"""Pages for people."""


def create_app(settings: Settings, *, clock: Clock = utc_now, core: Core | None = None) -> FastAPI:
    """Return the service.

    Parameters
    ----------
    settings
        What the operator set.
    clock
        Tells the time.
    core
        The core's functions; the core itself when None.
    """

    @asynccontextmanager
    async def held(app: FastAPI) -> AsyncIterator[None]:
        logs.configure(settings.log_level)
        services = open_services(settings, clock, core or planner_core())
        app.state.services = services
        announce(services)
        following = asyncio.create_task(services.hub.run())
        if settings.timers:
            services.clockwork.start()
        try:
            yield
        finally:
            services.hub.close()
            await following
            services.clockwork.close()
            services.jobs.close()
            services.engine.dispose()

    app = FastAPI(
        title="Ovenward",
        summary="Plans a bakery's night.",
        description=described(),
        version=version("ovenward"),
        openapi_url=f"{API}/openapi.json",
        docs_url=None,  # the usual pages load their script from elsewhere; kitchens may be offline
        redoc_url=None,
        lifespan=held,
        dependencies=[Depends(guard)],
    )
    app.add_middleware(
        Around,
        most_bytes=settings.body_mib * 2**20,
        base=settings.base_path,
        demo=settings.demo,
    )
    keep_to_3_1(app)
    app.router.route_class = StrictRoute
    install(app)
    api = APIRouter(prefix=API, route_class=StrictRoute)
    for resource in RESOURCES:
        api.include_router(resource.router)
    app.include_router(api)
    for part in (*OFFICE, sign_in, bench, record):
        app.include_router(part.router)
    app.include_router(health.probes)
    app.include_router(problems.pages)
    return app


def open_services(settings: Settings, clock: Clock, core: Core) -> Services:
    """Open the database, bring it up to date, and return what the service holds."""
    if not settings.database_url:
        settings.data_dir.mkdir(parents=True, exist_ok=True)
    upgrade(settings.address)
    engine = open_engine(settings.address)
    hub = EventHub(engine)
    jobs = PlanningJobs(engine, settings, clock, core, hub.wake)
    clockwork = Clockwork(engine, settings, clock, jobs, hub.wake)
    turn = asyncio.Semaphore(writers_at_once(engine))
    return Services(settings, clock, core, engine, jobs, hub, clockwork, turn)


def announce(services: Services) -> None:
    """Say on standard error that anybody may do anything, or how the first account is made."""
    settings = services.settings
    if settings.demo:
        say = "DEMO: nobody signs in, and anybody on this machine may do anything.\n"
        sys.stderr.write(say)
        return
    with Session(for_writing(services.engine)) as session, session.begin():
        if stored_accounts.is_first_run(session):
            code = stored_accounts.new_first_run_code(session, services.clock())
            here = f"http://{settings.host}:{settings.port}{settings.base_path}"
            base = settings.public_url or here
            sys.stderr.write(f"Nobody can sign in yet. Open {base}/first-run, code {code}\n")


def serve(settings: Settings) -> None:
    """Run the service until it is told to stop."""
    server = server_of(settings, create_app(settings))
    server.run()
    if not server.started:
        sys.exit(STARTUP_FAILED)


def server_of(settings: Settings, app: FastAPI) -> uvicorn.Server:
    """Return the server that listens as the settings say."""
    import uvicorn  # noqa: PLC0415  not needed by the other commands

    config = uvicorn.Config(
        app,
        host=settings.host,
        port=settings.port,
        log_level=settings.log_level,
        log_config=logs.of_server(settings.log_level),
        access_log=False,  # `api.around` tells of each request
        server_header=False,
        timeout_graceful_shutdown=settings.shutdown_s,
        forwarded_allow_ips=settings.trusted_proxies,
    )
    server = uvicorn.Server(config)
    end_streams_first(server, app)
    return server


def end_streams_first(server: uvicorn.Server, app: FastAPI) -> None:
    """Let a server that is told to stop end its open streams, for which it would wait for good."""
    stop = server.handle_exit

    def handle_exit(sig: int, frame: FrameType | None) -> None:
        services = getattr(app.state, "services", None)
        if services is not None:
            services.hub.close()
        stop(sig, frame)

    # The one place where the server says that it was told to stop.
    server.handle_exit = handle_exit  # type: ignore[method-assign]
