"""Accounts of people, keys of programs, and the trail of what they changed."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from api.access import Role
from api.passwords import LONGEST_PASSWORD, SHORTEST_PASSWORD
from api.schemas.base import Entry
from api.schemas.reader import Read, shown
from api.schemas.this_age import InThisAge

OfBakery = Literal["head_baker", "shift_lead", "bench", "display", "sensor"]
"""Roles within one bakery; an operator is for all."""

RoleField = Field(
    description="What they may do: a head baker everything in the bakery, a shift lead run the"
    " shift, a bench read and send readings, a display read, a sensor send readings.",
    examples=["bench"],
)


class AccountInput(Entry):
    """Somebody who signs in with a password."""

    name: Annotated[
        str, Field(min_length=1, max_length=100, description="Their name.", examples=["Ana"])
    ]
    role: Annotated[OfBakery, RoleField]
    password: Annotated[
        str,
        Field(
            min_length=SHORTEST_PASSWORD,
            max_length=LONGEST_PASSWORD,
            description=f"At least {SHORTEST_PASSWORD} letters; stored only as a hash.",
            examples=["four plain words together"],
        ),
    ]


class AccountRead(Read):
    """Somebody who signs in."""

    login: Annotated[str, shown("What they sign in with.", "ana")]
    name: Annotated[str, shown("Their name.", "Ana")]
    role: Annotated[Role, shown("What they may do.", "bench")]
    created_at: Annotated[datetime, shown("Since when [UTC].", "2026-07-15T12:00:00Z")]


class KeyCreate(Entry):
    """A key for a program or a device."""

    name: Annotated[
        str,
        Field(
            min_length=1, max_length=100, description="What it is for.", examples=["bench tablet"]
        ),
    ]
    role: Annotated[OfBakery, RoleField]
    expires_at: Annotated[
        Annotated[AwareDatetime, InThisAge] | None,
        Field(
            description="Until when it is valid; for good when left out.",
            examples=["2027-01-01T00:00:00Z"],
        ),
    ] = None


class DeviceCreate(Entry):
    """A tablet or display that shows its code on `/pair`."""

    code: Annotated[
        str,
        Field(
            min_length=1,
            max_length=40,
            description="The code that it shows; small letters and missing hyphens are read too.",
            examples=["K7QW-3HXM"],
        ),
    ]
    name: Annotated[
        str, Field(min_length=1, max_length=100, description="What it is.", examples=["wall"])
    ]
    role: Annotated[
        Literal["shift_lead", "bench", "display"],
        Field(description="What whoever stands before it may do.", examples=["display"]),
    ]


class KeyRead(Read):
    """A key, without its secret."""

    id: Annotated[str, shown("Its id.", "3f9a1c22d07b")]
    name: Annotated[str, shown("What it is for.", "bench tablet")]
    role: Annotated[Role, shown("What it may do.", "bench")]
    created_at: Annotated[datetime, shown("When it was made [UTC].", "2026-07-15T12:00:00Z")]
    created_by: Annotated[str, shown("Who made it.", "Ana")]
    expires_at: Annotated[datetime | None, shown("Until when it is valid; null for good.", None)]
    last_used_at: Annotated[
        datetime | None,
        shown("Last use, to some minutes [UTC]; null for never.", "2026-07-15T20:55:00Z"),
    ]
    revoked_at: Annotated[datetime | None, shown("When it was revoked [UTC]; null if not.", None)]


class KeyCreated(KeyRead):
    """A new key."""

    key: Annotated[
        str,
        shown(
            "The key itself, shown this once; sent as `Authorization: Bearer KEY`.",
            "ow_3f9a1c22d07b_kept-by-whoever-uses-it",
        ),
    ]


class ChangeRead(Read):
    """One request that changed something."""

    number: Annotated[int, shown("Counts all changes.", 17)]
    at: Annotated[datetime, shown("When [UTC].", "2026-07-15T12:00:00Z")]
    name: Annotated[str, shown("Who sent it.", "Ana")]
    role: Annotated[str, shown("As what.", "head_baker")]
    method: Annotated[str, shown("How it was sent.", "PUT")]
    path: Annotated[str, shown("What it was sent to.", "/api/v1/bakeries/weir/formulas/white")]
