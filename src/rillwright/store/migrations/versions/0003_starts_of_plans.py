"""What a plan goes on from."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Bring the store up to this step."""
    op.add_column("plans", sa.Column("start", sa.String(length=64), nullable=False, server_default=""))


def downgrade() -> None:
    """Take the step back."""
    op.drop_column("plans", "start")
