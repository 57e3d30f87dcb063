"""The tables. A change here needs a migration; a test compares the two."""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    Date,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)

from service.store.moment import Moment

NAMES = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
"""Every constraint has a name, so that a later migration can drop it on any database."""

metadata = MetaData(naming_convention=NAMES)

releases = Table(
    "releases",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("archive", LargeBinary, nullable=False, comment="Its files, as a ZIP archive."),
    Column("archive_digest", String(64), nullable=False),
    Column("stored", LargeBinary, nullable=False, comment="Its stored form, compressed."),
    Column("stored_digest", String(64), nullable=False),
    Column("counts", Text, nullable=False, comment="What it holds, as JSON."),
    Column("kept_at", Moment, nullable=False),
    Column("kept_by", String(200), nullable=False),
    Column("cases", Text, nullable=True, comment="Which engine revision its cases were asked of, as JSON."),
)
"""Every release that passed its checks. A row never changes but for what came of its cases."""

history = Table(
    "history",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(20), nullable=False),
    Column("release", String(40), ForeignKey("releases.id"), nullable=True),
    Column("part", String(80), nullable=True),
    Column("first", Date, nullable=True),
    Column("last", Date, nullable=True),
    Column("lifts", Integer, ForeignKey("history.number"), nullable=True),
    Column("why", Text, nullable=False),
    Column("detail", Text, nullable=False),
    Column("by", String(200), nullable=False),
    Column("at", Moment, nullable=False),
    CheckConstraint("kind IN ('activated', 'rolled_back', 'refused', 'held', 'lifted')", name="kind"),
)
"""What happened, numbered without a gap, and never changed. What is served follows from it alone: the release
of the latest `activated` or `rolled_back`, with each `held` that no `lifted` names. So one new row is a whole swap."""

keys = Table(
    "keys",
    metadata,
    Column("id", String(20), primary_key=True),
    Column("name", String(200), nullable=False),
    Column("role", String(20), nullable=False),
    Column("digest", String(64), nullable=False, comment="SHA-256 of the secret, in hexadecimal."),
    Column("added_at", Moment, nullable=False),
    Column("revoked_at", Moment, nullable=True),
    CheckConstraint("role IN ('sales', 'catalog')", name="role"),
)

riders = Table(
    "riders",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("name", String(200), nullable=False),
    Column("contact", String(500), nullable=False),
    Column("added_at", Moment, nullable=False),
)
"""All personal data, and nowhere else: deleting a row erases a rider, and leaves the plans without a name."""

plans = Table(
    "plans",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("revision", Integer, nullable=False),
    Column("rider", String(32), ForeignKey("riders.id", ondelete="SET NULL"), nullable=True, index=True),
    Column("bike", String(80), nullable=False),
    Column(
        "release", String(120), nullable=False, comment="Name of the release that the plan was made under."
    ),
    Column("state", String(20), nullable=False),
    Column("archived_at", Moment, nullable=True),
    Column("made_at", Moment, nullable=False),
    Column("changed_at", Moment, nullable=False),
    CheckConstraint("state IN ('planned', 'under_way', 'finished')", name="state"),
)
"""The newest state of every saved plan, for lists; its content is that of the revision named here."""

plan_revisions = Table(
    "plan_revisions",
    metadata,
    Column("plan", String(32), ForeignKey("plans.id"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(20), nullable=False),
    Column("content", Text, nullable=False, comment="The whole plan after the change, as JSON."),
    Column("by", String(200), nullable=False),
    Column("at", Moment, nullable=False),
    Column("why", Text, nullable=False),
)
"""Everything that ever happened to a plan, numbered from 1 without a gap; a row is never changed."""

plan_creations = Table(
    "plan_creations",
    metadata,
    Column("key_digest", String(64), primary_key=True),
    Column("asked_digest", String(64), nullable=False),
    Column("plan", String(32), ForeignKey("plans.id"), nullable=False),
    Column("at", Moment, nullable=False),
)
"""Which key of a caller made which plan: asked again with the same key, it is given and not made anew."""

plan_shares = Table(
    "plan_shares",
    metadata,
    Column("id", String(32), primary_key=True),
    Column("plan", String(32), ForeignKey("plans.id"), nullable=False, index=True),
    Column("digest", String(64), nullable=False, unique=True, comment="SHA-256 of the link's secret."),
    Column("by", String(200), nullable=False),
    Column("made_at", Moment, nullable=False),
    Column("ends_at", Moment, nullable=False),
    Column("withdrawn_at", Moment, nullable=True),
)
"""Links with which a rider reads a plan, until they end or are withdrawn."""
