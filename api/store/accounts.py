"""People who sign in: accounts, sessions, and the first one of all."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy import delete, func
from sqlmodel import Session, col, select

from api.access import Principal, Role
from api.errors import ClashError, NotFoundError, TooManyTriesError, WrongSignInError
from api.passwords import hash_password, hash_secret, is_password, new_code, new_secret
from api.schemas.accounts import AccountInput, AccountRead
from api.store import bakeries, keys
from api.store.tables import AccountRow, FirstRunRow, KeyRow, SessionRow, SignInFailureRow

SESSION_LASTS = timedelta(days=30)
DEVICE_LASTS = timedelta(days=400)
"""As long as browsers keep a cookie; while the device is used, it is renewed."""
RENEWED_EVERY = timedelta(days=1)
TRIES, TRIES_FROM_ONE_PLACE = 5, 20
TRIES_WITHIN = timedelta(minutes=15)
CODE_LASTS = timedelta(hours=24)
FIRST_RUN = "first run"


def listed(session: Session, bakery_id: str) -> list[AccountRead]:
    """Return the accounts of a bakery."""
    bakeries.check_known(session, bakery_id)
    query = select(AccountRow).where(AccountRow.bakery_id == bakery_id).order_by("login")
    return [_read(row) for row in session.exec(query)]


def put(
    session: Session, bakery_id: str, login: str, sent: AccountInput, now: datetime
) -> AccountRead:
    """Store an account of a bakery; a new password ends the sessions of the old.

    Raises
    ------
    ClashError
        If the login is taken by somebody of another bakery.
    """
    hashed = hash_password(sent.password)  # takes long: before the first lock
    bakeries.check_known(session, bakery_id)
    row = session.get(AccountRow, login.casefold())
    if row is not None and row.bakery_id != bakery_id:
        raise ClashError(f"The login {login!r} is taken. Choose another.")
    if row is None:
        row = _add(session, login, sent.name, Role(sent.role), bakery_id, hashed, now)
    else:
        row.name, row.role = sent.name, sent.role
        row.password_hash = hashed
        _end_sessions(session, row.login)
    session.flush()
    return _read(row)


def delete_account(session: Session, bakery_id: str, login: str) -> None:
    """Remove an account, its sessions and the person's name from it; readings stay.

    Raises
    ------
    NotFoundError
        If there is none.
    """
    row = session.get(AccountRow, login.casefold())
    if row is None or row.bakery_id != bakery_id:
        raise NotFoundError("account", login)
    _end_sessions(session, row.login)
    session.delete(row)
    session.flush()


def verified(session: Session, login: str, password: str) -> str:
    """Return the login of an account whose password was given; in a session that only reads.

    Raises
    ------
    WrongSignInError
        If login and password do not belong together; it does not say which is wrong.
    """
    row = session.get(AccountRow, login.casefold())
    stored = None if row is None else row.password_hash
    session.rollback()  # a hash takes long: nothing is held meanwhile
    if not is_password(password, stored) or row is None:
        raise WrongSignInError("Login and password do not belong together.")
    return login.casefold()


def begin(
    session: Session, now: datetime, account: str | None = None, key_id: str | None = None
) -> str:
    """Return the secret of a new session, of a person or of a device."""
    secret = new_secret()
    session.add(
        SessionRow(
            secret_hash=hash_secret(secret),
            account=account,
            key_id=key_id,
            created_at=now,
            expires_at=now + (SESSION_LASTS if key_id is None else DEVICE_LASTS),
        )
    )
    session.flush()
    return secret


def sign_out(session: Session, secret: str) -> None:
    """End a session."""
    session.execute(delete(SessionRow).where(col(SessionRow.secret_hash) == hash_secret(secret)))


def is_to_renew(session: Session, secret: str, now: datetime) -> bool:
    """Return whether a session that has not ended is a device's, and a day old or more."""
    held = session.get_one(SessionRow, hash_secret(secret))
    return held.key_id is not None and held.expires_at < now + DEVICE_LASTS - RENEWED_EVERY


def renew(session: Session, secret: str, now: datetime) -> None:
    """Let a device's session last as if it began now."""
    held = session.get(SessionRow, hash_secret(secret))
    if held is not None:
        held.expires_at = now + DEVICE_LASTS
        session.flush()


def of_session(session: Session, secret: str, now: datetime) -> Principal | None:
    """Return who a session belongs to; None when it has ended."""
    held = session.get(SessionRow, hash_secret(secret))
    if held is None or held.expires_at <= now:
        return None
    if held.account is not None:
        row = session.get_one(AccountRow, held.account)
        return Principal(row.name, Role(row.role), row.bakery_id, by_browser=True)
    key = session.get_one(KeyRow, held.key_id)
    if not keys.is_valid(key, now):
        return None
    return Principal(key.name, Role(key.role), key.bakery_id, by_browser=True)


def begin_try(session: Session, who: str, address: str, now: datetime) -> int:
    """Remember a try, as one that failed until `forget_try`; forget those that count no more.

    To be committed before the try is made: of many at once each then counts those before it.

    Returns
    -------
    int
        Its number.
    """
    session.execute(delete(SignInFailureRow).where(col(SignInFailureRow.at) <= now - TRIES_WITHIN))
    row = SignInFailureRow(who=who.casefold()[:200], address=address, at=now)
    session.add(row)
    session.flush()
    return row.id or 0


def check_tries(session: Session, number: int, now: datetime) -> None:
    """Refuse a try after too many that failed, of one login or from one place.

    Parameters
    ----------
    number
        That of the try.

    Raises
    ------
    TooManyTriesError
        With the seconds to wait.
    """
    this = session.get_one(SignInFailureRow, number)
    since = now - TRIES_WITHIN
    failed = select(func.count(), func.min(SignInFailureRow.at)).where(
        SignInFailureRow.at > since, SignInFailureRow.id != number
    )
    for which, most in (
        (SignInFailureRow.who == this.who, TRIES),
        (SignInFailureRow.address == this.address, TRIES_FROM_ONE_PLACE),
    ):
        count, first = session.execute(failed.where(which)).one()
        if count >= most:
            raise TooManyTriesError(int((first + TRIES_WITHIN - now).total_seconds()) + 1)


def forget_try(session: Session, number: int) -> None:
    """Let a try count no longer: it did not fail, or was not made."""
    session.execute(delete(SignInFailureRow).where(col(SignInFailureRow.id) == number))


def is_first_run(session: Session) -> bool:
    """Return whether nobody can sign in yet."""
    return session.exec(select(AccountRow.login).limit(1)).first() is None


def new_first_run_code(session: Session, now: datetime) -> str:
    """Return a code with which the first account can be made, until there is one."""
    code = new_code()
    session.add(FirstRunRow(code_hash=hash_secret(code), expires_at=now + CODE_LASTS))
    session.flush()
    return code


def make_first(session: Session, code: str, login: str, password: str, now: datetime) -> str:
    """Make the first account, an operator's, and return the secret of its session.

    Raises
    ------
    NotFoundError
        If there is an account already.
    WrongSignInError
        If the code is not one that was printed.
    """
    hashed = hash_password(password)  # takes long: before the first lock
    if not is_first_run(session):
        raise NotFoundError("page", "first-run")
    held = session.get(FirstRunRow, hash_secret(code.strip().upper()))
    if held is None or held.expires_at <= now:
        raise WrongSignInError("This is not the code that the service printed.")
    row = _add(session, login, login, Role.OPERATOR, None, hashed, now)
    session.execute(delete(FirstRunRow))
    return begin(session, now, account=row.login)


def _add(
    session: Session,
    login: str,
    name: str,
    role: Role,
    bakery_id: str | None,
    password_hash: str,
    now: datetime,
) -> AccountRow:
    row = AccountRow(
        login=login.casefold(),
        name=name,
        role=role,
        bakery_id=bakery_id,
        password_hash=password_hash,
        created_at=now,
    )
    session.add(row)
    session.flush()
    return row


def _end_sessions(session: Session, login: str) -> None:
    session.execute(delete(SessionRow).where(col(SessionRow.account) == login))


def _read(row: AccountRow) -> AccountRead:
    return AccountRead(
        login=row.login, name=row.name, role=Role(row.role), created_at=row.created_at
    )
