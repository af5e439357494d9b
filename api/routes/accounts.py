"""People who sign in to a bakery, keys of its programs and devices, and what they changed."""

from __future__ import annotations

from typing import Annotated

from fastapi import Path, Query

from api.dependencies import NowDep, PrincipalDep, ReadDep, WriteDep
from api.errors import responses
from api.routes.shared import READS, REMOVES, BakeryId, resource
from api.schemas.accounts import (
    AccountInput,
    AccountRead,
    ChangeRead,
    DeviceCreate,
    KeyCreate,
    KeyCreated,
    KeyRead,
)
from api.store import accounts, changes, keys, pairings

router = resource("people and keys", "/bakeries/{bakery_id}")

Login = Annotated[
    str,
    Path(
        description="What they sign in with; capitals do not matter.",
        min_length=1,
        max_length=60,
        pattern=r"^[^\s/]+$",
        examples=["ana"],
    ),
]
KeyId = Annotated[str, Path(description="Id of the key.", max_length=40, examples=["3f9a1c22d07b"])]
Before = Annotated[
    int | None,
    Query(description="Only changes before this number.", ge=1, le=2**31 - 1, examples=[17]),
]
AtMost = Annotated[
    int, Query(description="At most so many, the newest first.", ge=1, le=1000, examples=[100])
]


@router.get("/accounts", responses=READS)
def list_accounts(bakery_id: BakeryId, session: ReadDep) -> list[AccountRead]:
    """List the people who sign in to a bakery."""
    return accounts.listed(session, bakery_id)


@router.put("/accounts/{login}", responses=responses(404, 409, 413, 422, 503))
def put_account(
    bakery_id: BakeryId, login: Login, sent: AccountInput, session: WriteDep, now: NowDep
) -> AccountRead:
    """Let somebody sign in, or give them another role or password; their sessions then end."""
    return accounts.put(session, bakery_id, login, sent, now)


@router.delete("/accounts/{login}", status_code=204, responses=REMOVES)
def delete_account(bakery_id: BakeryId, login: Login, session: WriteDep) -> None:
    """Let somebody sign in no more, and forget their name; what they read stays."""
    accounts.delete_account(session, bakery_id, login)


@router.get("/keys", responses=READS)
def list_keys(bakery_id: BakeryId, session: ReadDep) -> list[KeyRead]:
    """List the keys of a bakery, without their secrets."""
    return keys.listed(session, bakery_id)


@router.post("/keys", status_code=201, responses=responses(404, 413, 422, 503))
def create_key(
    bakery_id: BakeryId, sent: KeyCreate, session: WriteDep, sender: PrincipalDep, now: NowDep
) -> KeyCreated:
    """Make a key; the answer is the only place where it is shown."""
    return keys.create(session, bakery_id, sent, sender.name, now)


@router.post("/devices", status_code=201, responses=responses(404, 413, 422, 503))
def take_in_device(
    bakery_id: BakeryId, sent: DeviceCreate, session: WriteDep, sender: PrincipalDep, now: NowDep
) -> KeyRead:
    """Take in a tablet or display by the code that it shows on `/pair`; it then stays signed in.

    It gets a key that nobody sees; revoke that to turn the device out.
    """
    return pairings.take_in(session, bakery_id, sent, sender.name, now)


@router.delete("/keys/{key_id}", status_code=204, responses=REMOVES)
def revoke_key(bakery_id: BakeryId, key_id: KeyId, session: WriteDep, now: NowDep) -> None:
    """Let a key open nothing from now on."""
    keys.revoke(session, bakery_id, key_id, now)


@router.get("/changes", responses=READS)
def list_changes(
    bakery_id: BakeryId, session: ReadDep, before: Before = None, limit: AtMost = 100
) -> list[ChangeRead]:
    """List who changed what, the newest first."""
    return changes.listed(session, bakery_id, before, limit)
