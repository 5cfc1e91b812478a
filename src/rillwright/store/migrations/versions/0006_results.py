"""Conclusions from the field log and changes of a job, as they were worked out last."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    """Bring the store up to this step."""
    op.create_table(
        "results",
        sa.Column("plan", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("terms", sa.String(), nullable=False),
        sa.Column("early", sa.Boolean(), nullable=False),
        sa.Column("document", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["plan"], ["plans.id"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("plan", "kind"),
    )


def downgrade() -> None:
    """Take the step back."""
    op.drop_table("results")
