"""Looking at a plan in force again: a new forecast, or a reading beyond its band.

What comes of it is told only if it is worth a word (`planner.changes`). An occurrence is claimed
when its look is over, in the transaction that stores what came of it: a look that a crash cut off
is taken again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from threading import Lock

import structlog
from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session

from api.clock import Clock
from api.errors import DayClashError, DayIncompleteError, NotFoundError
from api.jobs.planning import PlanningJobs
from api.schemas.events import EventKind
from api.schemas.occurrences import OccurrenceKind, OccurrenceState
from api.schemas.routine import InForce, Replans
from api.store import days, events, in_force, occurrences, plans, readings, routines
from api.store.engine import for_writing
from api.store.tables import Document, OccurrenceRow
from planner.changes import change_of
from planner.conditions import Conditions
from planner.errors import InputError
from planner.events import Event, NewConditions
from planner.happened import Change
from planner.planned import Plan
from planner.readings import Reading

_log = structlog.get_logger()


@dataclass(frozen=True, slots=True)
class _Look:
    """A plan in force and what is known since."""

    plan_id: str
    made_from: Document
    before: Plan
    readings: tuple[Reading, ...]
    at: datetime
    conditions: Conditions | None


class Replanning:
    """Looks at plans again, in the background and one after the other.

    Parameters
    ----------
    engine
        The database.
    clock
        Tells the time.
    planning
        Lends its threads and the core.
    told
        Called when something was written that others may wait for.
    """

    def __init__(
        self, engine: Engine, clock: Clock, planning: PlanningJobs, told: Callable[[], None]
    ) -> None:
        self._engine, self._clock = engine, clock
        self._planning, self._told = planning, told
        self._under_way: set[str] = set()
        self._lock = Lock()

    def begin(self, id: str) -> None:
        """Look at the plan of an occurrence, unless that is under way."""
        with self._lock:
            if id in self._under_way:
                return
            self._under_way.add(id)
        self._planning.submit(self.run, id)

    def run(self, id: str) -> None:
        """Look at the plan of an occurrence here and now."""
        try:
            look = self._look(id)
            after = None if look is None else self._replanned(look)
            self._settle(id, look, after)
        except DBAPIError:
            _log.warning("a plan could not be looked at; trying again", occurrence=id)
        except Exception:  # noqa: BLE001  the edge of a job: it would come again for good
            _log.exception("a plan could not be planned again", occurrence=id)
            self._settle(id, None, None)
        finally:
            with self._lock:
                self._under_way.discard(id)

    def _look(self, id: str) -> _Look | None:
        now = self._clock()
        with Session(self._engine) as session:
            waits = session.get(OccurrenceRow, id)
            if waits is None or waits.state != OccurrenceState.WAITING or waits.plan_id is None:
                return None
            date, bakery_id = waits.production_date, waits.bakery_id
            if in_force.of_day(session, bakery_id, date) != waits.plan_id:
                return None
            row = plans.get(session, waits.plan_id)
            before = plans.core_plan(row)
            known = readings.plan_with_readings(session, row.id, before).readings
            made_from, conditions = row.made_from, None
            try:
                now_stands = days.assembled(session, bakery_id, date)
                conditions = days.to_core(now_stands)[1]
                made_from = {**made_from, "conditions": now_stands["conditions"]}
            except (NotFoundError, DayIncompleteError, DayClashError, InputError):
                _log.warning("the day cannot be read as it stands now", plan=row.id)
            return _Look(row.id, made_from, before, known[len(before.readings) :], now, conditions)

    def _replanned(self, look: _Look) -> Plan:
        happened: list[Event] = list(look.readings)
        if look.conditions is not None and look.conditions != look.before.conditions:
            happened.append(NewConditions(look.conditions))
        return self._planning.replanned(look.before, look.at, happened)

    def _settle(self, id: str, look: _Look | None, after: Plan | None) -> None:
        now = self._clock()
        with Session(for_writing(self._engine)) as session, session.begin():
            row = occurrences.claim(session, id, now)
            if row is None or look is None or after is None:
                return
            occurrences.settle(session, look.plan_id, OccurrenceKind.RECONSIDER, look.at, now)
            if in_force.of_day(session, row.bakery_id, row.production_date) != look.plan_id:
                return
            change = change_of(look.before, after, look.at)
            if not change.is_proposed:
                _log.info("nothing worth telling", plan=look.plan_id, occurrence=id)
                return
            _store(session, row, look, after, change, now)
        self._told()


def _store(
    session: Session,
    occurrence: OccurrenceRow,
    look: _Look,
    after: Plan,
    change: Change,
    now: datetime,
) -> None:
    """Store the new version; let it count, or propose it, as the bakery's routine says."""
    bakery_id, production_date = occurrence.bakery_id, occurrence.production_date
    row = plans.add(session, bakery_id, production_date, look.made_from, now)
    plans.finish(session, row.id, replace(after, version=row.version), now)
    told = {
        "production_date": production_date.isoformat(),
        "version": row.version,
        "instead_of": look.plan_id,
        "because_of": occurrence.id.split("/")[2],
        "moved_mixes": [one.mix_id for one in change.moved],
    }
    events.append(session, bakery_id, EventKind.PLAN_PROPOSED, row.id, told, now)
    routine = routines.of(session, bakery_id)
    if routine.replans == Replans.DO or routine.in_force == InForce.NEWEST:
        in_force.approve(session, row.id, now)
