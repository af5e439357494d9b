"""Tables. A document is kept as it was entered; what is asked by is a column beside it.

A table class checks nothing when built: what goes in was checked by a schema before.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, ClassVar

from sqlalchemy import (
    JSON,
    CheckConstraint,
    ForeignKeyConstraint,
    Index,
    MetaData,
    UniqueConstraint,
)
from sqlmodel import Field, SQLModel

Document = dict[str, Any]
NullableJSON = JSON(none_as_null=True)

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class Table(SQLModel):
    """Base of all tables; its names let a migration on SQLite find every constraint."""

    metadata: ClassVar[MetaData] = MetaData(naming_convention=NAMES)


class DocumentTable(Table):
    """A document as entered, and when it last changed."""

    document: Document = Field(sa_type=JSON, nullable=False)
    changed_at: datetime


class BakeryRow(DocumentTable, table=True):
    """A bakery as entered."""

    __tablename__ = "bakery"

    id: str = Field(primary_key=True)


class FormulaRow(DocumentTable, table=True):
    """A formula of a bakery as entered."""

    __tablename__ = "formula"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    id: str = Field(primary_key=True)


class FormulaVersionRow(DocumentTable, table=True):
    """What a formula was from a moment on; kept also when the formula is removed."""

    __tablename__ = "formula_version"
    __table_args__ = (CheckConstraint("version >= 1", name="version_counts_from_1"),)

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    id: str = Field(primary_key=True)
    version: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})


class ProductRow(DocumentTable, table=True):
    """A product of a bakery as entered."""

    __tablename__ = "product"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    id: str = Field(primary_key=True)


class MixListRow(DocumentTable, table=True):
    """Orders, mixes and shifts of one production day as entered."""

    __tablename__ = "mix_list"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    production_date: date = Field(primary_key=True)


class ConditionsRow(DocumentTable, table=True):
    """Conditions of one production day as entered."""

    __tablename__ = "conditions"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    production_date: date = Field(primary_key=True)


class ForecastRow(DocumentTable, table=True):
    """The last good forecast of the air of one place, and where it comes from.

    Attributes
    ----------
    document
        The hours, in the form of `api.schemas.forecast.ForecastInput`; empty before the first.
    changed_at
        When it came.
    source
        Where it is pulled from; None for one that is only pushed.
    tried_at, fault
        The last pull, and why it failed; None when it did not.
    """

    __tablename__ = "forecast"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    place: str = Field(primary_key=True)
    source: Document | None = Field(sa_type=NullableJSON)
    tried_at: datetime | None
    fault: str | None


class PinsRow(DocumentTable, table=True):
    """What the baker fixes about one production day, as entered."""

    __tablename__ = "pins"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    production_date: date = Field(primary_key=True)


class CorrectionsRow(DocumentTable, table=True):
    """What a bakery's readings have taught, in the form of `api.store.codec`."""

    __tablename__ = "corrections"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")


class ThermometerRow(DocumentTable, table=True):
    """A thermometer of a bakery as entered."""

    __tablename__ = "thermometer"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    id: str = Field(primary_key=True)


class RoutineRow(DocumentTable, table=True):
    """What the service does for a bakery by itself, as entered."""

    __tablename__ = "routine"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")


class PlanRow(Table, table=True):
    """A plan: what it is made from, how far it is, and what came out.

    Attributes
    ----------
    made_from
        The whole day as it stood when the plan was asked for.
    beat_at
        Last sign of life while it is being made.
    result
        The finished plan in the form of `api.store.codec`.
    problem
        Why it could not be made.
    attempts
        How often somebody began to make it.
    """

    __tablename__ = "plan"
    __table_args__ = (
        UniqueConstraint("bakery_id", "production_date", "version"),
        CheckConstraint("version >= 1", name="version_counts_from_1"),
    )

    id: str = Field(primary_key=True)
    bakery_id: str = Field(foreign_key="bakery.id", ondelete="RESTRICT")
    production_date: date
    version: int
    state: str
    stop_requested: bool
    stage: str
    best: float | None
    bound: float | None
    search_s: float
    made_from: Document = Field(sa_type=JSON, nullable=False)
    result: Document | None = Field(sa_type=NullableJSON)
    problem: Document | None = Field(sa_type=NullableJSON)
    created_at: datetime
    beat_at: datetime
    finished_at: datetime | None
    attempts: int


class ReadingRow(Table, table=True):
    """A reading as sent, and the answer it got. Never overwritten.

    Attributes
    ----------
    number
        Order of arrival within the plan.
    offset_k
        What is added to it because of its thermometer [K].
    is_answered
        Whether the answer takes it in; else answering broke off, and it is the plan's own.
    """

    __tablename__ = "reading"
    __table_args__ = (
        ForeignKeyConstraint(["plan_id"], ["plan.id"], ondelete="CASCADE"),
        Index(None, "plan_id", "number", unique=True),
    )

    plan_id: str = Field(primary_key=True)
    id: str = Field(primary_key=True)
    number: int
    mix_id: str
    document: Document = Field(sa_type=JSON, nullable=False)
    answer: Document = Field(sa_type=JSON, nullable=False)
    received_at: datetime
    offset_k: float
    is_answered: bool


class SentOnceRow(Table, table=True):
    """A request that is not to be done twice, and the answer it got.

    Attributes
    ----------
    owner
        Who sent it; others may use the same key.
    fingerprint
        What it asked for.
    status, headers, body
        The answer; None while it is being answered.
    """

    __tablename__ = "sent_once"

    owner: str = Field(primary_key=True)
    key: str = Field(primary_key=True)
    fingerprint: str
    status: int | None
    headers: Document | None = Field(sa_type=NullableJSON)
    body: str | None
    at: datetime = Field(index=True)


class InForceRow(Table, table=True):
    """The one plan of a production day that counts; its key is why there is never a second."""

    __tablename__ = "in_force"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    production_date: date = Field(primary_key=True)
    plan_id: str = Field(foreign_key="plan.id", ondelete="CASCADE", unique=True)
    since: datetime


class PlannedInputRow(Table, table=True):
    """What a plan of a chain's night was made from; the key lets each input be planned once."""

    __tablename__ = "planned_input"

    bakery_id: str = Field(primary_key=True, foreign_key="bakery.id", ondelete="CASCADE")
    production_date: date = Field(primary_key=True)
    input_hash: str = Field(primary_key=True)
    plan_id: str = Field(foreign_key="plan.id", ondelete="CASCADE")


class OccurrenceRow(Table, table=True):
    """Something that comes due at a moment, and what became of it.

    Attributes
    ----------
    id
        Made of what it is, so that it cannot be there twice.
    number
        Counts those of one kind and subject, from 1.
    """

    __tablename__ = "occurrence"
    __table_args__ = (Index(None, "state", "due_at"), Index(None, "plan_id"))

    id: str = Field(primary_key=True)
    bakery_id: str = Field(foreign_key="bakery.id", ondelete="CASCADE")
    plan_id: str | None = Field(foreign_key="plan.id", ondelete="CASCADE")
    production_date: date
    kind: str
    subject: str
    number: int
    state: str
    due_at: datetime
    fired_at: datetime | None


class EventRow(Table, table=True):
    """Something that happened in a bakery: only ever added, numbered without a gap.

    It names its bakery without a foreign key: what happened is kept when the bakery is removed.

    Attributes
    ----------
    number
        Counts the bakery's events from 1.
    kind
        What happened, a word of `api.schemas.events.EventKind`.
    subject
        What it happened to, such as the id of a plan.
    """

    __tablename__ = "event"
    __table_args__ = (CheckConstraint("number >= 1", name="number_counts_from_1"),)

    bakery_id: str = Field(primary_key=True)
    number: int = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    kind: str
    subject: str
    at: datetime
    data: Document = Field(sa_type=JSON, nullable=False)


class AccountRow(Table, table=True):
    """Somebody who signs in.

    Attributes
    ----------
    login
        In small letters.
    bakery_id
        The only bakery there is for them; None for all.
    """

    __tablename__ = "account"

    login: str = Field(primary_key=True)
    name: str
    role: str
    bakery_id: str | None = Field(foreign_key="bakery.id", ondelete="CASCADE")
    password_hash: str
    created_at: datetime


class KeyRow(Table, table=True):
    """A key of a program or device; its secret is stored as a hash only."""

    __tablename__ = "api_key"

    id: str = Field(primary_key=True)
    bakery_id: str | None = Field(foreign_key="bakery.id", ondelete="CASCADE")
    name: str
    role: str
    secret_hash: str
    created_at: datetime
    created_by: str
    expires_at: datetime | None
    last_used_at: datetime | None
    revoked_at: datetime | None


class SessionRow(Table, table=True):
    """A browser that is signed in, by a person or with the key of a device."""

    __tablename__ = "session"

    secret_hash: str = Field(primary_key=True)
    account: str | None = Field(foreign_key="account.login", ondelete="CASCADE")
    key_id: str | None = Field(foreign_key="api_key.id", ondelete="CASCADE")
    created_at: datetime
    expires_at: datetime


class SignInFailureRow(Table, table=True):
    """A sign-in that failed; kept for some minutes."""

    __tablename__ = "sign_in_failure"

    id: int | None = Field(default=None, primary_key=True)
    who: str
    address: str
    at: datetime = Field(index=True)


class PairingRow(Table, table=True):
    """A device that shows its code and waits to be taken in.

    Attributes
    ----------
    secret_hash
        Of what the device holds and shows to nobody.
    key_id
        The key it was given; None while it waits.
    """

    __tablename__ = "pairing"

    secret_hash: str = Field(primary_key=True)
    code_hash: str = Field(unique=True)
    address: str
    expires_at: datetime
    key_id: str | None = Field(foreign_key="api_key.id", ondelete="CASCADE")


class FirstRunRow(Table, table=True):
    """A code that was printed while nobody could sign in."""

    __tablename__ = "first_run"

    code_hash: str = Field(primary_key=True)
    expires_at: datetime


class ChangeRow(Table, table=True):
    """A request that changed something, and who sent it."""

    __tablename__ = "change"
    __table_args__ = (Index(None, "bakery_id", "id"),)

    id: int | None = Field(default=None, primary_key=True)
    bakery_id: str | None
    at: datetime
    name: str
    role: str
    method: str
    path: str
