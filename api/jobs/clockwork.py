"""Firing what comes due: on the one leader, each once, and late rather than never.

The rows of `api.store.occurrences` are the truth. A scheduler in memory only wakes us at the
right moment; whoever marks a row as fired writes its event in the same transaction, so that a
crash leaves both or neither. After a restart everything that still waits is found again.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import structlog
from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session

from api.clock import Clock
from api.errors import DayClashError, DayIncompleteError, problem_of
from api.jobs.leader import Leader, leader_for
from api.jobs.planning import PlanningJobs
from api.jobs.pulling import pull_due
from api.jobs.replanning import Replanning
from api.schemas.events import EventKind
from api.schemas.occurrences import OccurrenceKind
from api.settings import Settings
from api.store import days, events, occurrences, plans, readings, reconsidering, routines
from api.store.engine import for_writing
from api.store.retention import Keeping, forget_old
from api.store.tables import OccurrenceRow
from planner.errors import InputError

if TYPE_CHECKING:
    import httpx
    from apscheduler.schedulers.background import BackgroundScheduler

_log = structlog.get_logger()

TICK_S = 1.0
"""How often the leader looks for what comes due, and others whether there still is a leader."""
AHEAD = timedelta(seconds=90)
"""What comes due so soon has its own wake-up call."""
HOUSEKEEPING = timedelta(seconds=30)


class Clockwork:
    """Fires timers and nightly plans.

    Parameters
    ----------
    engine
        The database.
    settings
        When a plan that is being made counts as interrupted.
    clock
        Tells the time.
    planning
        Makes the plans that come due.
    told
        Called when something was written that others may wait for.
    transport
        What carries requests to sources of forecasts; the network when None.
    """

    def __init__(
        self,
        engine: Engine,
        settings: Settings,
        clock: Clock,
        planning: PlanningJobs,
        told: Callable[[], None] = lambda: None,
        transport: httpx.BaseTransport | None = None,
    ) -> None:
        self._engine = engine
        self._transport, self._inside = transport, settings.pull_inside
        self._replanning = Replanning(engine, clock, planning, told)
        self._puller = ThreadPoolExecutor(1, thread_name_prefix="pulling")
        self._pulling: Future[None] | None = None
        self._keeping = Keeping(settings.keep_plans_days, settings.keep_events_days)
        self._forgot_on: date | None = None
        self._stale = timedelta(seconds=settings.stale_s)
        self._clock = clock
        self._planning = planning
        self._told = told
        self._leader: Leader = leader_for(engine)
        self._scheduler: BackgroundScheduler | None = None
        self._kept_house: datetime | None = None
        self._woken: set[str] = set()

    def start(self) -> None:
        """Begin to look, in a thread of its own."""
        from apscheduler.schedulers.background import (  # noqa: PLC0415  needed by no command
            BackgroundScheduler,
        )

        # Lateness is ours to judge: the library would silently drop what is a second late.
        usual = {"misfire_grace_time": None, "coalesce": True, "max_instances": 1}
        self._scheduler = BackgroundScheduler(timezone=UTC, job_defaults=usual)
        self._scheduler.add_job(
            self.tick, "interval", seconds=TICK_S, next_run_time=datetime.now(UTC)
        )
        self._scheduler.start()

    def close(self) -> None:
        """Stop, after what is being fired; what waits, waits for the next start."""
        if self._scheduler is not None:
            self._scheduler.shutdown(wait=True)
        self._puller.shutdown(wait=True, cancel_futures=True)
        self._leader.close()

    @property
    def leads(self) -> bool:
        """Whether this process fires what comes due."""
        return self._leader.leads()

    def tick(self) -> None:
        """Fire what is due, and set a wake-up call for what soon will be."""
        try:
            self._planning.keep_alive()
            if not self._leader.leads():
                return
            now = self._clock()
            self._keep_house(now)
            with Session(self._engine) as session:
                found = occurrences.due(session, now + AHEAD)
            for id, due_at in found:
                if due_at <= now:
                    self._bring_about(id)
                else:
                    self._wake_at(id, due_at)
        except DBAPIError:
            _log.warning("what comes due could not be read; trying again")

    def _bring_about(self, id: str) -> None:
        """Tell of an occurrence, or begin the work that ends with its being told."""
        if f"/{OccurrenceKind.RECONSIDER}/" in id:
            self._replanning.begin(id)
        else:
            self.fire(id)

    def fire(self, id: str) -> bool:
        """Tell of an occurrence, unless it was told before; return whether it was told now."""
        self._woken.discard(id)
        now = self._clock()
        try:
            with Session(for_writing(self._engine)) as session, session.begin():
                row = occurrences.claim(session, id, now)
                ordered = None if row is None else self._act(session, row, now)
                told = row is not None
        except DBAPIError:
            _log.warning("it could not be told; trying again", occurrence=id)
            return False
        if told:
            self._told()
        if ordered is not None:
            self._planning.start(ordered)
        return told

    def _wake_at(self, id: str, due_at: datetime) -> None:
        if self._scheduler is not None and id not in self._woken:
            self._woken.add(id)
            self._scheduler.add_job(
                self._bring_about, "date", run_date=due_at, args=[id], id=id, replace_existing=True
            )

    def _act(self, session: Session, row: OccurrenceRow, now: datetime) -> str | None:
        """Write what an occurrence brings about; return the id of a plan to be made."""
        if row.kind == OccurrenceKind.NIGHTLY_PLAN:
            return _order_night(session, row, now)
        if row.kind == OccurrenceKind.FORECAST_STALE:
            if reconsidering.is_stale(session, row):
                sent = {"place": row.subject, "stale_since": row.due_at.isoformat()}
                stale = EventKind.FORECAST_STALE
                events.append(session, row.bakery_id, stale, row.subject, sent, now)
            return None
        kind = EventKind.TIMER_DUE
        if row.kind == OccurrenceKind.READING_WANTED:
            if readings.has_dough_end(session, str(row.plan_id), row.subject):
                return None
            kind = EventKind.READING_WANTED
        sent = occurrences.sent(row).model_dump(mode="json")
        events.append(session, row.bakery_id, kind, str(row.plan_id), sent, now)
        return None

    def _keep_house(self, now: datetime) -> None:
        if self._kept_house is not None and now - self._kept_house < HOUSEKEEPING:
            return
        self._kept_house = now
        with Session(for_writing(self._engine)) as session, session.begin():
            for bakery_id in routines.bakeries_with_nights(session):
                routines.keep_nights_due(session, bakery_id, now)
            reconsidering.keep_due(session, now)
            abandoned = plans.take_over(session, now - self._stale, now)
        for plan_id in abandoned:
            _log.warning("a plan was interrupted; it is made again", plan=plan_id)
            self._planning.start(plan_id)
        self._begin_to_pull(now)

    def _begin_to_pull(self, now: datetime) -> None:
        """Renew the forecasts that are due, unless that is under way: sources may take long."""
        if self._pulling is None or self._pulling.done():
            self._pulling = self._puller.submit(self.pull, now)

    def pull(self, now: datetime) -> None:
        """Renew the forecasts that are due; what is new is looked at when house is next kept."""
        try:
            pull_due(self._engine, now, transport=self._transport, inside=self._inside)
        except DBAPIError:
            _log.warning("forecasts could not be stored; trying again")
        self._forget_old(now)

    def _forget_old(self, now: datetime) -> None:
        """Forget once a day what is older than is to be kept."""
        if self._forgot_on == now.date():
            return
        try:
            with Session(for_writing(self._engine)) as session, session.begin():
                gone = forget_old(session, self._keeping, now)
        except DBAPIError:
            _log.warning("what is old could not be forgotten; trying again")
            return
        self._forgot_on = now.date()
        _log.info("what is old was forgotten", **gone)


def _order_night(session: Session, row: OccurrenceRow, now: datetime) -> str | None:
    try:
        made_from = days.assembled(session, row.bakery_id, row.production_date)
        days.to_core(made_from)
    except (DayIncompleteError, DayClashError, InputError) as error:
        address = f"/api/v1/bakeries/{row.bakery_id}"
        data = {
            "production_date": row.production_date.isoformat(),
            "problem": problem_of(error, address).model_dump(mode="json"),
        }
        events.append(session, row.bakery_id, EventKind.NIGHT_INCOMPLETE, row.id, data, now)
        return None
    return plans.add(session, row.bakery_id, row.production_date, made_from, now).id
