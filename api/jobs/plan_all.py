"""Planning one date for every bakery, over processes: each input once, whoever dies meanwhile.

A result is stored in one transaction with the digest of what it was made from. So the same command
may be given twice, or at the same time in two places, and a worker that is killed costs its work
only: what it had not stored is made again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from multiprocessing import get_context
from time import perf_counter

from sqlalchemy import Engine
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, select

from api.clock import utc_now
from api.errors import DayClashError, DayIncompleteError
from api.jobs.planning import planner_core
from api.store import corrections, days, in_force, plans
from api.store.codec import corrections_to_document
from api.store.engine import for_writing, open_engine
from api.store.tables import BakeryRow, Document, PlannedInputRow
from planner.corrections import Corrections
from planner.errors import InputError
from planner.pins import Limits

ROUNDS_TOGETHER = 2


class Outcome(StrEnum):
    """What became of one bakery."""

    PLANNED = "planned"
    KNOWN = "planned before from the same input"
    INCOMPLETE = "not complete"
    GIVEN_UP = "given up: its worker died every time"


@dataclass(frozen=True, slots=True)
class Done:
    """One bakery's result.

    Attributes
    ----------
    plan_id
        Its plan; None where there is none.
    fault
        Why there is none, in a sentence.
    took_s
        How long it took in its process [s].
    """

    bakery_id: str
    outcome: Outcome
    plan_id: str | None = None
    fault: str = ""
    took_s: float = 0.0


def plan_all(address: str, production_date: date, limits: Limits, processes: int) -> Iterator[Done]:
    """Plan a date for each bakery of a database, and give each result as it comes.

    When a process dies, those of its time are begun again together, and at last each alone: so one
    bakery that kills its process costs no other its plan.
    """
    engine = open_engine(address)
    with Session(engine) as session:
        waiting = list(session.exec(select(BakeryRow.id).order_by(BakeryRow.id)))
    engine.dispose()
    for _ in range(ROUNDS_TOGETHER):
        finished = set()
        for one in _round(address, waiting, production_date, limits, processes):
            finished.add(one.bakery_id)
            yield one
        waiting = [id for id in waiting if id not in finished]
    for id in waiting:
        alone = list(_round(address, [id], production_date, limits, 1))
        yield alone[0] if alone else Done(id, Outcome.GIVEN_UP)


def _round(
    address: str, bakery_ids: list[str], production_date: date, limits: Limits, processes: int
) -> Iterator[Done]:
    """Give what is finished, until a process dies and takes the others along."""
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        jobs: list[Future[Done]] = []
        with suppress(BrokenProcessPool):
            jobs.extend(
                pool.submit(plan_one, address, id, production_date, limits) for id in bakery_ids
            )
        for job in as_completed(jobs):
            with suppress(BrokenProcessPool):
                yield job.result()


def plan_one(address: str, bakery_id: str, production_date: date, limits: Limits) -> Done:
    """Plan one bakery here and now, unless the same input was planned before."""
    began = perf_counter()
    engine = open_engine(address)
    try:
        return replace(
            _planned(engine, bakery_id, production_date, limits), took_s=perf_counter() - began
        )
    except (DayIncompleteError, DayClashError, InputError) as error:
        return Done(bakery_id, Outcome.INCOMPLETE, fault=str(error))
    finally:
        engine.dispose()


def _planned(engine: Engine, bakery_id: str, production_date: date, limits: Limits) -> Done:
    with Session(engine) as session:
        made_from = days.assembled(session, bakery_id, production_date)
        learned = corrections.known(session, bakery_id)
        key = (bakery_id, production_date, input_hash(made_from, learned))
        known = session.get(PlannedInputRow, key)
        if known is not None:
            return Done(bakery_id, Outcome.KNOWN, known.plan_id)
    day, conditions, pins = days.to_core(made_from)
    made = planner_core().make_plan(day, conditions, learned, pins=pins, limits=limits)
    try:
        with Session(for_writing(engine)) as session, session.begin():
            now = utc_now()
            row = plans.add(session, bakery_id, production_date, made_from, now)
            session.add(_row(key, row.id))
            plans.finish(session, row.id, replace(made, version=row.version), now)
            in_force.approve_if_newest_counts(session, row.id, now)
            return Done(bakery_id, Outcome.PLANNED, row.id)
    except IntegrityError:  # somebody else has planned it meanwhile
        with Session(engine) as session:
            known = session.get(PlannedInputRow, key)
            return Done(bakery_id, Outcome.KNOWN, None if known is None else known.plan_id)


def _row(key: tuple[str, date, str], plan_id: str) -> PlannedInputRow:
    bakery_id, production_date, digest = key
    return PlannedInputRow(
        bakery_id=bakery_id, production_date=production_date, input_hash=digest, plan_id=plan_id
    )


def input_hash(made_from: Document, learned: Corrections) -> str:
    """Return the digest of what a plan is made from."""
    document = [made_from, corrections_to_document(learned)]
    text = json.dumps(document, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()
