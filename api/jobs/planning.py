"""Making plans in the background: in a thread, with progress in the store and a way to stop.

The solver releases the interpreter while it searches, so a thread is enough; requests are
answered meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from threading import Event
from typing import Any, Protocol

import structlog
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlmodel import Session

from api.clock import Clock
from api.errors import DayClashError, PlanningFailedError, problem_of
from api.settings import Settings
from api.store import corrections, days, in_force, past_days, plans
from api.store.engine import for_writing
from api.store.tables import Document
from planner.conditions import Conditions
from planner.corrections import Corrections
from planner.day import Day
from planner.errors import InputError
from planner.pins import Limits, OnProgress, Pin, Progress
from planner.planned import Answer, Plan
from planner.readings import Reading

_log = structlog.get_logger()

KEEP_ALIVE = timedelta(seconds=20)


class MakePlan(Protocol):
    """The core's `make_plan`."""

    def __call__(  # noqa: D102  the class docstring says it
        self,
        day: Day,
        conditions: Conditions,
        corrections: Corrections = ...,
        *,
        pins: Sequence[Pin] = ...,
        limits: Limits = ...,
        on_progress: OnProgress | None = ...,
        earlier: Plan | None = ...,
    ) -> Plan: ...


@dataclass(frozen=True, slots=True)
class Core:
    """The functions of the core that the service calls; tests swap them."""

    make_plan: MakePlan
    answer: Callable[[Plan, Reading], Answer]
    learn: Callable[[Plan, Iterable[str], Corrections], Corrections]
    replan: Callable[..., Plan]


def planner_core() -> Core:
    """Return the core as it is."""
    from planner import (  # noqa: PLC0415  loads numpy, not needed for --help
        answer,
        learned_from,
        make_plan,
        replan,
    )

    return Core(make_plan, answer, learned_from, replan)


class PlanningJobs:
    """Makes the plans that requests have stored as wanted.

    Parameters
    ----------
    engine
        The database.
    settings
        How many plans at once, and how long each may take.
    clock
        Tells the time.
    core
        The core's functions.
    told
        Called when something was stored that others may wait for.
    """

    def __init__(
        self,
        engine: Engine,
        settings: Settings,
        clock: Clock,
        core: Core,
        told: Callable[[], None] = lambda: None,
    ) -> None:
        self._told = told
        self._waiting: set[str] = set()
        self._kept_alive = datetime.min.replace(tzinfo=UTC)
        self._engine = for_writing(engine)
        self._clock = clock
        self._core = core
        self._limits = Limits(
            solve_s=settings.solve_s,
            deterministic_s=settings.deterministic_s,
            workers=settings.workers,
        )
        self._closing = Event()
        self._threads = ThreadPoolExecutor(settings.plans_at_once, thread_name_prefix="planning")

    def order(self, bakery_id: str, production_date: date) -> tuple[str, Future[None]]:
        """Store that a plan of a day as it stands now is wanted, and start making it.

        Returns
        -------
        tuple of str and Future
            The plan's id, and what to wait for.
        """
        with Session(self._engine) as session, session.begin():
            made_from = days.assembled(session, bakery_id, production_date)
            days.to_core(made_from)
            row = plans.add(session, bakery_id, production_date, made_from, self._clock())
            plan_id = row.id
        self._told()
        return plan_id, self.start(plan_id)

    def start(self, plan_id: str) -> Future[None]:
        """Make a stored plan in the background."""
        self._waiting.add(plan_id)
        return self._threads.submit(self.run, plan_id)

    def submit(self, work: Callable[[str], None], id: str) -> None:
        """Do other work in the background, in turn with the plans."""
        with suppress(RuntimeError):  # told to stop meanwhile: the next start finds it again
            self._threads.submit(work, id)

    def replanned(self, plan: Plan, now: datetime, happened: Sequence[Any]) -> Plan:
        """Return the rest of a night planned again here and now."""
        return self._core.replan(
            plan,
            now,
            happened,
            limits=self._limits,
            on_progress=lambda _: not self._closing.is_set(),
        )

    def aside(self, bakery_id: str, made_from: Document, warmer_k: float = 0.0) -> Future[Plan]:
        """Plan a day that nobody has stored, in its turn, and store nothing of it.

        Parameters
        ----------
        made_from
            The whole day.
        warmer_k
            How much warmer all rooms are than it says [K].

        Raises
        ------
        DayClashError
            If the day cannot be planned.
        """
        day, conditions, pins = days.to_core(made_from)
        with Session(self._engine) as session:
            learned = corrections.known(session, bakery_id)
        return self._threads.submit(
            self._core.make_plan,
            day,
            conditions.shifted(warmer_k),
            learned,
            pins=pins,
            limits=self._limits,
            on_progress=lambda _: not self._closing.is_set(),
        )

    def keep_alive(self) -> None:
        """Store a sign of life, now and then, of plans that wait here for their turn."""
        now, waiting = self._clock(), tuple(self._waiting)
        if not waiting or now - self._kept_alive < KEEP_ALIVE:
            return
        self._kept_alive = now
        with Session(self._engine) as session, session.begin():
            plans.keep_alive(session, waiting, now)

    def close(self) -> None:
        """End every search with the best plan so far, and wait for it to be stored."""
        self._closing.set()
        self._threads.shutdown(wait=True)

    def run(self, plan_id: str) -> None:
        """Make a stored plan here and now; store it, or why it could not be made."""
        self._waiting.discard(plan_id)
        try:
            self._store(plan_id, self._made(plan_id))
        except (InputError, DayClashError) as error:
            clash = DayClashError("The day cannot be planned as it is.", error.faults)
            self._store_failure(plan_id, clash)
        except Exception:  # noqa: BLE001  the edge of a job: nobody else would tell the baker
            _log.exception("planning broke off", plan=plan_id)
            ours = PlanningFailedError("Planning broke off. The reason is in the service's log.")
            self._store_failure(plan_id, ours)

    def _made(self, plan_id: str) -> Plan:
        with Session(self._engine) as session, session.begin():
            row = plans.get(session, plan_id)
            made_from, version = row.made_from, row.version
            learned = corrections.known(session, row.bakery_id)
            earlier = plans.of_an_earlier_day(session, row)
        self._beat(plan_id, Progress("reading the day"))
        day, conditions, pins = days.to_core(made_from)
        plan = self._core.make_plan(
            day,
            conditions,
            learned,
            pins=pins,
            limits=self._limits,
            on_progress=lambda progress: self._beat(plan_id, progress),
            earlier=earlier,
        )
        return replace(plan, version=version)

    def _beat(self, plan_id: str, progress: Progress) -> bool:
        go_on = True
        try:
            with Session(self._engine) as session, session.begin():
                go_on = plans.beat(session, plan_id, progress, self._clock())
        except OperationalError:
            # A database that is away for a moment must not cost the plan.
            _log.warning("progress was not stored", plan=plan_id)
        return go_on and not self._closing.is_set()

    def _store(self, plan_id: str, plan: Plan) -> None:
        told = self._beside_past_days(plan_id, plan)
        with Session(self._engine) as session, session.begin():
            now = self._clock()
            plans.finish(session, plan_id, plan, now, told)
            in_force.approve_if_newest_counts(session, plan_id, now)
        self._told()

    def _beside_past_days(self, plan_id: str, plan: Plan) -> dict[str, Any]:
        """Return what is otherwise than in the last days; read before anything is locked."""
        with Session(self._engine.execution_options(write=False)) as session:
            row = plans.head(session, plan_id)
            found = past_days.beside(session, row.bakery_id, row.production_date, plan)
        unusual = [one.model_dump() for one in found.figures if one.is_unusual]
        return {"past_days": found.days, "unusual": unusual}

    def _store_failure(self, plan_id: str, error: Exception) -> None:
        problem: dict[str, Any] = problem_of(error, f"/api/v1/plans/{plan_id}").model_dump()
        with Session(self._engine) as session, session.begin():
            plans.fail(session, plan_id, problem, self._clock())
        self._told()


def wait_for(job: Future[None], seconds: float) -> None:
    """Wait until a job is done, at most so many seconds."""
    wait([job], timeout=seconds)
