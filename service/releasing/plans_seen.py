"""What a release would do to the plans that riders have."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from rules.catalog.catalog import Catalog
from rules.impact.plans import touched_plans
from rules.release import Release
from service.plans.asking import left_to_ask
from service.plans.saved import SavedPlan
from service.plans.standing import Standing, Standings
from service.releasing.outcome import PlansSeen, PlanStands
from service.serving import Serving


def see_plans(old: Catalog, new: Catalog, on: date, plans: Iterable[SavedPlan]) -> PlansSeen:
    """Look over the plans that are not finished, as if a release were served already.

    Args:
        old: What is served now.
        new: What the release holds.
    """
    waiting = {saved.id: saved for saved in plans if saved.to_come}
    if not waiting:
        return PlansSeen()
    questions = {name: left_to_ask(saved, on) for name, saved in waiting.items()}
    touched = touched_plans(old, new, on, questions)
    serving, standings = Serving.of(Release.of(new)), Standings()
    stands = {name: standings.of(waiting[name], serving, on) for name in sorted(touched)}
    changed = tuple(_told(waiting[name], x) for name, x in stands.items() if x.word != "holds")
    return PlansSeen(looked_at=len(waiting), touched=len(touched), changed=changed)


def _told(saved: SavedPlan, standing: Standing) -> PlanStands:
    return PlanStands(
        plan=saved.id,
        bike=saved.bike,
        word=standing.word,
        visit=standing.visit,
        because=tuple(str(x) for x in standing.obstacles),
        planned=standing.planned,
        now=standing.now,
    )
