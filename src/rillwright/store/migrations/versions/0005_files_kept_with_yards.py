"""Files kept with a yard: its weather, the watering calendar that was last given out."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Bring the store up to this step."""
    op.create_table(
        "kept_files",
        sa.Column("yard", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.Column("kept", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["yard"], ["yards.id"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("yard", "kind"),
    )


def downgrade() -> None:
    """Take the step back."""
    op.drop_table("kept_files")
