"""A process that only writes plans, and is killed: forked, so that it begins at once; it tells of what it was told is written."""

from __future__ import annotations

import os
import random
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from itertools import count
from typing import Any, NoReturn

from sqlalchemy import event

from rules.done import VisitDone
from rules.next_bike import NextBike
from rules.question import NextBikeQuestion
from rules.test_sheet import FilledTestSheet
from service import story
from service.plans.keeper import PlanKeeper
from service.plans.recording import as_planned
from service.plans.saved import NewRider, SavedPlan
from service.serving import Serving
from service.store.creation import creation_of
from service.store.database import Database

STATEMENTS = 80
"""Up to this one a writer may kill itself: what it does in a round takes about as many."""


@dataclass(frozen=True, slots=True)
class Stage:
    """What writers write: copies of one plan, on one release."""

    address: str
    serving: Serving
    saved: SavedPlan


class Told:
    """What a writer was told is written, as it was told: `PLAN REVISION`, a line each."""

    def __init__(self, read: int) -> None:
        with os.fdopen(read, "rb") as lines:
            # A line that was cut off tells nothing.
            whole = [line for line in lines.read().splitlines(keepends=True) if line.endswith(b"\n")]
        self.revisions = [(plan, int(number)) for plan, number in (x.decode().split() for x in whole)]


@contextmanager
def writer(stage: Stage, number: int, seed: int) -> Iterator[tuple[int, int]]:
    """Fork a writer; give its process id, and where to read what it was told."""
    read, write = os.pipe()
    process = os.fork()
    if process == 0:
        os.close(read)
        _write_until_killed(stage, number, seed, write)
    os.close(write)
    try:
        yield process, read
    finally:
        os.waitpid(process, 0)


def _write_until_killed(stage: Stage, number: int, seed: int, tell: int) -> NoReturn:
    try:
        database = Database(stage.address)
        draw = random.Random(f"{seed} {number}")
        if number % 2:
            _kill_at(database, draw.randint(1, STATEMENTS))
        keeper = PlanKeeper(database=database, by="a writer")
        for turn in count():
            for plan, revision in _round(keeper, stage, f"{seed} {number} {turn}"):
                os.write(tell, f"{plan} {revision}\n".encode())
    finally:
        # It never comes to an end by itself; a fault is an end, too, and then nothing more is told.
        os._exit(1)


def _kill_at(database: Database, statement: int) -> None:
    """Die after some statement, or just before or after the end of its transaction."""
    numbers = count(1)

    def after(*_: Any) -> None:
        if next(numbers) == statement:
            os.kill(os.getpid(), signal.SIGKILL)

    event.listen(database.engine, "after_cursor_execute", after)
    event.listen(database.engine, "commit", after)


def _round(keeper: PlanKeeper, stage: Stage, word: str) -> Iterator[tuple[str, int]]:
    """Do with a new plan all that is done with plans, and tell of each once it is written."""
    plan = keeper.duplicate(stage.saved.id, creation_of("writer", word, "copy")).plan.id
    yield plan, 1
    yield plan, keeper.name_rider(plan, 1, NewRider(name=f"Rider {word}")).revision
    yield plan, keeper.visit_done(plan, 2, first_visit(stage.saved), stage.serving).revision
    sheet = FilledTestSheet(on=story.TODAY, by="Odd", rest_v=12.7)
    yield plan, keeper.tested(plan, 3, 1, sheet).revision
    right = replace(first_visit(stage.saved), by="Jorun")
    yield plan, keeper.correct(plan, 4, 1, right, stage.serving, "another hand").revision
    yield plan, keeper.archive(plan, 5, away=True).revision
    yield plan, keeper.archive(plan, 6, away=False).revision
    again = creation_of("writer", word, "move")
    moved = keeper.move(
        plan,
        7,
        story.NEXT_BIKE,
        stage.serving,
        story.TODAY,
        replace(again, key_digest=again.key_digest[::-1]),
    )
    yield moved.plan.id, 1  # type: ignore[union-attr]
    yield plan, 8


def first_visit(saved: SavedPlan) -> VisitDone:
    """Give the first visit of a plan, done as planned."""
    fitted, removed, others = as_planned(saved, 1)
    return VisitDone(
        visit=1,
        on=date(2026, 5, 4),
        fitter="shop",
        by="Odd",
        fitted=fitted,
        removed=removed,
        others_paid=others,
    )


def answer_at_once(serving: Serving, saved: SavedPlan) -> None:
    """Let the next bike be planned for once: planning is not what is under test, and takes longer than all else."""
    known = NextBike(wants=saved.question.wants, plan=saved.plan)

    def at_once(question: NextBikeQuestion) -> NextBike:
        del question
        return known

    serving.engine.next_bike = at_once  # type: ignore[method-assign]
