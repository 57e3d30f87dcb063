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
