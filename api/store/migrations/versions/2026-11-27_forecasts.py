"""forecasts of the air."""

from collections.abc import Sequence

import sqlalchemy as sa
import sqlmodel.sql.sqltypes
from alembic import op

revision: str = "forecasts"
down_revision: str | None = "versions_of_formulas"
branch_labels: Sequence[str] | None = None
depends_on: Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "forecast",
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("changed_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.Column("bakery_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("place", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("source", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("tried_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=True),
        sa.Column("fault", sqlmodel.sql.sqltypes.AutoString(), nullable=True),
        sa.ForeignKeyConstraint(
            ["bakery_id"],
            ["bakery.id"],
            name=op.f("fk_forecast_bakery_id_bakery"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("bakery_id", "place", name=op.f("pk_forecast")),
    )


def downgrade() -> None:
    op.drop_table("forecast")
