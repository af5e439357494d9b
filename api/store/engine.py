"""The database engine: SQLite by default, PostgreSQL by address.

SQLite needs everything said here. With the driver's own transactions two writers lose each
other's changes; with a plain ``BEGIN`` the second fails at once. So the driver's transactions
are off and a writing connection begins with ``BEGIN IMMEDIATE``, which waits its turn.
"""

from __future__ import annotations

import json
from functools import partial
from threading import Lock

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.engine.url import URL, make_url
from sqlalchemy.pool import ConnectionPoolEntry

SQLITE_PRAGMAS = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA busy_timeout=5000",
    "PRAGMA synchronous=FULL",  # NORMAL loses the last commits in a power cut
)

AT_ONCE = 40
"""Connections to a file: as many as requests are worked on at once, so that none waits for one."""
AT_ONCE_OF_SERVER = 20
"""Connections of a process to a server, which several replicas share."""
WRITERS_AT_ONCE = 8
TURN_S = 5.0
WRITES = "writes"


def open_engine(address: str, *, foreign_keys: bool = True) -> Engine:
    """Return an engine for a database address.

    Parameters
    ----------
    address
        ``sqlite:///file`` or ``postgresql://…``.
    foreign_keys
        Off only while migrations rebuild tables: SQLite would take a rebuilt table for a
        deleted one and empty the tables that point to it.
    """
    url = _with_driver(make_url(address))
    dumps = partial(json.dumps, allow_nan=False, ensure_ascii=False)
    # Without parameters in errors: they are whole plans, and would fill the log.
    is_sqlite = url.get_backend_name() == "sqlite"
    size = AT_ONCE if is_sqlite else AT_ONCE_OF_SERVER
    engine = create_engine(
        url, json_serializer=dumps, hide_parameters=True, pool_size=size, max_overflow=0
    )
    if is_sqlite:
        _prepare_sqlite(engine, foreign_keys=foreign_keys)
    return engine


def for_writing(engine: Engine) -> Engine:
    """Return the same engine, over the same pool, for transactions that write."""
    return engine.execution_options(write=True)


def writers_at_once(engine: Engine) -> int:
    """Return how many requests may write at the same time: of a file only one can."""
    return 1 if engine.dialect.name == "sqlite" else WRITERS_AT_ONCE


def _with_driver(url: URL) -> URL:
    """Name the PostgreSQL driver that this project uses."""
    return url.set(drivername="postgresql+psycopg") if url.drivername == "postgresql" else url


def _prepare_sqlite(engine: Engine, *, foreign_keys: bool) -> None:
    def on_connect(connection: DBAPIConnection, _entry: ConnectionPoolEntry) -> None:
        connection.isolation_level = None
        cursor = connection.cursor()
        for pragma in (*SQLITE_PRAGMAS, f"PRAGMA foreign_keys={'ON' if foreign_keys else 'OFF'}"):
            cursor.execute(pragma)
        cursor.close()

    # SQLite lets whoever waits for a lock sleep and look again, up to a tenth of a second; in one
    # process the writers hand the turn on at once, and only other processes are waited for so.
    turn = Lock()

    def on_begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("write", False)
        if writes and turn.acquire(timeout=TURN_S):
            connection.info[WRITES] = True
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    def on_return(_connection: DBAPIConnection | None, entry: ConnectionPoolEntry) -> None:
        if entry.info.pop(WRITES, False):
            turn.release()

    event.listen(engine, "connect", on_connect)
    event.listen(engine, "begin", on_begin)
    event.listen(engine, "checkin", on_return)
