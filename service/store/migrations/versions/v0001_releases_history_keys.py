"""Releases, their history with holds, and keys."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store.moment import Moment

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "releases",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("archive", sa.LargeBinary, nullable=False, comment="Its files, as a ZIP archive."),
        sa.Column("archive_digest", sa.String(64), nullable=False),
        sa.Column("stored", sa.LargeBinary, nullable=False, comment="Its stored form, compressed."),
        sa.Column("stored_digest", sa.String(64), nullable=False),
        sa.Column("counts", sa.Text, nullable=False, comment="What it holds, as JSON."),
        sa.Column("kept_at", Moment, nullable=False),
        sa.Column("kept_by", sa.String(200), nullable=False),
        sa.Column(
            "cases", sa.Text, nullable=True, comment="Which engine revision its cases were asked of, as JSON."
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_releases")),
    )
    op.create_table(
        "history",
        sa.Column("number", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("release", sa.String(40), nullable=True),
        sa.Column("part", sa.String(80), nullable=True),
        sa.Column("first", sa.Date, nullable=True),
        sa.Column("last", sa.Date, nullable=True),
        sa.Column("lifts", sa.Integer, nullable=True),
        sa.Column("why", sa.Text, nullable=False),
        sa.Column("detail", sa.Text, nullable=False),
        sa.Column("by", sa.String(200), nullable=False),
        sa.Column("at", Moment, nullable=False),
        sa.CheckConstraint(
            "kind IN ('activated', 'rolled_back', 'refused', 'held', 'lifted')", name=op.f("ck_history_kind")
        ),
        sa.ForeignKeyConstraint(["release"], ["releases.id"], name=op.f("fk_history_release_releases")),
        sa.ForeignKeyConstraint(["lifts"], ["history.number"], name=op.f("fk_history_lifts_history")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_history")),
    )
    op.create_table(
        "keys",
        sa.Column("id", sa.String(20), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False, comment="SHA-256 of the secret, in hexadecimal."),
        sa.Column("added_at", Moment, nullable=False),
        sa.Column("revoked_at", Moment, nullable=True),
        sa.CheckConstraint("role IN ('sales', 'catalog')", name=op.f("ck_keys_role")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_keys")),
    )


def downgrade() -> None:
    """Drop the tables with all that they hold."""
    op.drop_table("keys")
    op.drop_table("history")
    op.drop_table("releases")
