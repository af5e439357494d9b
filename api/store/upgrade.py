"""Bringing a database to the tables of this version."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, text

from api.store.engine import for_writing, open_engine

if TYPE_CHECKING:
    from alembic.config import Config

MIGRATIONS = Path(__file__).with_name("migrations")
UPGRADE_LOCK = 7_315_204_118
"""Any number of our own; replicas that start together take turns by it on PostgreSQL."""


def upgrade(address: str) -> None:
    """Create or update the tables of a database."""
    from alembic import command  # noqa: PLC0415  loads for a second

    # A connection of its own, without foreign keys: see `open_engine`.
    engine = open_engine(address, foreign_keys=False)
    try:
        with for_writing(engine).begin() as connection:
            _take_turns(connection)
            command.upgrade(configuration(connection), "head")
            _check_foreign_keys(connection)
    finally:
        engine.dispose()


def configuration(connection: Connection) -> Config:
    """Return alembic's configuration over an open transaction."""
    from alembic.config import Config  # noqa: PLC0415  loads for a second

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.set_main_option("file_template", "%%(year)d-%%(month).2d-%%(day).2d_%%(slug)s")
    config.attributes["connection"] = connection
    return config


def _take_turns(connection: Connection) -> None:
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": UPGRADE_LOCK})


def _check_foreign_keys(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if broken:
            raise RuntimeError(f"a migration left rows that point to nothing: {broken[:5]}")
