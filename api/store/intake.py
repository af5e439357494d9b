"""Taking in readings: stored, answered and learned from in one transaction."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

import structlog
from sqlmodel import Session

from api.store import corrections, plans, readings, reconsidering, thermometers
from api.store.corrections import Learn
from api.store.reconsidering import is_beyond_band
from api.store.tables import PlanRow, ReadingRow
from planner.corrections import Corrections
from planner.errors import InputError, OvenwardError
from planner.planned import Answer, Plan
from planner.readings import Reading

_log = structlog.get_logger()

RECKONING = (OvenwardError, ArithmeticError, LookupError, ValueError)
"""What may break off in reckoning and would again: it must not cost the reading. After anything
else, such as no memory, nothing is stored and the reading is sent again."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading that is stored.

    Attributes
    ----------
    plan
        The plan it belongs to, with the readings before it.
    is_new
        Whether it was stored now; else it was sent before, and the answer is that of then.
    """

    row: ReadingRow
    plan: Plan
    is_new: bool


class Intake:
    """Takes in the readings of one plan, whose row it locks.

    Parameters
    ----------
    session
        Its transaction stores all that is taken in, or nothing.
    answer, learn
        The core's functions.
    now
        The moment [UTC].

    Raises
    ------
    NotFoundError, PlanNotReadyError
        If there is no such plan, or it is not made yet.
    """

    def __init__(
        self,
        session: Session,
        plan_id: str,
        answer: Callable[[Plan, Reading], Answer],
        learn: Learn,
        now: datetime,
    ) -> None:
        self._session = session
        self._answer, self._learn, self._now = answer, learn, now
        self.row: PlanRow = plans.get(session, plan_id, lock=True)
        self._planned = plans.core_plan(self.row)

    def take(self, sent: Reading) -> Taken:
        """Store a reading with its answer, unless it was sent before.

        A reading is stored also when answering breaks off: the thermometer was right, we were not.

        Raises
        ------
        InputError
            If it belongs to nothing in the plan.
        ReadingClashError
            If its id is taken by another reading.
        """
        plan = readings.plan_with_readings(self._session, self.row.id, self._planned)
        stored = readings.find(self._session, self.row.id, sent)
        if stored is not None:
            return Taken(stored, plan, is_new=False)
        readings.check_refers(plan, sent)
        offset_k = thermometers.offset_k(self._session, self.row.bakery_id, sent.thermometer_id)
        reading = readings.set_right(sent, offset_k)
        answer, is_answered = self._answered(plan, reading)
        row = readings.add(
            self._session,
            self.row,
            sent,
            answer,
            self._now,
            offset_k=offset_k,
            is_answered=is_answered,
        )
        corrections.learn(
            self._session, self.row.bakery_id, plan, reading, self._learned, self._now
        )
        if is_answered and is_beyond_band(plan, reading, answer):
            reconsidering.after_reading(self._session, self.row, sent.id, self._now)
        return Taken(row, plan, is_new=True)

    def _answered(self, plan: Plan, reading: Reading) -> tuple[Answer, bool]:
        try:
            return self._answer(plan, reading), True
        except InputError:
            raise
        except RECKONING:
            _log.exception("a reading could not be answered", plan=self.row.id, reading=reading.id)
            return Answer(plan.mix(reading.mix_id), changed=False, remarks=()), False

    def _learned(self, plan: Plan, mix_ids: Iterable[str], prior: Corrections) -> Corrections:
        named = tuple(mix_ids)
        try:
            return self._learn(plan, named, prior)
        except RECKONING:
            _log.exception("nothing could be learned", plan=self.row.id, mixes=named)
            return prior
