"""What looks for lost and half plans after a kill finds them, so that finding nothing means something."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import Connection, delete, insert, select, update

from service.plans.keeper import PlanKeeper
from service.plans.saved import NewRider
from service.serving import Serving
from service.store.database import Database
from service.store.migrating import migrate
from service.store.schema import plan_creations, plan_revisions, plans, riders
from tests.faults.plans import Found, look_over
from tests.plans.desk import AT, key, save

Spoil = Callable[[Connection], object]


@pytest.fixture
def kept(tmp_path: Path, serving: Serving) -> PlanKeeper:
    database = Database(f"sqlite:///{tmp_path}/loomway.db")
    migrate(database)
    keeper = PlanKeeper(database=database, by="desk", now=lambda: AT)
    first = save(keeper, serving)
    copy = keeper.duplicate(first.id, key("copy")).plan
    keeper.name_rider(copy.id, 1, NewRider(name="Ingunn"))
    keeper.archive(copy.id, 2, away=True)
    # The story's plan was named when it was made, which writers under test never do.
    keeper.riders.erase(first.rider.id if first.rider else "")
    return keeper


def looked(keeper: PlanKeeper, told: list[tuple[str, int]] | None = None) -> tuple[int, int]:
    found = Found()
    look_over(keeper, told or [], found)
    return found.lost, found.half


def test_whole_plans_are_whole(kept: PlanKeeper) -> None:
    told = [(x.id, x.revision) for x in kept.listed(10)]
    assert looked(kept, told) == (0, 0)


def test_what_was_told_and_is_not_there_is_lost(kept: PlanKeeper) -> None:
    assert looked(kept, [("0" * 32, 1)]) == (1, 0)


@pytest.mark.parametrize(
    "spoil",
    [
        pytest.param(
            lambda x: x.execute(delete(plan_revisions).where(plan_revisions.c.number == 2)), id="a gap"
        ),
        pytest.param(
            lambda x: x.execute(update(plans).where(plans.c.revision == 3).values(revision=2)), id="behind"
        ),
        pytest.param(
            lambda x: x.execute(update(plans).where(plans.c.revision == 3).values(archived_at=None)),
            id="not put away",
        ),
        pytest.param(
            lambda x: x.execute(update(plans).where(plans.c.revision == 3).values(rider=None)), id="no rider"
        ),
        pytest.param(lambda x: x.execute(delete(plan_creations)), id="nobody made it"),
        pytest.param(lambda x: x.execute(update(plan_revisions).values(content="{")), id="cut off"),
        pytest.param(
            lambda x: x.execute(
                update(plan_revisions).where(plan_revisions.c.number == 3).values(kind="moved")
            ),
            id="moved nowhere",
        ),
    ],
)
def test_what_is_half_is_found(kept: PlanKeeper, spoil: Spoil) -> None:
    with kept.database.writing() as connection:
        spoil(connection)
    lost, half = looked(kept)
    assert (lost, half > 0) == (0, True)


def test_a_plan_made_twice_with_one_key_is_found(kept: PlanKeeper) -> None:
    with kept.database.writing() as connection:
        row = connection.execute(select(plan_creations)).mappings().first()
        assert row is not None
        connection.execute(insert(plan_creations).values({**row, "key_digest": "0" * 64}))
        assert connection.execute(select(riders)).all()
    assert looked(kept)[1] == 1
