"""The operator's commands: copies, exports, what is kept, and how everything stands."""

# ruff: noqa: PLC0415  (imports stand in the command that pays for them)

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from api.cli_errors import FAULTS, USAGE, plain_errors, stop

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from api.settings import Settings

FileArgument = Annotated[Path, typer.Argument(help="The file.", metavar="FILE")]
BakeryOption = Annotated[str | None, typer.Option(help="Only this bakery, by its id.")]
AccountsOption = Annotated[
    bool, typer.Option("--accounts", help="Accounts and keys too; secrets stay what they are.")
]
ForceOption = Annotated[
    bool, typer.Option("--force", help="Also while a service is running on it.")
]


def add_to(app: typer.Typer) -> None:
    """Add the operator's commands to the command line."""
    for name, command in COMMANDS.items():
        app.command(name)(command)


def backup(file: FileArgument) -> None:
    """Copy the SQLite database into a file, also while the service is running."""
    from api.store.backup import backup as copied

    with _opened() as (engine, _), _written(file):
        size = copied(engine, file)
        typer.echo(f"{file} is a whole copy, {size / 1e6:.1f} MB.")


def restore(file: FileArgument, *, force: ForceOption = False) -> None:
    """Put a copy in the place of the SQLite database; the one before is kept beside it."""
    from api.jobs.leader import leader_for
    from api.store.backup import restore as put_back
    from api.store.upgrade import upgrade

    with _opened(upgraded=False) as (engine, settings), _written(file):
        leader = leader_for(engine)
        try:
            if not leader.leads() and not force:
                stop("A service is running on this database: stop it first.", USAGE)
            kept = put_back(engine, file)
        finally:
            leader.close()
        engine.dispose()
        upgrade(settings.address)
        typer.echo(f"{file} is the database now.")
        if kept is not None:
            typer.echo(f"The one before is {kept}.")


def export(
    file: FileArgument, *, bakery: BakeryOption = None, accounts: AccountsOption = False
) -> None:
    """Write everything, or one bakery, as JSON."""
    from api.store.transfer import export as taken

    with _opened() as (engine, _), _written(file):
        document = taken(engine, bakery_id=bakery, accounts=accounts)
        if bakery is not None and not document["tables"]["bakery"]:
            stop(f"There is no bakery {bakery!r}.", USAGE)
        text = json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
        file.write_text(text, encoding="utf-8")
        rows = sum(map(len, document["tables"].values()))
        typer.echo(f"{file} holds {rows} rows of {len(document['tables'])} tables.")


def bring_in(file: FileArgument) -> None:
    """Store everything of an export; nothing of it may be there already."""
    from api.store.transfer import bring_in as taken_in

    with _opened() as (engine, _), _written(file):
        rows = taken_in(engine, _json(file))
        typer.echo(f"{sum(rows.values())} rows of {file} are stored.")


def tidy() -> None:
    """Forget what is older than the settings say is to be kept."""
    from sqlmodel import Session

    from api.clock import utc_now
    from api.store.engine import for_writing
    from api.store.retention import Keeping, forget_old

    with _opened() as (engine, settings):
        keeping = Keeping(settings.keep_plans_days, settings.keep_events_days)
        with Session(for_writing(engine)) as session, session.begin():
            gone = forget_old(session, keeping, utc_now())
        told = ", ".join(f"{count} {name}" for name, count in gone.items())
        typer.echo(f"Forgotten: {told}.")


def doctor() -> None:
    """Look at database, clock, disk, zones, leader and backlog; ends with 1 if one is broken."""
    from api.clock import utc_now
    from api.jobs.leader import leader_for
    from api.store.doctor import Finding, examine

    with _opened(upgraded=False) as (engine, settings):
        leader = leader_for(engine)

        def is_led() -> bool:
            return not leader.leads()

        try:
            found = examine(engine, settings, utc_now(), is_led)
        finally:
            leader.close()
    for one in found:
        typer.echo(f"{one.finding:<7} {one.what:<10} {one.text}")
    if any(one.finding is Finding.BROKEN for one in found):
        raise typer.Exit(FAULTS)


COMMANDS: dict[str, Callable[..., None]] = {
    "backup": backup,
    "restore": restore,
    "export": export,
    "import": bring_in,
    "tidy": tidy,
    "doctor": doctor,
}


@contextmanager
def _opened(*, upgraded: bool = True) -> Iterator[tuple[Engine, Settings]]:
    """Give the engine of the database of the settings, brought up to date unless told not to."""
    from api.settings import Settings
    from api.store.engine import open_engine
    from api.store.upgrade import upgrade

    settings = Settings()
    if not settings.database_url:
        settings.data_dir.mkdir(parents=True, exist_ok=True)
    with plain_errors():
        if upgraded:
            upgrade(settings.address)
        engine = open_engine(settings.address)
        try:
            yield engine, settings
        finally:
            engine.dispose()


@contextmanager
def _written(file: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        stop(f"{file} cannot be read or written: {error.strerror or error}.", USAGE)


def _json(file: Path) -> Any:  # noqa: ANN401  whatever stands there
    try:
        return json.loads(file.read_text(encoding="utf-8"))
    except (ValueError, RecursionError):
        stop(f"{file} is no JSON.", USAGE)
