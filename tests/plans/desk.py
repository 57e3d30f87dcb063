"""What a salesperson has at hand in these tests: the demo, a rider, and a visit that was done as planned."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from functools import cache

from rules.answer import NoPlan, Plan
from rules.done import PresetSet, VisitDone
from rules.load import load_catalog
from rules.question import PathQuestion
from rules.release import Release
from service import story
from service.plans.form import question_asked
from service.plans.keeper import Kept, PlanKeeper
from service.plans.recording import as_planned
from service.plans.saved import NewRider, SavedPlan
from service.serving import Serving
from service.settings import DEMO_CATALOG
from service.store.creation import Creation, creation_of

AT = datetime(2026, 5, 4, 9, 30, 0, 7, tzinfo=UTC)
TODAY = story.TODAY
LATER = date(2027, 4, 5)
RIDER = NewRider(name="Ingunn Tangen", contact="ingunn@strand.example")


@cache
def demo() -> Serving:
    """The demo, whose engine remembers what it planned for saving: most tests save the same story."""
    serving = Serving.of(Release.of(load_catalog(DEMO_CATALOG)))
    plans, known = serving.engine.cured, dict[str, Plan | NoPlan]()

    def remembered(question: PathQuestion) -> Plan | NoPlan:
        key = json.dumps(question_asked(question))
        if key not in known:
            known[key] = plans(question)
        return known[key]

    serving.engine.cured = remembered  # type: ignore[method-assign]
    return serving


def key(word: str = "first", asked: str = "the story") -> Creation:
    return creation_of("desk", word, asked)


def save(keeper: PlanKeeper, serving: Serving, word: str = "first") -> SavedPlan:
    kept = keeper.make(story.PATH, serving, TODAY, key(word), rider=RIDER)
    assert isinstance(kept, Kept)
    return kept.plan


def done_as_planned(saved: SavedPlan, number: int, on: date) -> VisitDone:
    fitted, removed, others = as_planned(saved, number)
    presets = tuple(
        PresetSet(amplifier=x.amplifier, serial="F4-00123", made_on=on, made_by="Odd")
        for x in saved.plan.visits[number - 1].presets
    )
    return VisitDone(
        visit=number,
        on=on,
        fitter="shop",
        by="Odd",
        fitted=fitted,
        removed=removed,
        presets=presets,
        others_paid=others,
    )
