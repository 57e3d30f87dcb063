"""A plan saved under one release, asked about under the next, tells exactly what planning anew finds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from rules.answer import Plan
from rules.done import question_from_there
from rules.holds import HeldPart
from rules.release import Release
from service import story
from service.plans.keeper import PlanKeeper
from service.plans.saved import SavedPlan
from service.plans.standing import Standing, Standings
from service.serving import Serving
from service.store.database import Database
from service.store.migrating import migrate
from tests.plans.desk import AT, TODAY, demo, done_as_planned, save
from tests.plans.drawn import look


@pytest.fixture
def kept(tmp_path: Path) -> PlanKeeper:
    """On one kind of database: what is told of a plan does not depend on it."""
    database = Database(f"sqlite:///{tmp_path}/loomway.db")
    migrate(database)
    return PlanKeeper(database=database, by="desk", now=lambda: AT)


def priced(**prices: int) -> Serving:
    """The demo with other prices."""
    catalog = demo().catalog
    lists = tuple(x.model_copy(update={"prices": {**x.prices, **prices}}) for x in catalog.price_lists)
    return Serving.of(Release.of(replace(catalog, price_lists=lists)))


def without(part: str) -> Serving:
    """The demo, in which a part is not sold any more."""
    return Serving.of(demo().release, (HeldPart(part=part, first=date(2026, 1, 1), last=None, says="gone"),))


def standing(saved: SavedPlan, serving: Serving, today: date = TODAY) -> Standing:
    return Standings().of(saved, serving, today)


def again(saved: SavedPlan, serving: Serving, today: date = TODAY) -> int | None:
    """What a fresh engine plans for what is left."""
    fresh = Serving.of(serving.release)
    answer = fresh.engine.path(question_from_there(saved.question, saved.done_here, today))
    return answer.total if isinstance(answer, Plan) else None


def test_under_its_own_release_it_holds(kept: PlanKeeper, serving: Serving) -> None:
    saved = save(kept, serving)
    told = standing(saved, serving)
    assert (told.word, told.now, told.by) == ("holds", saved.plan.total, 0)


@pytest.mark.parametrize(
    ("prices", "word"),
    [
        ({"tern-65": 12_600}, "cheaper_now"),
        ({"fulmar-4": 52_000}, "dearer_now"),
        ({"tern-25": 1}, "holds"),
    ],
)
def test_other_prices_are_told_as_planning_anew_finds_them(
    kept: PlanKeeper, serving: Serving, prices: dict[str, int], word: str
) -> None:
    saved, later = save(kept, serving), priced(**prices)
    told = standing(saved, later)
    assert (told.word, told.now) == (word, again(saved, later))
    assert told.planned == saved.plan.total


def test_a_part_that_is_not_sold_any_more_changes_its_visit(kept: PlanKeeper, serving: Serving) -> None:
    saved, later = save(kept, serving), without("marram-sk16-4")
    told = standing(saved, later)
    assert (told.word, told.visit, told.now) == ("changes", 2, again(saved, later))
    assert [(x.clause, x.about) for x in told.obstacles] == [("hold", "marram-sk16-4@fairing_loom")]
    assert told.by > 0


def test_another_figure_of_a_speaker_that_its_channel_may_bear_changes_nothing(
    kept: PlanKeeper, serving: Serving
) -> None:
    saved, catalog = save(kept, serving), serving.catalog
    rears = catalog.parts["tern-52"]
    assert rears.speaker is not None
    other = rears.model_copy(update={"speaker": rears.speaker.model_copy(update={"impedance_ohm": 3.9})})
    later = Serving.of(Release.of(replace(catalog, parts={**catalog.parts, rears.id: other})))
    told = standing(saved, later)
    assert (told.word, told.same, told.now) == ("holds", saved.plan.total, again(saved, later))


def test_after_a_visit_only_what_is_left_is_looked_over(kept: PlanKeeper, serving: Serving) -> None:
    saved = save(kept, serving)
    after = kept.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    assert standing(after, priced(**{"tern-65": 1})).word == "holds"
    dearer = priced(**{"tern-52": 12_900})
    told = standing(after, dearer)
    assert (told.word, told.by, told.now) == ("dearer_now", 1_000, again(after, dearer))
    changed = standing(after, without("tern-52"))
    assert (changed.word, changed.now, changed.obstacles[0].visit) == ("no_path", None, 2)


def test_a_visit_that_was_put_off_is_looked_over_for_today(kept: PlanKeeper, serving: Serving) -> None:
    saved = save(kept, serving)
    late = date(2026, 6, 1)
    told = standing(saved, serving, late)
    assert told.now == again(saved, serving, late)
    assert (told.word, told.same) == ("holds", saved.plan.total)


def test_a_bike_that_is_not_in_the_catalog_any_more_has_no_path(kept: PlanKeeper, serving: Serving) -> None:
    saved = save(kept, serving)
    catalog = serving.catalog
    bikes = {name: bike for name, bike in catalog.bikes.items() if name != story.BIKE}
    told = standing(saved, Serving.of(Release.of(replace(catalog, bikes=bikes))))
    assert (told.word, told.now) == ("no_path", None)


def test_when_all_is_done_nothing_is_left(kept: PlanKeeper, serving: Serving) -> None:
    saved = save(kept, serving)
    first = kept.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    last = kept.visit_done(saved.id, 2, done_as_planned(first, 2, date(2027, 4, 5)), serving)
    assert standing(last, priced(**{"tern-65": 1})).word == "nothing_left"


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1])
def test_drawn_plans_stand_under_drawn_releases_as_trying_everything_says(seed: int) -> None:
    looked = list(look(plans=6, releases=5, seed=seed))
    assert len(looked) > 20
    assert [x for x in looked if x.told != x.expected] == []
