"""Saved plans with their history, riders, and links to share."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from service.store.moment import Moment

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables."""
    _make_riders()
    _make_plans()
    _make_creations()
    _make_shares()


def _make_riders() -> None:
    op.create_table(
        "riders",
        sa.Column("id", sa.String(32), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("contact", sa.String(500), nullable=False),
        sa.Column("added_at", Moment, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_riders")),
    )


def _make_plans() -> None:
    op.create_table(
        "plans",
        sa.Column("id", sa.String(32), nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("rider", sa.String(32), nullable=True),
        sa.Column("bike", sa.String(80), nullable=False),
        sa.Column(
            "release",
            sa.String(120),
            nullable=False,
            comment="Name of the release that the plan was made under.",
        ),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("archived_at", Moment, nullable=True),
        sa.Column("made_at", Moment, nullable=False),
        sa.Column("changed_at", Moment, nullable=False),
        sa.CheckConstraint("state IN ('planned', 'under_way', 'finished')", name=op.f("ck_plans_state")),
        sa.ForeignKeyConstraint(
            ["rider"], ["riders.id"], name=op.f("fk_plans_rider_riders"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plans")),
    )
    op.create_index(op.f("ix_plans_rider"), "plans", ["rider"])
    op.create_table(
        "plan_revisions",
        sa.Column("plan", sa.String(32), nullable=False),
        sa.Column("number", sa.Integer, autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("content", sa.Text, nullable=False, comment="The whole plan after the change, as JSON."),
        sa.Column("by", sa.String(200), nullable=False),
        sa.Column("at", Moment, nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.ForeignKeyConstraint(["plan"], ["plans.id"], name=op.f("fk_plan_revisions_plan_plans")),
        sa.PrimaryKeyConstraint("plan", "number", name=op.f("pk_plan_revisions")),
    )


def _make_creations() -> None:
    op.create_table(
        "plan_creations",
        sa.Column("key_digest", sa.String(64), nullable=False),
        sa.Column("asked_digest", sa.String(64), nullable=False),
        sa.Column("plan", sa.String(32), nullable=False),
        sa.Column("at", Moment, nullable=False),
        sa.ForeignKeyConstraint(["plan"], ["plans.id"], name=op.f("fk_plan_creations_plan_plans")),
        sa.PrimaryKeyConstraint("key_digest", name=op.f("pk_plan_creations")),
    )


def _make_shares() -> None:
    op.create_table(
        "plan_shares",
        sa.Column("id", sa.String(32), nullable=False),
        sa.Column("plan", sa.String(32), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False, comment="SHA-256 of the link's secret."),
        sa.Column("by", sa.String(200), nullable=False),
        sa.Column("made_at", Moment, nullable=False),
        sa.Column("ends_at", Moment, nullable=False),
        sa.Column("withdrawn_at", Moment, nullable=True),
        sa.ForeignKeyConstraint(["plan"], ["plans.id"], name=op.f("fk_plan_shares_plan_plans")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_shares")),
        sa.UniqueConstraint("digest", name=op.f("uq_plan_shares_digest")),
    )
    op.create_index(op.f("ix_plan_shares_plan"), "plan_shares", ["plan"])


def downgrade() -> None:
    """Drop the tables with all that they hold."""
    op.drop_index(op.f("ix_plan_shares_plan"), "plan_shares")
    op.drop_table("plan_shares")
    op.drop_table("plan_creations")
    op.drop_table("plan_revisions")
    op.drop_index(op.f("ix_plans_rider"), "plans")
    op.drop_table("plans")
    op.drop_table("riders")
