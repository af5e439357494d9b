"""Who fires timers: one process at a time, and another within a second when it dies."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import IO, Protocol

from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import DBAPIError

LEADER_LOCK = 7_315_204_119
"""Any number of our own; the lock on PostgreSQL that the leader holds."""


class Leader(Protocol):
    """A place that one process holds at a time; its death frees it."""

    def leads(self) -> bool:
        """Return whether this process holds the place, after trying to take it."""

    def close(self) -> None:
        """Give the place up."""


def leader_for(engine: Engine) -> Leader:
    """Return the place that all processes of a database contend for."""
    if engine.dialect.name == "postgresql":
        return DatabaseLeader(engine)
    return FileLeader(Path(f"{engine.url.database}.leader"))


class FileLeader:
    """A lock on a file beside the database: SQLite is used on one machine.

    Parameters
    ----------
    path
        The file; made when it is missing, and left behind.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._held: IO[bytes] | None = None

    def leads(self) -> bool:
        """Return whether this process holds the file, after trying to take it."""
        if self._held is None:
            file = self._path.open("ab")
            if _lock(file):
                self._held = file
            else:
                file.close()
        return self._held is not None

    def close(self) -> None:
        """Let the file go."""
        if self._held is not None:
            self._held.close()
            self._held = None


def _lock(file: IO[bytes]) -> bool:
    try:
        if os.name == "nt":
            import msvcrt  # noqa: PLC0415  there only

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl  # noqa: PLC0415  not there

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


class DatabaseLeader:
    """A lock of PostgreSQL, held by a connection of its own for as long as that lives.

    Parameters
    ----------
    engine
        The database. A proxy that hands the connection on after each transaction would break it.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._held: Connection | None = None

    def leads(self) -> bool:
        """Return whether this process holds the lock, after trying to take it."""
        try:
            if self._held is not None:
                self._held.execute(text("SELECT 1"))
                return True
            connection = self._engine.connect().execution_options(isolation_level="AUTOCOMMIT")
            wanted = text("SELECT pg_try_advisory_lock(:lock)")
            if connection.execute(wanted, {"lock": LEADER_LOCK}).scalar_one():
                self._held = connection
            else:
                connection.close()
        except DBAPIError:
            self.close()
        return self._held is not None

    def close(self) -> None:
        """Give the lock up, and its connection; the server may hear of a lost one only later."""
        if self._held is not None:
            held, self._held = self._held, None
            with suppress(DBAPIError):
                held.execute(text("SELECT pg_advisory_unlock(:lock)"), {"lock": LEADER_LOCK})
            held.invalidate()
            held.close()
