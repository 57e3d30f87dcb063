"""Kills processes that write plans, and looks for what was lost and what is half.

Run as `python -m tests.faults.plans`: 480 kills of a process that only writes plans, and 20 of the service. Prints
`{"lost": 0, "half": 0}`: changes that somebody was told are written and that are not there; and plans that are not whole.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import signal
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, get_args

from sqlalchemy import select

from rules.load import load_catalog
from rules.release import Release
from service import story
from service.plans.keeper import Kept, PlanKeeper
from service.plans.saved import ChangeWord, SavedPlan
from service.serving import Serving
from service.settings import DEMO_CATALOG
from service.store.creation import creation_of
from service.store.database import Database
from service.store.keys import KeyStore
from service.store.migrating import migrate
from service.store.schema import plan_creations, plan_revisions, plans
from tests.faults.shop import Service, serving, sqlite_shop
from tests.faults.writing import Stage, Told, answer_at_once, writer
from tests.releasing.shelves import BIKE, PART, priced

LONGEST_S = 0.6
"""A writer that does not kill itself is killed after this at most; a round of its work takes about as long."""

WORDS = set(get_args(ChangeWord))


@dataclass(slots=True)
class Found:
    """What was found: changes that are lost, plans that are half, kills that were made, changes that were told."""

    lost: int = 0
    half: int = 0
    kills: int = 0
    told: int = 0
    seen: set[str] = field(default_factory=set)
    wrong: list[str] = field(default_factory=list)

    def lose(self, what: str) -> None:
        """Count something that is lost."""
        self.lost += 1
        self.wrong.append(f"lost: {what}")

    def halve(self, what: str) -> None:
        """Count something that is half."""
        self.half += 1
        self.wrong.append(f"half: {what}")


def look_over(keeper: PlanKeeper, told: list[tuple[str, int]], found: Found) -> None:
    """Look for everything that was told, and over every plan that is new."""
    found.told += len(told)
    with keeper.database.reading() as connection:
        there = {
            (row.plan, row.number)
            for row in connection.execute(select(plan_revisions.c.plan, plan_revisions.c.number))
        }
        revisions = {row.id: row.revision for row in connection.execute(select(plans.c.id, plans.c.revision))}
        made = list(connection.execute(select(plan_creations.c.plan)).scalars())
    for change in told:
        if change not in there:
            found.lose(f"{change}")
    for plan, _ in there:
        if plan not in revisions:
            found.halve(f"{plan}: a revision of no plan")
    if sorted(made) != sorted(revisions):
        found.halve("a plan that nobody made, or one made twice")
    for plan in sorted(set(revisions) - found.seen):
        found.seen.add(plan)
        for wrong in _halves(keeper, plan):
            found.halve(f"{plan}: {wrong}")


def _halves(keeper: PlanKeeper, plan: str) -> Iterator[str]:
    """Say what of a plan is not whole."""
    try:
        history, now = keeper.history(plan), keeper.get(plan)
    except (ValueError, LookupError, TypeError) as error:
        yield f"it cannot be read: {error!r}"
        return
    numbers = [x.number for x in history]
    if numbers != list(range(now.revision, 0, -1)):
        yield f"revisions {numbers}"
    if not {x.kind for x in history} <= WORDS:
        yield "a change of no kind"
    was_named = now.moved is not None or any(x.kind == "rider" for x in history)
    if was_named != (now.rider is not None):
        yield "a rider without a change, or a change without one"
    if (now.archived_at is not None) != (history[0].kind in ("archived", "moved")):
        yield "put away by halves"
    if len(now.done) != sum(x.kind == "visit_done" for x in history):
        yield "visits done without a change"
    if any(x.kind == "moved" for x in history) != bool(_moved_from(keeper, plan)):
        yield "moved by halves"


def _moved_from(keeper: PlanKeeper, plan: str) -> list[SavedPlan]:
    """Give the plans that were moved from one: of this plan's own making, so few."""
    with keeper.database.reading() as connection:
        query = select(plan_revisions.c.plan).where(
            plan_revisions.c.number == 1, plan_revisions.c.content.contains(f'"plan":"{plan}"')
        )
        return [keeper.get(x) for x in connection.execute(query).scalars()]


# --- a process that only writes plans -----------------------------------------------------------------------------------


@contextmanager
def stages() -> Iterator[Stage]:
    """Save one plan of the demo in a database of its own."""
    with tempfile.TemporaryDirectory(prefix="loomway-plans-") as directory:
        address = f"sqlite:///{Path(directory)}/loomway.db"
        database = Database(address)
        migrate(database)
        demo = Serving.of(Release.of(load_catalog(DEMO_CATALOG)))
        keeper = PlanKeeper(database=database, by="a writer")
        kept = keeper.make(story.PATH, demo, story.TODAY, creation_of("writer", "first", "make"))
        assert isinstance(kept, Kept)
        answer_at_once(demo, kept.plan)
        yield Stage(address, demo, kept.plan)
        database.close()


def kill_writers(kills: int, seed: int, found: Found) -> None:
    """Kill one writer after another: each second one at some statement, the others at some moment."""
    draw = random.Random(seed)
    with stages() as stage:
        keeper = PlanKeeper(database=Database(stage.address), by="who looks it over")
        for number in range(kills):
            with writer(stage, number, seed) as (process, read):
                if number % 2 == 0:
                    time.sleep(draw.uniform(0, LONGEST_S))
                    os.kill(process, signal.SIGKILL)
                told = Told(read)
            found.kills += 1
            look_over(keeper, told.revisions, found)
        keeper.database.close()


# --- the service --------------------------------------------------------------------------------------------------------


QUESTION = {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": [{"any_of": [PART]}]}


def kill_services(kills: int, seed: int, found: Found) -> None:
    """Kill the service while somebody saves plans; then ask again with the same keys, as a client does."""
    if not kills:
        return
    draw = random.Random(seed)
    with sqlite_shop() as shop:
        shop.serve(priced(5_000))
        key = KeyStore(shop.database).add("desk", "sales", datetime.now(UTC))[1]
        keeper = PlanKeeper(database=shop.database, by="who looks it over")
        for number in range(kills):
            told: list[tuple[str, int]] = []
            with serving(shop.address) as service:
                client = threading.Thread(target=save_plans, args=[service, key, number, told])
                client.start()
                time.sleep(draw.uniform(0.05, 1.5))
                service.process.kill()
                client.join()
            found.kills += 1
            look_over(keeper, told, found)


def save_plans(service: Service, key: str, number: int, told: list[tuple[str, int]]) -> None:
    """Save plan after plan, put each away and take it up again, until nobody answers."""
    headers = {"Authorization": f"Bearer {key}"}
    with suppress(OSError, ValueError, LookupError, ConnectionError, AssertionError, _Gone):
        # The key of the one before is asked again: it was told, or it was not.
        for turn in range(10_000):
            word = {"Idempotency-Key": f"{number} {turn // 2}"}
            plan = _done(service.ask("POST", "/v1/plans", QUESTION, {**headers, **word}), told)
            if turn % 2 == 0:
                for revision, away in ((1, True), (2, False)):
                    tag = {"If-Match": f'"{revision}"'}
                    body = {"away": away}
                    _done(service.ask("POST", f"/v1/plans/{plan}/archive", body, {**headers, **tag}), told)


class _Gone(Exception):  # noqa: N818 -- it names what happened
    """The service answers otherwise than it should: it is going down."""


def _done(answer: tuple[int, dict[str, str], Any], told: list[tuple[str, int]]) -> str:
    status, _, body = answer
    if status not in (200, 201):
        raise _Gone
    saved = body["saved"]
    told.append((str(saved["id"]), int(saved["revision"])))
    return str(saved["id"])


def main() -> None:
    """Read the arguments, kill, and print what was found."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument(
        "--writers", type=int, default=480, help="kills of a process that only writes plans"
    )
    arguments.add_argument("--services", type=int, default=20, help="kills of the service")
    arguments.add_argument("--seed", type=int, default=1)
    asked = arguments.parse_args()
    found = Found()
    kill_writers(asked.writers, asked.seed, found)
    kill_services(asked.services, asked.seed, found)
    for wrong in found.wrong[:20]:
        print(wrong, file=sys.stderr)
    print(f"{found.kills} kills, {found.told} changes told, {len(found.seen)} plans", file=sys.stderr)
    print(json.dumps({"lost": found.lost, "half": found.half}))
    enough = found.kills == asked.writers + asked.services and found.told >= found.kills
    sys.exit(0 if enough and not (found.lost or found.half) else 1)


if __name__ == "__main__":
    main()
