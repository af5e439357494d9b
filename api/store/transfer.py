"""Everything of a database as one JSON document, and back: also from SQLite to PostgreSQL.

What only lasts a while (signed-in sessions, tries to sign in, codes, kept answers) stays behind;
accounts and keys go along only when they are asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, DateTime, Engine, MetaData, Table, func, select, text, true
from sqlalchemy.sql import ColumnElement

from api.store.engine import for_writing
from api.store.tables import Table as OurTable
from planner.errors import Fault, InputError

FORMAT = "ovenward export"
PASSING = frozenset({"sent_once", "session", "sign_in_failure", "pairing", "first_run"})
PEOPLE = frozenset({"account", "api_key"})
BATCH = 200

Exported = dict[str, Any]


def export(engine: Engine, *, bakery_id: str | None = None, accounts: bool = False) -> Exported:
    """Return all that is stored, or all of one bakery.

    Parameters
    ----------
    bakery_id
        Only of this bakery; of all when None.
    accounts
        Whether accounts and keys go along; the secrets themselves are not stored.
    """
    left = PASSING if accounts else PASSING | PEOPLE
    with engine.connect() as connection:
        if connection.dialect.name == "postgresql":
            # One moment for all tables; SQLite's BEGIN gives that anyway.
            connection.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ"))
        return {
            "format": FORMAT,
            "revision": revision_of(connection),
            "bakery_id": bakery_id,
            "tables": {
                table.name: [
                    {column.name: _written(row[column.name]) for column in table.columns}
                    for row in connection.execute(_rows(table, bakery_id)).mappings()
                ]
                for table in tables()
                if table.name not in left
            },
        }


def bring_in(engine: Engine, document: Exported) -> dict[str, int]:
    """Store all of an export, in one transaction; return how many rows each table got.

    Raises
    ------
    InputError
        If it is no export, is of another version, or something of it is there already.
    """
    rows = _checked(document)
    with for_writing(engine).begin() as connection:
        here = revision_of(connection)
        if document["revision"] != here:
            raise _fault(
                "revision",
                document["revision"],
                f"is another version of the tables than here, {here}",
                "export and import with the same version of Ovenward",
            )
        for table in tables():
            found = [_read(table, row, i) for i, row in enumerate(rows.get(table.name, []))]
            if found and table.name != "change":
                _check_new(connection, table, found)
            for first in range(0, len(found), BATCH):
                connection.execute(table.insert(), found[first : first + BATCH])
    return {name: len(found) for name, found in rows.items()}


def tables() -> list[Table]:
    """Return our tables, each after those it points to."""
    metadata: MetaData = OurTable.metadata
    return list(metadata.sorted_tables)


def revision_of(connection: Connection) -> str | None:
    """Return the version of the tables; None when there are none."""
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalars().all()
    return str(found[0]) if found else None


def _rows(table: Table, bakery_id: str | None) -> Any:  # noqa: ANN401  a select of any row
    query = select(table).order_by(*table.primary_key.columns)
    return query.where(_of_bakery(table, bakery_id))


def _of_bakery(table: Table, bakery_id: str | None) -> ColumnElement[bool]:
    if bakery_id is None:
        return true()
    if table.name == "bakery":
        return table.c.id == bakery_id
    if "bakery_id" in table.c:
        return table.c.bakery_id == bakery_id
    plan = OurTable.metadata.tables["plan"]
    return table.c.plan_id.in_(select(plan.c.id).where(plan.c.bakery_id == bakery_id))


def _written(value: object) -> object:
    return value.isoformat() if isinstance(value, date | datetime) else value


def _checked(document: Exported) -> dict[str, list[Any]]:
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        told = document.get("format") if isinstance(document, dict) else type(document).__name__
        raise _fault(
            "format", told, "is no export of Ovenward", "choose a file of `ovenward export`"
        )
    rows = document.get("tables")
    known = {table.name for table in tables()}
    if not isinstance(rows, dict) or not all(isinstance(one, list) for one in rows.values()):
        raise _fault("tables", "…", "holds no lists of rows", "export it again")
    for name in rows:
        if name not in known:
            raise _fault(f"tables.{name}", name, "is no table here", "use the same version")
    return rows


def _read(table: Table, row: object, number: int) -> dict[str, Any]:
    columns = {column.name: column for column in table.columns}
    if not isinstance(row, dict) or row.keys() != columns.keys():
        place = f"tables.{table.name}[{number}]"
        raise _fault(place, "…", "has other columns than here", "export it again")
    read = {}
    for name, column in columns.items():
        value = row[name]
        try:
            if value is not None and _is_moment(column.type):
                value = datetime.fromisoformat(value)
            elif value is not None and column.type.python_type is date:
                value = date.fromisoformat(value)
        except (TypeError, ValueError, NotImplementedError):
            place = f"tables.{table.name}[{number}].{name}"
            raise _fault(place, value, "is no moment", "export it again") from None
        read[name] = value
    if table.name == "change":
        read.pop("id")  # numbered anew: it is only a trail
    return read


def _is_moment(kind: object) -> bool:
    return isinstance(getattr(kind, "impl", kind), DateTime)


def _check_new(connection: Connection, table: Table, rows: Sequence[dict[str, Any]]) -> None:
    first = next(iter(table.primary_key.columns))
    wanted = {row[first.name] for row in rows}
    query = select(func.count()).select_from(table).where(first.in_(wanted))
    if connection.execute(query).scalar_one():
        raise _fault(
            f"tables.{table.name}",
            ", ".join(sorted(map(str, wanted)))[:200],
            "is there already, all or in part",
            "import into an empty database, or remove it first",
        )


def _fault(field: str, value: object, problem: str, remedy: str) -> InputError:
    return InputError([Fault(field, str(value)[:200], problem, remedy)])
