"""What a bakery's readings have taught, kept from night to night."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime

from sqlmodel import Session

from api.schemas.corrections import MixingWorkRead
from api.store import bakeries
from api.store.codec import corrections_from_document, corrections_to_document
from api.store.locks import lock_bakery
from api.store.tables import CorrectionsRow
from planner.corrections import Corrections
from planner.planned import Plan
from planner.readings import Reading

Learn = Callable[[Plan, Iterable[str], Corrections], Corrections]
"""The core's `learned_from`."""


def known(session: Session, bakery_id: str) -> Corrections:
    """Return what a bakery's readings have taught so far; nothing before the first."""
    row = session.get(CorrectionsRow, bakery_id)
    return Corrections() if row is None else corrections_from_document(row.document)


def listed(session: Session, bakery_id: str) -> list[MixingWorkRead]:
    """Return what was learned, mixer by mixer.

    Raises
    ------
    NotFoundError
        If there is no such bakery.
    """
    bakeries.get(session, bakery_id)
    row = session.get(CorrectionsRow, bakery_id)
    if row is None:
        return []
    learned = corrections_from_document(row.document).mixing_work
    return [MixingWorkRead.of(one, row.changed_at) for one in learned]


def learn(
    session: Session, bakery_id: str, plan: Plan, reading: Reading, core: Learn, now: datetime
) -> None:
    """Store what a mix teaches with one more reading, if it has come off and teaches something.

    Parameters
    ----------
    plan, reading
        The plan with the readings before this one, and the new one.
    core
        The core's `learned_from`.
    """
    # Readings of two plans at once would each forget what the other taught: the bakery's row is
    # their queue.
    lock_bakery(session, bakery_id)
    before = known(session, bakery_id)
    plan = replace(plan, readings=(*plan.readings, reading))
    after = core(plan, [reading.mix_id], before)
    if after == before:
        return
    row = session.get(CorrectionsRow, bakery_id)
    document = corrections_to_document(after)
    if row is None:
        session.add(CorrectionsRow(bakery_id=bakery_id, document=document, changed_at=now))
    else:
        row.document, row.changed_at = document, now
    session.flush()
