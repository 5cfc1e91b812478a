"""Every word on a step kept in order of arrival; devices that were let in."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Bring the store up to this step."""
    op.create_table(
        "devices",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("let_in", sa.DateTime(), nullable=False),
        sa.Column("seen", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("digest"),
    )
    op.rename_table("ticks", "ticks_before")
    op.create_table(
        "ticks",
        sa.Column("seq", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("yard", sa.Uuid(), nullable=False),
        sa.Column("step", sa.String(length=120), nullable=False),
        sa.Column("done", sa.Boolean(), nullable=False),
        sa.Column("made", sa.DateTime(), nullable=False),
        sa.Column("received", sa.DateTime(), nullable=False),
        sa.Column("over", sa.Uuid(), nullable=True),
        sa.ForeignKeyConstraint(["yard"], ["yards.id"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("seq"),
        sa.UniqueConstraint("id"),
        sqlite_autoincrement=True,
    )
    op.execute(
        "INSERT INTO ticks (id, yard, step, done, made, received) "
        "SELECT lower(hex(randomblob(16))), yard, step, done, made, made FROM ticks_before ORDER BY made"
    )
    op.drop_table("ticks_before")
    with op.batch_alter_table("ticks", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_ticks_yard"), ["yard"], unique=False)


def downgrade() -> None:
    """Take the step back: of each step the word that came last stays."""
    op.rename_table("ticks", "ticks_after")
    op.create_table(
        "ticks",
        sa.Column("yard", sa.Uuid(), nullable=False),
        sa.Column("step", sa.String(length=120), nullable=False),
        sa.Column("done", sa.Boolean(), nullable=False),
        sa.Column("made", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["yard"], ["yards.id"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("yard", "step"),
    )
    op.execute(
        "INSERT INTO ticks (yard, step, done, made) SELECT yard, step, done, made FROM ticks_after "
        "WHERE seq IN (SELECT max(seq) FROM ticks_after GROUP BY yard, step)"
    )
    op.drop_table("ticks_after")
    op.drop_table("devices")
