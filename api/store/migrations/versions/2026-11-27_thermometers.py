"""thermometers."""

from collections.abc import Sequence

import sqlalchemy as sa
import sqlmodel.sql.sqltypes
from alembic import op

revision: str = "thermometers"
down_revision: str | None = "events"
branch_labels: Sequence[str] | None = None
depends_on: Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "thermometer",
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("changed_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.Column("bakery_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.ForeignKeyConstraint(
            ["bakery_id"],
            ["bakery.id"],
            name=op.f("fk_thermometer_bakery_id_bakery"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("bakery_id", "id", name=op.f("pk_thermometer")),
    )
    # Readings of before were answered as they were read.
    with op.batch_alter_table("reading") as reading:
        reading.add_column(sa.Column("offset_k", sa.Float(), nullable=False, server_default="0"))
        reading.add_column(
            sa.Column("is_answered", sa.Boolean(), nullable=False, server_default=sa.true())
        )
    with op.batch_alter_table("reading") as reading:
        reading.alter_column("offset_k", existing_type=sa.Float(), server_default=None)
        reading.alter_column("is_answered", existing_type=sa.Boolean(), server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("reading") as reading:
        reading.drop_column("is_answered")
        reading.drop_column("offset_k")
    op.drop_table("thermometer")
