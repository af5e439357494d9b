"""A copy of a SQLite database while it is in use, and back.

PostgreSQL has tools of its own for that; `api.store.transfer` works on both.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine

from planner.errors import Fault, InputError

PAGES = 1000
"""Pages copied at a time; between them writers get their turn."""


def backup(engine: Engine, target: Path) -> int:
    """Copy the database into a file, whole and as of one moment; return its size in bytes.

    The file is complete or not there: a copy that breaks off leaves the one before alone.

    Raises
    ------
    InputError
        If it is no SQLite database, or the file lies in it.
    """
    source = database_file(engine)
    if target.exists() and target.resolve() == source.resolve():
        raise _fault("file", target, "is the database itself", "choose another file")
    unfinished = target.with_name(f"{target.name}.unfinished")
    unfinished.unlink(missing_ok=True)
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(unfinished)) as new:
        old.backup(new, pages=PAGES)
        new.execute("PRAGMA journal_mode=DELETE")  # one file, without a log beside it
    with unfinished.open("rb+") as written:
        os.fsync(written.fileno())
    unfinished.replace(target)
    return target.stat().st_size


def restore(engine: Engine, source: Path) -> Path | None:
    """Put a copy in the place of the database; return where the one before is kept, if any.

    Raises
    ------
    InputError
        If the file is no whole database of ours.
    """
    check_whole(source)
    target = database_file(engine)
    kept = None
    if target.exists() and target.stat().st_size:
        kept = _free(target.with_name(f"{target.name}.before-restore"))
        backup(engine, kept)
    with closing(sqlite3.connect(source)) as old, closing(sqlite3.connect(target)) as new:
        old.backup(new)
    return kept


def _free(wanted: Path) -> Path:
    """Return a name that nothing has: a copy kept before is never written over."""
    number, free = 1, wanted
    while free.exists():
        number += 1
        free = wanted.with_name(f"{wanted.name}-{number}")
    return free


def check_whole(file: Path) -> None:
    """Refuse a file that is no whole database of ours.

    Raises
    ------
    InputError
        If it is not there, not SQLite, damaged, or of something else.
    """
    remedy = "choose a file that `ovenward backup` wrote"
    if not file.is_file():
        raise _fault("file", file, "is not there", remedy)
    try:
        with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as opened:
            told = opened.execute("PRAGMA integrity_check").fetchone()[0]
            ours = opened.execute(
                "SELECT count(*) FROM sqlite_master WHERE name IN ('alembic_version', 'bakery')"
            ).fetchone()[0]
    except sqlite3.DatabaseError as error:
        raise _fault("file", file, f"cannot be read: {error}", remedy) from None
    if told != "ok":
        raise _fault("file", file, f"is damaged: {told}", "choose another copy")
    if ours != 2:
        raise _fault("file", file, "is not a database of Ovenward", remedy)


def database_file(engine: Engine) -> Path:
    """Return the file of a SQLite database.

    Raises
    ------
    InputError
        If it is PostgreSQL.
    """
    if engine.dialect.name != "sqlite" or not engine.url.database:
        raise _fault(
            "OVENWARD_DATABASE_URL",
            engine.dialect.name,
            "is copied by tools of its own",
            "use pg_dump and pg_restore, or `ovenward export` and `ovenward import`",
        )
    return Path(engine.url.database)


def _fault(field: str, value: object, problem: str, remedy: str) -> InputError:
    return InputError([Fault(field, str(value), problem, remedy)])
