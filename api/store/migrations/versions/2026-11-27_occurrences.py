"""occurrences."""

from collections.abc import Sequence

import sqlalchemy as sa
import sqlmodel.sql.sqltypes
from alembic import op

revision: str = "occurrences"
down_revision: str | None = "thermometers"
branch_labels: Sequence[str] | None = None
depends_on: Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "routine",
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("changed_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.Column("bakery_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.ForeignKeyConstraint(
            ["bakery_id"],
            ["bakery.id"],
            name=op.f("fk_routine_bakery_id_bakery"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("bakery_id", name=op.f("pk_routine")),
    )
    op.create_table(
        "in_force",
        sa.Column("bakery_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("production_date", sa.Date(), nullable=False),
        sa.Column("plan_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("since", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["bakery_id"],
            ["bakery.id"],
            name=op.f("fk_in_force_bakery_id_bakery"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["plan_id"], ["plan.id"], name=op.f("fk_in_force_plan_id_plan"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("bakery_id", "production_date", name=op.f("pk_in_force")),
        sa.UniqueConstraint("plan_id", name=op.f("uq_in_force_plan_id")),
    )
    op.create_table(
        "occurrence",
        sa.Column("id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("bakery_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("plan_id", sqlmodel.sql.sqltypes.AutoString(), nullable=True),
        sa.Column("production_date", sa.Date(), nullable=False),
        sa.Column("kind", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("subject", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("state", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("due_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.Column("fired_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["bakery_id"],
            ["bakery.id"],
            name=op.f("fk_occurrence_bakery_id_bakery"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["plan_id"], ["plan.id"], name=op.f("fk_occurrence_plan_id_plan"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_occurrence")),
    )
    op.create_index(op.f("ix_occurrence_state_due_at"), "occurrence", ["state", "due_at"])
    op.create_index(op.f("ix_occurrence_plan_id"), "occurrence", ["plan_id"])
    with op.batch_alter_table("plan") as plan:
        plan.add_column(sa.Column("attempts", sa.Integer(), nullable=False, server_default="1"))
    with op.batch_alter_table("plan") as plan:
        plan.alter_column("attempts", existing_type=sa.Integer(), server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("plan") as plan:
        plan.drop_column("attempts")
    op.drop_table("occurrence")
    op.drop_table("in_force")
    op.drop_table("routine")
