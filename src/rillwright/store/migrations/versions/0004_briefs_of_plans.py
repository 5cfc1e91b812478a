"""What tells plans apart in a list: what they lean to, how many heads, what they cost."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

COLUMNS = {"aim": sa.String(length=20), "heads": sa.Integer(), "cost": sa.Double(), "currency": sa.String(length=3)}


def upgrade() -> None:
    """Bring the store up to this step; what is kept of plans already is read from them."""
    for name, kind in COLUMNS.items():
        op.add_column("plans", sa.Column(name, kind, nullable=True))
    op.execute(
        "UPDATE plans SET aim = json_extract(document, '$.yard.heads.aim'), "
        "heads = json_array_length(document, '$.heads'), "
        "cost = json_extract(document, '$.cost.total'), currency = json_extract(document, '$.yard.currency') "
        "WHERE document IS NOT NULL"
    )


def downgrade() -> None:
    """Take the step back."""
    for name in COLUMNS:
        op.drop_column("plans", name)
