"""Rows of saved plans: each change is one transaction, and nobody overwrites what they have not seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, delete, func, insert, or_, select, update
from sqlalchemy.exc import IntegrityError

from service.store.creation import Creation
from service.store.database import Database
from service.store.schema import plan_creations, plan_revisions, plans, riders


@dataclass(frozen=True, slots=True, kw_only=True)
class RiderRow:
    """Personal data of a rider."""

    id: str
    name: str
    contact: str
    added_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What one change writes: the plan after it, and what happened."""

    plan: str
    bike: str
    release: str
    state: str
    archived_at: datetime | None
    content: str
    kind: str
    by: str
    at: datetime
    why: str


class StaleRevision(Exception):  # noqa: N818 -- it names what happened, like every exception here
    """A plan is at another revision than the writer believes, or is not there."""


class CreationReused(Exception):  # noqa: N818 -- likewise
    """A caller's key was sent with another request before."""


class NoSuchRider(Exception):  # noqa: N818 -- likewise
    """A plan is to be of a rider who is not there."""


class PlanStore:
    """The plans of a database."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def add(
        self,
        written: Written,
        creation: Creation,
        *,
        rider: str | RiderRow | None = None,
        instead: tuple[int, Written] | None = None,
    ) -> str:
        """Put a new plan in, whole or not at all.

        Args:
            rider: Whose it is: a new rider, or the id of one who is there.
            instead: Another plan, with the revision that it must be at, that changes in the same breath.

        Returns: The id of the plan; of the one that the same key made before, if it did.

        Raises:
            CreationReused, NoSuchRider, StaleRevision: Nothing was written.
        """
        try:
            with self.database.writing() as connection:
                before = _created(connection, creation)
                if before is not None:
                    return before
                _add(connection, written, creation, rider)
                if instead is not None:
                    _change(connection, *instead)
        except IntegrityError as error:
            with self.database.reading() as connection:
                before = _created(connection, creation)
            # Somebody sent the same key at this moment; or there is no such rider.
            if before is None:
                raise NoSuchRider from error
            return before
        return written.plan

    def created(self, creation: Creation) -> str | None:
        """Give the plan that a caller's key made before.

        Raises:
            CreationReused: It was sent with another request.
        """
        with self.database.reading() as connection:
            return _created(connection, creation)

    def change(self, revision: int, written: Written, rider: RiderRow | None = None) -> int:
        """Put the next revision of a plan in, whole or not at all.

        Args:
            revision: That the writer has seen.
            rider: What is known of the rider from now on.

        Returns: The new revision.

        Raises:
            StaleRevision: Somebody changed the plan since. Nothing was written.
        """
        try:
            with self.database.writing() as connection:
                _change(connection, revision, written)
                if rider is not None:
                    _put_rider(connection, written.plan, rider)
        except IntegrityError as error:
            raise StaleRevision from error
        return revision + 1

    def find(self, plan: str) -> Row[Any] | None:
        """Give a plan with its content and its rider, None if there is none."""
        query = _listed(plan_revisions.c.content).join(plan_revisions, _is_newest()).where(plans.c.id == plan)
        with self.database.reading() as connection:
            return connection.execute(query).one_or_none()

    def revisions(self, plan: str, limit: int | None = None, before: int | None = None) -> Sequence[Row[Any]]:
        """List the revisions of a plan, the newest first, from before the one of this number."""
        query = select(plan_revisions).where(plan_revisions.c.plan == plan)
        if before is not None:
            query = query.where(plan_revisions.c.number < before)
        with self.database.reading() as connection:
            return connection.execute(query.order_by(plan_revisions.c.number.desc()).limit(limit)).all()

    def newest(
        self,
        limit: int,
        *,
        after: str | None = None,
        rider: str | None = None,
        bike: str | None = None,
        text: str | None = None,
        archived: bool | None = None,
    ) -> Sequence[Row[Any]]:
        """List plans, the last that was changed first.

        Args:
            after: Go on after this one.
            text: A piece of the rider's name or contact, in any case of letters.
        """
        query = _listed().order_by(plans.c.changed_at.desc(), plans.c.id).limit(limit)
        if rider is not None:
            query = query.where(plans.c.rider == rider)
        if bike is not None:
            query = query.where(plans.c.bike == bike)
        if archived is not None:
            query = query.where(
                plans.c.archived_at.is_not(None) if archived else plans.c.archived_at.is_(None)
            )
        if text is not None:
            query = query.where(or_(_holds(riders.c.name, text), _holds(riders.c.contact, text)))
        with self.database.reading() as connection:
            return connection.execute(_later(connection, query, after)).all()

    def rider(self, rider: str) -> RiderRow | None:
        """Look a rider up."""
        with self.database.reading() as connection:
            row = connection.execute(select(riders).where(riders.c.id == rider)).one_or_none()
        return None if row is None else RiderRow(**row._mapping)  # noqa: SLF001 -- SQLAlchemy's own name

    def erase(self, rider: str) -> bool:
        """Forget a rider: one statement. Plans stay, and are nobody's.

        Returns: False if there is none.
        """
        with self.database.writing() as connection:
            return connection.execute(delete(riders).where(riders.c.id == rider)).rowcount == 1


def _created(connection: Connection, creation: Creation) -> str | None:
    query = select(plan_creations).where(plan_creations.c.key_digest == creation.key_digest)
    row = connection.execute(query).one_or_none()
    if row is None:
        return None
    if row.asked_digest != creation.asked_digest:
        raise CreationReused
    return str(row.plan)


def _add(connection: Connection, written: Written, creation: Creation, rider: str | RiderRow | None) -> None:
    if isinstance(rider, RiderRow):
        connection.execute(insert(riders).values(**_rider_columns(rider)))
    row = {
        "id": written.plan,
        "revision": 1,
        "rider": rider.id if isinstance(rider, RiderRow) else rider,
        "made_at": written.at,
        **_columns(written),
    }
    connection.execute(insert(plans).values(row))
    _add_revision(connection, 1, written)
    made = {"key_digest": creation.key_digest, "asked_digest": creation.asked_digest}
    connection.execute(insert(plan_creations).values(plan=written.plan, at=written.at, **made))


def _change(connection: Connection, revision: int, written: Written) -> None:
    seen = (plans.c.id == written.plan, plans.c.revision == revision)
    changed = connection.execute(
        update(plans).where(*seen).values(revision=revision + 1, **_columns(written))
    )
    if changed.rowcount != 1:
        raise StaleRevision
    _add_revision(connection, revision + 1, written)


def _add_revision(connection: Connection, number: int, written: Written) -> None:
    connection.execute(
        insert(plan_revisions).values(
            plan=written.plan,
            number=number,
            kind=written.kind,
            content=written.content,
            by=written.by,
            at=written.at,
            why=written.why,
        )
    )


def _columns(written: Written) -> dict[str, Any]:
    return {
        "bike": written.bike,
        "release": written.release,
        "state": written.state,
        "archived_at": written.archived_at,
        "changed_at": written.at,
    }


def _put_rider(connection: Connection, plan: str, rider: RiderRow) -> None:
    told = {"name": rider.name, "contact": rider.contact}
    if connection.execute(update(riders).where(riders.c.id == rider.id).values(told)).rowcount == 0:
        connection.execute(insert(riders).values(**_rider_columns(rider)))
        connection.execute(update(plans).where(plans.c.id == plan).values(rider=rider.id))


def _rider_columns(rider: RiderRow) -> dict[str, Any]:
    return {"id": rider.id, "name": rider.name, "contact": rider.contact, "added_at": rider.added_at}


def _listed(*more: Any) -> Select[Any]:  # noqa: ANN401 -- columns
    told = (riders.c.name.label("rider_name"), riders.c.contact, riders.c.added_at.label("rider_added_at"))
    return select(plans, *told, *more).select_from(plans).outerjoin(riders, plans.c.rider == riders.c.id)


def _is_newest() -> Any:  # noqa: ANN401 -- a condition
    return (plan_revisions.c.plan == plans.c.id) & (plan_revisions.c.number == plans.c.revision)


def _holds(column: Any, text: str) -> Any:  # noqa: ANN401 -- a column, a condition
    # Databases lower only what their locale knows, SQLite plain letters alone; a name begins with a capital, or is all of one kind.
    written = dict.fromkeys((text, text.lower(), text.upper(), text.title()))
    plain = func.lower(column).contains(text.lower(), autoescape=True)
    return or_(plain, *(column.contains(word, autoescape=True) for word in written))


def _later(connection: Connection, query: Select[Any], after: str | None) -> Select[Any]:
    if after is None:
        return query
    at = connection.execute(select(plans.c.changed_at).where(plans.c.id == after)).scalar_one_or_none()
    if at is None:
        return query.where(plans.c.id.is_(None))
    same = (plans.c.changed_at == at) & (plans.c.id > after)
    return query.where((plans.c.changed_at < at) | same)
