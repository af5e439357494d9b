"""The demo day in a database, with the plan that was just made of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from sqlmodel import Session

from api.files.toml_day import read_day
from api.store import days, in_force, plans
from api.store.engine import for_writing, open_engine
from api.store.upgrade import upgrade
from planner.planned import Plan


def store_demo(address: str, text: str, plan: Plan, now: datetime) -> str:
    """Store a demo day and its plan; tables are created or updated first.

    Parameters
    ----------
    address
        Address of the database.
    text
        The day's file.
    plan
        The plan made of it; stored as the next version of its day.
    now
        The moment [UTC].

    Returns
    -------
    str
        Id under which the plan is stored.

    Raises
    ------
    InputError
        If the day cannot be right.
    """
    upgrade(address)
    entered = read_day(text)
    bakery_id, production_date = plan.day.bakery.id, plan.day.production_date
    engine = open_engine(address)
    try:
        with Session(for_writing(engine)) as session, session.begin():
            days.put(session, bakery_id, production_date, entered, now)
            made_from = days.assembled(session, bakery_id, production_date)
            row = plans.add(session, bakery_id, production_date, made_from, now)
            plans.finish(session, row.id, replace(plan, version=row.version), now)
            in_force.approve(session, row.id, now)
            return row.id
    finally:
        engine.dispose()
