"""What tells plans apart in a list: what they lean to, how many heads, what they cost."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Bring the store up to this step; what is kept of plans already is read from them."""
    op.add_column("plans", sa.Column("aim", sa.String(length=20), nullable=True))
    op.add_column("plans", sa.Column("heads", sa.Integer(), nullable=True))
    op.add_column("plans", sa.Column("cost", sa.Double(), nullable=True))
    op.add_column("plans", sa.Column("currency", sa.String(length=3), nullable=True))
    op.execute(
        "UPDATE plans SET aim = json_extract(document, '$.yard.heads.aim'), "
        "heads = json_array_length(document, '$.heads'), "
        "cost = json_extract(document, '$.cost.total'), currency = json_extract(document, '$.yard.currency') "
        "WHERE document IS NOT NULL"
    )


def downgrade() -> None:
    """Take the step back."""
    for name in ("aim", "heads", "cost", "currency"):
        op.drop_column("plans", name)
