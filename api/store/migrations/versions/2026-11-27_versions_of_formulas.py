"""versions of formulas."""

from collections.abc import Sequence

import sqlalchemy as sa
import sqlmodel.sql.sqltypes
from alembic import op

revision: str = "versions_of_formulas"
down_revision: str | None = "sent_once"
branch_labels: Sequence[str] | None = None
depends_on: Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "formula_version",
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("changed_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.Column("bakery_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("version", sa.Integer(), autoincrement=False, nullable=False),
        sa.CheckConstraint("version >= 1", name=op.f("ck_formula_version_version_counts_from_1")),
        sa.ForeignKeyConstraint(
            ["bakery_id"],
            ["bakery.id"],
            name=op.f("fk_formula_version_bakery_id_bakery"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("bakery_id", "id", "version", name=op.f("pk_formula_version")),
    )
    # What is stored now is the first version of each.
    op.execute(
        "INSERT INTO formula_version (bakery_id, id, version, document, changed_at)"
        " SELECT bakery_id, id, 1, document, changed_at FROM formula"
    )


def downgrade() -> None:
    op.drop_table("formula_version")
