"""Cases, their events, and triggers that keep both append-only."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_KEPT = ("cases", "events")


def upgrade() -> None:
    """Make the tables."""
    op.create_table("cases", sa.Column("id", sa.Integer, primary_key=True), sa.Column("at", sa.Text, nullable=False))
    op.create_table(
        "events",
        sa.Column("case_id", sa.Integer, sa.ForeignKey("cases.id"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("previous", sa.Text, nullable=False),
        sa.Column("seal", sa.Text, nullable=False, unique=True),
    )
    op.create_table(
        "current_case",
        sa.Column("only", sa.Integer, sa.CheckConstraint("only = 1", name="one_row"), primary_key=True),
        sa.Column("case_id", sa.Integer, sa.ForeignKey("cases.id"), nullable=False),
    )
    for table in _KEPT:
        for action in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{action.lower()} BEFORE {action} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} are only ever added to'); END"
            )
