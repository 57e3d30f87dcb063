"""Plans saved under one drawn release and looked over under the next, beside a reference solver that tries everything.

Run as `python -m tests.plans.drawn --plans 60 --releases 5 --seed 1`. Prints how many agree and how often
each word came up: `{"agree": [300, 300], "words": {...}}`. The word, what the cheapest way comes to, and what the very same visits
come to are compared.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

from rules.answer import Plan, Visit
from rules.build import Build
from rules.catalog.catalog import Catalog
from rules.done import FittedPart, PresetSet, TakenOff, VisitDone, question_from_there, wiring_of
from rules.engine import Engine
from rules.question import PathQuestion
from rules.release import Release
from service.plans.saved import Pinned, SavedPlan
from service.plans.standing import Standing, Standings
from service.serving import Serving
from tests.impact.mistakes import with_a_change
from tests.oracle.generate import path_instance
from tests.oracle.paths_brute import Ride, Search, TieError, tell
from tests.oracle.reading import Mate, World
from tests.oracle.wirings_brute import Wiring, present_wirings
from tests.plans.desk import AT

Told = tuple[str, int | None, int | None]
"""How a plan stands in a word, what the cheapest way comes to now, and what the very same visits come to."""


Mates = frozenset[frozenset[str]]
"""Plugs that are together, by the names that a plan gives them."""


def mates_of(wiring: Iterable[tuple[object, object]] | None) -> Mates:
    """Read how a plan says that a bike is plugged together."""
    return frozenset(frozenset((str(one), str(other))) for one, other in wiring or ())


class Followed(Search):
    """Goes one way alone: that of a plan, with its placements and its mates."""

    way: tuple[Visit, ...] = ()

    def _due(self) -> list[int]:
        return [number for number, visit in enumerate(self.way) if not visit.is_empty]

    def _may_become(self, ride: Ride, build: Build, number: int) -> bool:
        visit = self.way[number]
        return not visit.is_empty and visit.build == build and super()._may_become(ride, build, number)

    def sound_wirings(self, build: Build):
        planned = {mates_of(visit.wiring) for visit in self.way if visit.build == build}
        return [one for one in super().sound_wirings(build) if _named(one.mates) in planned]

    def _after(self, number: int, ride: Ride, build: Build, wiring: Wiring) -> Ride | None:
        after = super()._after(number, ride, build, wiring)
        made = {one for one, when in after.presets if when == number} if after else set()
        return after if made == {x.amplifier for x in self.way[number].presets} else None

    def _arrive(self, ride: Ride) -> None:
        if [number for number, _ in ride.bills] == self._due():
            super()._arrive(ride)


def followed(world: World, question: PathQuestion, way: tuple[Visit, ...], start: Mates) -> int | None:
    """Give what the very same visits come to, None if they cannot be done, by trying.

    Args:
        start: How the bike is plugged together where the way begins.
    """
    every = present_wirings(world)
    begun = [one.mates for one in every if _named(one.mates) == start]
    if (every or start) and not begun:
        return None
    # A bike that is not sound as it stands has no wiring, until the first visit.
    search = Followed(replace(world, now=begun[0]) if begun else world, question)
    search.way = way
    outcome = search.run().outcome
    return None if outcome is None else outcome.total


def _named(mates: frozenset[Mate]) -> Mates:
    return frozenset(frozenset(node.name for node in mate) for mate in mates)


def expected(
    catalog: Catalog, question: PathQuestion, way: tuple[Visit, ...], start: Mates, planned: int
) -> Told:
    """Say by trying everything how a plan stands, in the words of docs/definitions.md, 8."""
    world = World(catalog, question.bike, question.found)
    cheapest = tell(catalog, question).outcome
    # What somebody has seen of the bike can not be any more in a catalog in which a plug is another one.
    if cheapest is None or (question.found.wiring and not present_wirings(world)):
        return "no_path", None, None
    same = followed(world, question, way, start)
    if same is None:
        return "changes", cheapest.total, None
    sign = (cheapest.total > planned) - (cheapest.total < planned)
    return ("cheaper_now", "holds", "dearer_now")[sign + 1], cheapest.total, same


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """One plan under one release: what the service told, and what trying everything says."""

    name: str
    told: Told
    expected: Told


def look(plans: int, releases: int, seed: int) -> Iterator[Looked]:
    """Draw plans, and releases that each differ in something; of every second plan the first visit is done."""
    number = drawn = 0
    while drawn < plans:
        number += 1
        instance = path_instance(seed * 1_000_000 + number)
        plan = Engine(instance.catalog).path(instance.question)
        if isinstance(plan, Plan) and plan.proof.is_proven and any(not x.is_empty for x in plan.visits):
            drawn += 1
            saved = _saved(instance.catalog, instance.question, plan, is_begun=drawn % 2 == 0)
            for draw in range(releases):
                random = Random(f"{seed} {number} {draw}")
                later = with_a_change(instance.catalog, random)
                # A release seldom changes one thing alone.
                later = with_a_change(later, random) if draw % 2 else later
                try:
                    yield _looked(f"plan {number}, release {draw}", saved, later)
                except TieError:
                    continue


def _looked(name: str, saved: SavedPlan, later: Catalog) -> Looked:
    serving, today = Serving.of(Release.of(later)), saved.pinned.on
    told = Standings().of(saved, serving, today)
    if told.word == "nothing_left":
        return Looked(name=name, told=("nothing_left", None, None), expected=("nothing_left", None, None))
    over = max((x.visit for x in saved.done), default=0)
    question = question_from_there(saved.question, saved.done, today)
    start = saved.plan.visits[over - 1].wiring if over else saved.plan.start_wiring
    left = expected(later, question, saved.plan.visits[over:], mates_of(start), told.planned)
    return Looked(name=name, told=_told(told), expected=left)


def _told(standing: Standing) -> Told:
    same = standing.same if standing.word != "changes" else None
    return standing.word, standing.now, same


def _saved(catalog: Catalog, question: PathQuestion, plan: Plan, *, is_begun: bool) -> SavedPlan:
    today = question.stages[0].on
    done: tuple[VisitDone, ...] = ()
    first = next(number for number, visit in enumerate(plan.visits, 1) if not visit.is_empty)
    if is_begun and any(not visit.is_empty for visit in plan.visits[first:]):
        done = (_as_planned(plan, first, plan.visits[first - 1].on),)
        today = plan.visits[first - 1].on + timedelta(days=1)
    return SavedPlan(
        id="0" * 32,
        revision=1,
        question=question,
        plan=plan,
        pinned=Pinned(release=Serving.of(Release.of(catalog)).name, on=today),
        done=done,
        made_at=AT,
        changed_at=AT,
    )


def _as_planned(plan: Plan, number: int, on: date) -> VisitDone:
    visit = plan.visits[number - 1]
    paid = {(x.part, x.place): x.paid for x in plan.ledger if x.visit == number}
    fitted = tuple(FittedPart(placement=x, paid=paid.get((x.part, x.place))) for x in visit.adds)
    presets = tuple(
        PresetSet(amplifier=x.amplifier, serial="1", made_on=on, made_by="Odd") for x in visit.presets
    )
    removed = tuple(TakenOff(placement=x) for x in visit.removes)
    others = visit.spent - sum(x.paid or 0 for x in fitted)
    return VisitDone(
        visit=number,
        on=on,
        fitter=visit.fitter,
        by="Odd",
        fitted=fitted,
        removed=removed,
        presets=presets,
        others_paid=others,
        wiring=wiring_of(visit),
    )


def main() -> None:
    """Read the arguments, look plans over, and print how many agree."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--plans", type=int, default=60)
    arguments.add_argument("--releases", type=int, default=5)
    arguments.add_argument("--seed", type=int, default=1)
    asked = arguments.parse_args()
    looked = list(look(asked.plans, asked.releases, asked.seed))
    for one in looked:
        if one.told != one.expected:
            print(f"{one.name}: told {one.told}, expected {one.expected}", file=sys.stderr)
    agree = sum(x.told == x.expected for x in looked)
    words = dict(sorted(Counter(x.expected[0] for x in looked).items()))
    print(json.dumps({"agree": [agree, len(looked)], "words": words}))
    sys.exit(0 if agree == len(looked) else 1)


if __name__ == "__main__":
    main()
