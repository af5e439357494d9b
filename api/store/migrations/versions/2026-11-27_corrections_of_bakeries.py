"""corrections of bakeries."""

from collections.abc import Sequence

import sqlalchemy as sa
import sqlmodel.sql.sqltypes
from alembic import op

revision: str = "corrections_of_bakeries"
down_revision: str | None = "first_resources"
branch_labels: Sequence[str] | None = None
depends_on: Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "corrections",
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("changed_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.Column("bakery_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.ForeignKeyConstraint(
            ["bakery_id"],
            ["bakery.id"],
            name=op.f("fk_corrections_bakery_id_bakery"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("bakery_id", name=op.f("pk_corrections")),
    )


def downgrade() -> None:
    op.drop_table("corrections")
