"""What an operator should know: database, clock, disk, zone data, leader, backlog.

Each check answers by itself, so that one that fails hides no other.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy import Engine, func, text
from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import Session, col, select

from api.schemas.occurrences import OccurrenceState
from api.schemas.plans import PlanState
from api.settings import Settings
from api.store.tables import BakeryRow, EventRow, ForecastRow, OccurrenceRow, PlanRow

LITTLE_BYTES, TOO_LITTLE_BYTES = 1_000_000_000, 200_000_000
SKEW = timedelta(seconds=2)
LATE = timedelta(minutes=5)
OLD_FORECAST = timedelta(hours=12)


class Finding(StrEnum):
    """How a check came out."""

    OK = "ok"
    LOOK = "look"
    BROKEN = "broken"


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that was looked at."""

    what: str
    finding: Finding
    text: str


def examine(
    engine: Engine, settings: Settings, now: datetime, is_led: Callable[[], bool]
) -> list[Told]:
    """Look at everything, and say how each stands.

    Parameters
    ----------
    is_led
        Returns whether some process holds the place of the leader.
    """
    checks: dict[str, Callable[[], Iterator[Told]]] = {
        "database": lambda: _database(engine),
        "clock": lambda: _clock(engine, now),
        "disk": lambda: _disk(engine, settings),
        "zones": lambda: _zones(engine),
        "leader": lambda: _leader(settings, is_led),
        "backlog": lambda: _backlog(engine, settings, now),
        "forecasts": lambda: _forecasts(engine, now),
    }
    found: list[Told] = []
    for what, look in checks.items():
        try:
            found += look()
        except (SQLAlchemyError, OSError) as error:
            found.append(
                Told(what, Finding.BROKEN, f"could not be looked at: {type(error).__name__}")
            )
    return found


def _database(engine: Engine) -> Iterator[Told]:
    from alembic.script import ScriptDirectory  # noqa: PLC0415  loads for a second

    from api.store.upgrade import configuration  # noqa: PLC0415  the same

    with engine.connect() as connection:
        here = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
        head = ScriptDirectory.from_config(configuration(connection)).get_current_head()
        kind = connection.dialect.name
        yield (
            Told("database", Finding.OK, f"{kind} answers; its tables are those of this version")
            if here == head
            else Told(
                "database",
                Finding.BROKEN,
                f"its tables are of version {here}, this program wants {head}: start the service"
                " once, or use the program that goes with it",
            )
        )
        if kind == "sqlite":
            told = connection.execute(text("PRAGMA quick_check(3)")).scalars().all()
            if list(told) != ["ok"]:
                yield Told("database", Finding.BROKEN, f"is damaged: {told[0]}; restore a backup")


def _clock(engine: Engine, now: datetime) -> Iterator[Told]:
    with Session(engine) as session:
        if engine.dialect.name == "postgresql":
            theirs = session.execute(text("SELECT clock_timestamp()")).scalar_one()
            off = abs(theirs.astimezone(UTC) - now)
            if off > SKEW + timedelta(seconds=1):
                yield Told(
                    "clock",
                    Finding.LOOK,
                    f"differs by {off.total_seconds():.0f} s from that of the database: set both by"
                    " network time",
                )
                return
        last = session.exec(select(func.max(EventRow.at))).one()
    if last is not None and last > now + SKEW:
        yield Told(
            "clock",
            Finding.BROKEN,
            f"shows {now:%Y-%m-%d %H:%M} UTC, before the last event of {last:%Y-%m-%d %H:%M} UTC:"
            " timers would be told late",
        )
        return
    yield Told("clock", Finding.OK, f"shows {now:%Y-%m-%d %H:%M} UTC")


def _disk(engine: Engine, settings: Settings) -> Iterator[Told]:
    database = engine.url.database
    folder = (
        Path(database).parent if engine.dialect.name == "sqlite" and database else settings.data_dir
    )
    free = shutil.disk_usage(folder).free
    finding = (
        Finding.BROKEN
        if free < TOO_LITTLE_BYTES
        else Finding.LOOK
        if free < LITTLE_BYTES
        else Finding.OK
    )
    yield Told("disk", finding, f"{free / 1e9:.1f} GB are free in the data folder")


def _zones(engine: Engine) -> Iterator[Told]:
    with Session(engine) as session:
        named = {row.id: str(row.document.get("zone")) for row in session.exec(select(BakeryRow))}
    missing = [f"{zone} of {id}" for id, zone in named.items() if not _is_zone(zone)]
    if missing:
        told = ", ".join(missing)
        yield Told("zones", Finding.BROKEN, f"no data of {told}: pip install --upgrade tzdata")
        return
    try:
        told = f"data of {version('tzdata')}"
    except PackageNotFoundError:
        told = "data of the system"
    yield Told("zones", Finding.OK, f"{told}; those of {len(named)} bakeries are known")


def _is_zone(zone: str) -> bool:
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


def _leader(settings: Settings, is_led: Callable[[], bool]) -> Iterator[Told]:
    if is_led():
        yield Told("leader", Finding.OK, "a service fires timers and plans nights")
    else:
        why = "" if settings.timers else " (OVENWARD_TIMERS is off)"
        yield Told(
            "leader",
            Finding.LOOK,
            f"no service is running that fires timers{why}: `ovenward serve`",
        )


def _backlog(engine: Engine, settings: Settings, now: datetime) -> Iterator[Told]:
    silent = now - timedelta(seconds=settings.stale_s)
    with Session(engine) as session:
        late, earliest = session.exec(
            select(func.count(), func.min(OccurrenceRow.due_at)).where(
                OccurrenceRow.state == OccurrenceState.WAITING,
                col(OccurrenceRow.due_at) < now - LATE,
            )
        ).one()
        stuck = session.exec(
            select(func.count())
            .select_from(PlanRow)
            .where(PlanRow.state == PlanState.PLANNING, col(PlanRow.beat_at) < silent)
        ).one()
    if late:
        told = f"{late} timers wait since {earliest:%Y-%m-%d %H:%M} UTC and were not told"
        yield Told("backlog", Finding.BROKEN, told)
    if stuck:
        yield Told("backlog", Finding.LOOK, f"{stuck} plans were interrupted and not made again")
    if not late and not stuck:
        yield Told("backlog", Finding.OK, "no timer is late, no plan interrupted")


def _forecasts(engine: Engine, now: datetime) -> Iterator[Told]:
    with Session(engine) as session:
        rows = [row for row in session.exec(select(ForecastRow)) if row.source is not None]
    for row in rows:
        where = f"{row.place} of {row.bakery_id}"
        if row.fault is not None:
            yield Told("forecasts", Finding.LOOK, f"{where}: {row.fault}")
        elif now - row.changed_at > OLD_FORECAST:
            hours = (now - row.changed_at) / timedelta(hours=1)
            yield Told("forecasts", Finding.LOOK, f"{where}: is {hours:.0f} h old")
    if not rows:
        yield Told("forecasts", Finding.OK, "none is pulled")
    elif all(row.fault is None and now - row.changed_at <= OLD_FORECAST for row in rows):
        yield Told("forecasts", Finding.OK, f"{len(rows)} are pulled and fresh")
