"""What a bakery's readings have taught, kept from night to night."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime

from sqlmodel import Session

from api.errors import NotFoundError
from api.schemas.corrections import MixingWorkDetailRead, MixingWorkRead, SwitchesInput
from api.store import bakeries
from api.store.codec import corrections_from_document, corrections_to_document
from api.store.documents import Change
from api.store.locks import lock_bakery
from api.store.tables import CorrectionsRow, Document
from api.store.tags import ANYTHING, Expected
from planner.corrections import Corrections, MixingWorkCorrection
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


def of_mixer(session: Session, bakery_id: str, mixer_id: str) -> MixingWorkDetailRead:
    """Return what was learned of one mixer, with its evidence.

    Raises
    ------
    NotFoundError
        If nothing was learned of it.
    """
    bakeries.check_known(session, bakery_id)
    row, found = _found(session, bakery_id, mixer_id)
    return MixingWorkDetailRead.with_evidence(found, row.changed_at)


def switch(
    session: Session,
    bakery_id: str,
    mixer_id: str,
    sent: SwitchesInput,
    now: datetime,
    expected: Expected = ANYTHING,
) -> Change:
    """Freeze or ignore what was learned of a mixer, or neither.

    Raises
    ------
    NotFoundError, ChangedMeanwhileError
        If nothing was learned of it, or it is not what is expected.
    """
    row, found = _to_change(session, bakery_id, mixer_id, expected)
    if (found.ignored, found.frozen) == (sent.ignored, sent.frozen):
        return Change.UNCHANGED
    changed = replace(found, ignored=sent.ignored, frozen=sent.frozen)
    _store(row, mixer_id, (changed,), now)
    session.flush()
    return Change.CHANGED


def reset(
    session: Session, bakery_id: str, mixer_id: str, now: datetime, expected: Expected = ANYTHING
) -> None:
    """Forget what was learned of a mixer; the next reading begins anew.

    Raises
    ------
    NotFoundError, ChangedMeanwhileError
        If nothing was learned of it, or it is not what is expected.
    """
    row, _ = _to_change(session, bakery_id, mixer_id, expected)
    _store(row, mixer_id, (), now)
    session.flush()


def sent_document(told: MixingWorkDetailRead) -> Document:
    """Return what was learned of a mixer as the document that its tag stands for."""
    return told.model_dump(mode="json")


def _to_change(
    session: Session, bakery_id: str, mixer_id: str, expected: Expected
) -> tuple[CorrectionsRow, MixingWorkCorrection]:
    """Return what was learned of a mixer, held for who changes it, if it is what is expected."""
    bakeries.check_known(session, bakery_id)
    lock_bakery(session, bakery_id)
    row, found = _found(session, bakery_id, mixer_id)
    expected.check(sent_document(MixingWorkDetailRead.with_evidence(found, row.changed_at)))
    return row, found


def _found(
    session: Session, bakery_id: str, mixer_id: str
) -> tuple[CorrectionsRow, MixingWorkCorrection]:
    row = session.get(CorrectionsRow, bakery_id, populate_existing=True)
    learned = () if row is None else corrections_from_document(row.document).mixing_work
    found = next((one for one in learned if one.mixer_id == mixer_id), None)
    if row is None or found is None:
        raise NotFoundError("correction", f"{bakery_id}, {mixer_id}")
    return row, found


def _store(
    row: CorrectionsRow, mixer_id: str, instead: tuple[MixingWorkCorrection, ...], now: datetime
) -> None:
    learned = corrections_from_document(row.document)
    kept = tuple(one for one in learned.mixing_work if one.mixer_id != mixer_id)
    together = sorted((*kept, *instead), key=lambda one: one.mixer_id)
    row.document = corrections_to_document(replace(learned, mixing_work=tuple(together)))
    row.changed_at = now


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
