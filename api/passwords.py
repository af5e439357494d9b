"""Passwords and other secrets: stored only as what cannot be turned back into them."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from functools import cache
from threading import Semaphore
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pwdlib import PasswordHash

SHORTEST_PASSWORD, LONGEST_PASSWORD = 8, 200
# A hash takes 64 MiB and a fifth of a second: not more at once than a small machine can bear.
_AT_ONCE = Semaphore(2)


@cache
def _argon2() -> PasswordHash:
    from pwdlib import PasswordHash  # noqa: PLC0415  needed only to sign in

    return PasswordHash.recommended()


@cache
def _of_nobody() -> str:
    return _argon2().hash(secrets.token_urlsafe(16))


def hash_password(password: str) -> str:
    """Return a password as it is stored (argon2id)."""
    with _AT_ONCE:
        return _argon2().hash(password)


def is_password(password: str, stored: str | None) -> bool:
    """Return whether a password is the stored one; takes as long when there is none."""
    with _AT_ONCE:
        right = _argon2().verify(password, stored or _of_nobody())
    return right and stored is not None


def new_secret() -> str:
    """Return 256 random bits as text."""
    return secrets.token_urlsafe(32)


def hash_secret(secret: str) -> str:
    """Return a random secret as it is stored: it needs no slow hash, having no pattern to guess."""
    return hashlib.sha256(secret.encode()).hexdigest()


def is_secret(secret: str, stored: str) -> bool:
    """Return whether a secret is the stored one, in a time that does not tell how nearly."""
    return hmac.compare_digest(hash_secret(secret), stored)


def new_code(groups: int = 3) -> str:
    """Return a code that a person can type, without letters that look alike.

    Parameters
    ----------
    groups
        Of four letters, 20 random bits each.
    """
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
    return "-".join("".join(secrets.choice(letters) for _ in range(4)) for _ in range(groups))
