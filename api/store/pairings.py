"""Tablets and displays that are taken in by a code which they show: nothing is typed at them."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import delete, func
from sqlmodel import Session, col, select

from api.access import Role
from api.errors import NotFoundError, TooManyTriesError
from api.passwords import hash_secret, new_code, new_secret
from api.schemas.accounts import DeviceCreate, KeyRead
from api.store import accounts, bakeries, keys
from api.store.tables import PairingRow

LASTS = timedelta(minutes=15)
AT_ONCE, AT_ONCE_FROM_ONE_PLACE = 200, 10
"""Devices that may wait: anybody in the network can make one wait."""
GROUPS = 2


def begin(session: Session, address: str, now: datetime) -> tuple[str, str]:
    """Let a device wait; return the secret that it keeps and the code that it shows.

    Raises
    ------
    TooManyTriesError
        If so many wait already that somebody plays.
    """
    session.execute(delete(PairingRow).where(col(PairingRow.expires_at) <= now))
    waiting = select(func.count()).select_from(PairingRow)
    from_there = waiting.where(col(PairingRow.address) == address)
    if (
        session.exec(waiting).one() >= AT_ONCE
        or session.exec(from_there).one() >= AT_ONCE_FROM_ONE_PLACE
    ):
        raise TooManyTriesError(int(LASTS.total_seconds()))
    secret, code = new_secret(), new_code(GROUPS)
    session.add(
        PairingRow(
            secret_hash=hash_secret(secret),
            code_hash=_hash(code),
            address=address,
            expires_at=now + LASTS,
            key_id=None,
        )
    )
    session.flush()
    return secret, code


def is_waiting(session: Session, secret: str, now: datetime) -> bool:
    """Return whether a device still waits."""
    row = session.get(PairingRow, hash_secret(secret))
    return row is not None and row.expires_at > now


def take_in(
    session: Session, bakery_id: str, sent: DeviceCreate, by: str, now: datetime
) -> KeyRead:
    """Give the device that shows a code a key of its own.

    Raises
    ------
    NotFoundError
        If none shows it.
    """
    bakeries.check_known(session, bakery_id)
    shows = select(PairingRow).where(PairingRow.code_hash == _hash(sent.code))
    row = session.exec(shows.with_for_update()).first()
    if row is None or row.expires_at <= now or row.key_id is not None:
        raise NotFoundError("device that shows the code", sent.code)
    key = keys.add(session, bakery_id, sent.name, Role(sent.role), new_secret(), by, now)
    row.key_id = key.id
    session.flush()
    return keys.read(key)


def begin_session(session: Session, secret: str, now: datetime) -> str | None:
    """Return the secret of the session of a device that was taken in; None while it waits."""
    row = session.get(PairingRow, hash_secret(secret))
    if row is None or row.key_id is None:
        return None
    key_id = row.key_id
    session.delete(row)
    session.flush()
    return accounts.begin(session, now, key_id=key_id)


def _hash(code: str) -> str:
    return hash_secret("".join(letter for letter in code.upper() if letter.isalnum()))
