"""What makes a plan in force worth another look, and forecasts that nobody has renewed."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from sqlmodel import Session, col, select

from api.schemas.occurrences import OccurrenceKind, OccurrenceState
from api.schemas.routine import Replans
from api.store import routines
from api.store.tables import ForecastRow, InForceRow, OccurrenceRow, PlanRow
from planner.planned import Answer, Plan
from planner.readings import Reading, ReadingKind

TOGETHER = timedelta(minutes=1)
"""Readings that come within it are looked at together."""
BAND_SD = 2.0
"""Half width of the band of a dough's temperature, in standard deviations."""
DAYS_BACK = timedelta(days=1)


def is_beyond_band(plan: Plan, reading: Reading, answer: Answer) -> bool:
    """Return whether a reading tells what the plan did not allow for.

    A dough that comes off beyond its band, or one whose planned divide no longer lies in the window
    that the reading leaves it.
    """
    mix = plan.mix(reading.mix_id)
    if reading.kind is ReadingKind.DOUGH_END_C and reading.value_c is not None:
        beyond_k = abs(reading.value_c - mix.ticket.expected_c)
        if beyond_k > BAND_SD * mix.ticket.expected_sd_k:
            return True
    new = answer.mix
    return not new.divide_from_utc <= mix.divide_utc <= new.divide_by_utc


def after_reading(session: Session, plan: PlanRow, reading_id: str, now: datetime) -> None:
    """Let a plan be looked at again because of a reading, if it counts and its bakery wants it."""
    if _counts(session, plan.bakery_id, plan.production_date) != plan.id:
        return
    if routines.of(session, plan.bakery_id).replans != Replans.NO:
        id = f"{plan.id}/{OccurrenceKind.RECONSIDER}/reading/{reading_id}"
        _add(session, id, OccurrenceKind.RECONSIDER, plan, reading_id, now + TOGETHER)


def keep_due(session: Session, now: datetime) -> None:
    """Let plans be looked at that are older than their forecast; tell of forecasts gone stale."""
    forecasts = [row for row in session.exec(select(ForecastRow)).all() if row.document]
    for forecast in forecasts:
        stale_h = routines.of(session, forecast.bakery_id).forecast_stale_after_h
        if stale_h is not None:
            _keep_stale_due(session, forecast, timedelta(hours=stale_h), now)
    newest = {
        row.bakery_id: row for row in sorted(forecasts, key=lambda forecast: forecast.changed_at)
    }
    recent = select(InForceRow).where(
        col(InForceRow.production_date) >= (now - DAYS_BACK).date(),
        col(InForceRow.bakery_id).in_(list(newest)),
    )
    for counts in session.exec(recent).all():
        _keep_look_due(session, counts, newest[counts.bakery_id], now)


def is_stale(session: Session, row: OccurrenceRow) -> bool:
    """Return whether the forecast that an alarm is about is still the last one."""
    forecast = session.get(ForecastRow, (row.bakery_id, row.subject))
    return forecast is not None and row.id.endswith(_stamp(forecast.changed_at))


def _keep_stale_due(
    session: Session, forecast: ForecastRow, lasts: timedelta, now: datetime
) -> None:
    stale_at = forecast.changed_at + lasts
    if stale_at > now:
        return
    kind = OccurrenceKind.FORECAST_STALE
    id = f"{forecast.bakery_id}/{kind}/{forecast.place}/{_stamp(forecast.changed_at)}"
    if session.get(OccurrenceRow, id) is None:
        session.add(_row(id, kind, forecast.bakery_id, None, now.date(), forecast.place, stale_at))
        session.flush()


def _keep_look_due(
    session: Session, counts: InForceRow, forecast: ForecastRow, now: datetime
) -> None:
    plan = session.get_one(PlanRow, counts.plan_id)
    if forecast.changed_at <= plan.created_at:
        return
    if routines.of(session, counts.bakery_id).replans == Replans.NO:
        return
    to_come = select(OccurrenceRow.id).where(
        OccurrenceRow.plan_id == plan.id,
        OccurrenceRow.kind == OccurrenceKind.MIX,
        OccurrenceRow.state == OccurrenceState.WAITING,
    )
    if session.exec(to_come.limit(1)).first() is None:
        return
    id = f"{plan.id}/{OccurrenceKind.RECONSIDER}/forecast/{_stamp(forecast.changed_at)}"
    _add(session, id, OccurrenceKind.RECONSIDER, plan, forecast.place, now)


def _add(
    session: Session, id: str, kind: OccurrenceKind, plan: PlanRow, subject: str, due_at: datetime
) -> None:
    if session.get(OccurrenceRow, id) is None:
        session.add(_row(id, kind, plan.bakery_id, plan.id, plan.production_date, subject, due_at))
        session.flush()


def _row(
    id: str,
    kind: OccurrenceKind,
    bakery_id: str,
    plan_id: str | None,
    production_date: date,
    subject: str,
    due_at: datetime,
) -> OccurrenceRow:
    return OccurrenceRow(
        id=id,
        bakery_id=bakery_id,
        plan_id=plan_id,
        production_date=production_date,
        kind=kind,
        subject=subject,
        number=1,
        state=OccurrenceState.WAITING,
        due_at=due_at,
        fired_at=None,
    )


def _counts(session: Session, bakery_id: str, production_date: date) -> str | None:
    row = session.get(InForceRow, (bakery_id, production_date))
    return None if row is None else row.plan_id


def _stamp(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
