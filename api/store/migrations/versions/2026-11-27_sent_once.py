"""requests that are not to be done twice."""

from collections.abc import Sequence

import sqlalchemy as sa
import sqlmodel.sql.sqltypes
from alembic import op

revision: str = "sent_once"
down_revision: str | None = "accounts"
branch_labels: Sequence[str] | None = None
depends_on: Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "sent_once",
        sa.Column("owner", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("key", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("fingerprint", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=True),
        sa.Column("headers", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("body", sqlmodel.sql.sqltypes.AutoString(), nullable=True),
        sa.Column("at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.PrimaryKeyConstraint("owner", "key", name=op.f("pk_sent_once")),
    )
    op.create_index(op.f("ix_sent_once_at"), "sent_once", ["at"], unique=False)


def downgrade() -> None:
    op.drop_index(op.f("ix_sent_once_at"), table_name="sent_once")
    op.drop_table("sent_once")
