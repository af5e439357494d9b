"""Keys of programs and devices: shown once, stored as what cannot be turned back into them."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta

from sqlalchemy import update
from sqlmodel import Session, col, select

from api.access import Principal, Role
from api.errors import NotFoundError
from api.passwords import hash_secret, is_secret, new_secret
from api.schemas.accounts import KeyCreate, KeyCreated, KeyRead
from api.store import bakeries
from api.store.tables import KeyRow

PREFIX = "ow"
USE_IS_NOTED_EVERY = timedelta(minutes=5)


def create(
    session: Session, bakery_id: str | None, sent: KeyCreate, by: str, now: datetime
) -> KeyCreated:
    """Store a new key; what is returned is the only time that it is seen.

    Parameters
    ----------
    bakery_id
        The only bakery there is for it; None for all.
    """
    secret = new_secret()
    row = add(session, bakery_id, sent.name, Role(sent.role), secret, by, now)
    row.expires_at = sent.expires_at
    session.flush()
    return KeyCreated(**read(row).model_dump(), key=f"{PREFIX}_{row.id}_{secret}")


def add(
    session: Session,
    bakery_id: str | None,
    name: str,
    role: Role,
    secret: str,
    by: str,
    now: datetime,
) -> KeyRow:
    """Store a key with a secret, valid for good."""
    if bakery_id is not None:
        bakeries.check_known(session, bakery_id)
    row = KeyRow(
        id=secrets.token_hex(6),
        bakery_id=bakery_id,
        name=name,
        role=role,
        secret_hash=hash_secret(secret),
        created_at=now,
        created_by=by,
        expires_at=None,
        last_used_at=None,
        revoked_at=None,
    )
    session.add(row)
    session.flush()
    return row


def listed(session: Session, bakery_id: str) -> list[KeyRead]:
    """Return the keys of a bakery, without their secrets."""
    bakeries.check_known(session, bakery_id)
    query = select(KeyRow).where(KeyRow.bakery_id == bakery_id).order_by(col(KeyRow.created_at))
    return [read(row) for row in session.exec(query)]


def revoke(session: Session, bakery_id: str, key_id: str, now: datetime) -> None:
    """Let a key open nothing from now on; again changes nothing.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = session.get(KeyRow, key_id)
    if row is None or row.bakery_id != bakery_id:
        raise NotFoundError("key", key_id)
    row.revoked_at = row.revoked_at or now
    session.flush()


def find(session: Session, key: str, now: datetime) -> KeyRow | None:
    """Return the row of a key that is shown, if it is one and still valid."""
    prefix, _, rest = key.partition("_")
    id, _, secret = rest.partition("_")
    row = session.get(KeyRow, id) if prefix == PREFIX and len(id) <= 40 else None
    if row is None or not is_secret(secret, row.secret_hash) or not is_valid(row, now):
        return None
    return row


def is_valid(row: KeyRow, now: datetime) -> bool:
    """Return whether a key opens anything."""
    return row.revoked_at is None and (row.expires_at is None or row.expires_at > now)


def principal(row: KeyRow) -> Principal:
    """Return who a key stands for."""
    return Principal(row.name, Role(row.role), row.bakery_id)


def is_use_to_note(row: KeyRow, now: datetime) -> bool:
    """Return whether the last use that is noted lies some minutes back."""
    return row.last_used_at is None or now - row.last_used_at > USE_IS_NOTED_EVERY


def note_use(session: Session, key_id: str, now: datetime) -> None:
    """Remember when a key was last used."""
    session.execute(update(KeyRow).where(col(KeyRow.id) == key_id).values(last_used_at=now))


def read(row: KeyRow) -> KeyRead:
    """Return a key as it is sent, without its secret."""
    return KeyRead(
        id=row.id,
        name=row.name,
        role=Role(row.role),
        created_at=row.created_at,
        created_by=row.created_by,
        expires_at=row.expires_at,
        last_used_at=row.last_used_at,
        revoked_at=row.revoked_at,
    )
