"""A plan beside those that counted on the last days: what is otherwise tonight."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from statistics import median
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from api.schemas.past_days import BesideRead, PastDaysRead
from api.store import plans
from api.store.tables import InForceRow
from planner.planned import Plan
from planner.remarks import RemarkKind

DAYS = 14
FEWEST = 3
"""Days of which it takes so many before anything is called unusual."""


def beside(session: Session, bakery_id: str, production_date: date, plan: Plan) -> PastDaysRead:
    """Return the figures of a plan beside those of the plans that counted in the last days."""
    query = select(InForceRow.plan_id).where(
        InForceRow.bakery_id == bakery_id,
        col(InForceRow.production_date) >= production_date - timedelta(days=DAYS),
        col(InForceRow.production_date) < production_date,
    )
    past = [plans.core_plan(plans.get(session, id)) for id in session.exec(query).all()]
    return compared(plan, past)


def compared(plan: Plan, past: Sequence[Plan]) -> PastDaysRead:
    """Return the figures of a plan beside those of others."""
    figures = []
    for name, unit, of_plan in FIGURES:
        value = of_plan(plan)
        known = [one for one in map(of_plan, past) if one is not None]
        if value is None or not known:
            continue
        lowest, highest = min(known), max(known)
        figures.append(
            BesideRead(
                name=name,
                unit=unit,
                value=round(value, 2),
                usual=round(median(known), 2),
                lowest=round(lowest, 2),
                highest=round(highest, 2),
                is_unusual=len(known) >= FEWEST and not lowest <= value <= highest,
            )
        )
    return PastDaysRead(days=len(past), figures=figures)


def _clock_min(plan: Plan, moment: datetime) -> float:
    """Return local clock time as minutes from 00:00 of the production date; before it negative."""
    local = moment.astimezone(ZoneInfo(plan.day.bakery.zone))
    days = (local.date() - plan.day.production_date).days
    return days * 1440 + local.hour * 60 + local.minute


def _first_start(plan: Plan) -> float | None:
    starts = [mix.start_utc for mix in plan.mixes]
    return _clock_min(plan, min(starts)) if starts else None


def _last_ready(plan: Plan) -> float | None:
    outs = [load.out_utc for mix in plan.mixes for load in mix.loads]
    return _clock_min(plan, max(outs)) if outs else None


FIGURES: tuple[tuple[str, str, Callable[[Plan], float | None]], ...] = (
    ("mixes", "", lambda plan: float(len(plan.mixes))),
    ("dough", "kg", lambda plan: sum(mix.dough_kg for mix in plan.mixes)),
    ("ice", "kg", lambda plan: sum(mix.ticket.ice_kg for mix in plan.mixes)),
    ("first mixer on", "min from 00:00", _first_start),
    ("last load out", "min from 00:00", _last_ready),
    (
        "not met",
        "",
        lambda plan: float(sum(one.kind is RemarkKind.UNMET for one in plan.remarks)),
    ),
)
