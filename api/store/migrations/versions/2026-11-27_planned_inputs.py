"""planned inputs."""

from collections.abc import Sequence

import sqlalchemy as sa
import sqlmodel.sql.sqltypes
from alembic import op

revision: str = "planned_inputs"
down_revision: str | None = "forecasts"
branch_labels: Sequence[str] | None = None
depends_on: Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "planned_input",
        sa.Column("bakery_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("production_date", sa.Date(), nullable=False),
        sa.Column("input_hash", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("plan_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.ForeignKeyConstraint(
            ["bakery_id"],
            ["bakery.id"],
            name=op.f("fk_planned_input_bakery_id_bakery"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["plan_id"],
            ["plan.id"],
            name=op.f("fk_planned_input_plan_id_plan"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint(
            "bakery_id", "production_date", "input_hash", name=op.f("pk_planned_input")
        ),
    )


def downgrade() -> None:
    op.drop_table("planned_input")
