"""The cheapest way to a rider's next bike with the parts that there are, beside selling them all and starting new."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated, Self

from pydantic import Field

from rules.answer import Plan
from rules.build import AsFound
from rules.next_bike import NextBike, path_of
from rules.question import NextBikeQuestion, Stage, Want
from service.serving import Serving
from service.shapes.base import Asked, Day, FitterWord, Id, Told
from service.shapes.carry_overs import CarriedTold
from service.shapes.found import FoundAsked
from service.shapes.paths import PlanTold, WantAsked
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.release import ReleaseNamed
from service.shapes.work import PresetTold, presets_told


class NextVisitAsked(Asked):
    """One visit with the next bike: its day, and who fits."""

    on: Day
    fitter: FitterWord = "shop"

    def to_domain(self) -> Stage:
        """Read it."""
        return Stage(on=self.on, fitter=self.fitter)


class NextBikeAsked(Asked):
    """A bike as it is now, the next one, and what is wanted there.

    `wants` left out: speakers in every zone in which the rider has put some, with no less power than now.
    """

    bike: Id
    next_bike: Id
    visits: Annotated[tuple[NextVisitAsked, ...], Field(min_length=1, max_length=6)]
    wants: Annotated[tuple[WantAsked, ...], Field(max_length=50)] = ()
    found: FoundAsked = FoundAsked()

    def to_domain(self) -> NextBikeQuestion:
        """Read it."""
        return NextBikeQuestion(
            bike=self.bike,
            next_bike=self.next_bike,
            stages=tuple(visit.to_domain() for visit in self.visits),
            wants=tuple(want.to_domain() for want in self.wants),
            found=self.found.to_domain(),
        )


class WantTold(Told):
    """One thing that was planned for, as it would be asked."""

    any_of: tuple[str, ...]
    place: str | None
    zone: str | None
    kind: str | None
    functions: tuple[str, ...]
    lines: tuple[str, ...]
    colour: str | None
    most_kg: float | None
    least_power_w: float | None
    by_visit: int | None

    @classmethod
    def from_domain(cls, want: Want) -> Self:
        """Write a want."""
        return cls(
            any_of=want.parts,
            place=want.place,
            zone=want.zone,
            kind=want.kind,
            functions=want.functions,
            lines=want.lines,
            colour=want.colour,
            most_kg=want.most_kg,
            least_power_w=want.least_w,
            by_visit=want.by,
        )


class NextBikeTold(Told):
    """What becomes of a rider's parts with the next bike, and what it comes to.

    `parts` says of each part that is not stock whether it goes on; all of them fetch `worth_minor` used. `plan` is the cheapest
    way that may use them: `own` are those fitted there, which no line of it asks money for; `sold` are the others, which fetch
    `fetched_minor` on the first day; `net_minor` is the plan's total less that. `presets` are made anew. `new` is the cheapest
    way that buys everything, `new_net_minor` its total less `worth_minor`. A plan is null where no way is proven.
    """

    release: ReleaseNamed
    bike: str
    next_bike: str
    on: date
    currency: str
    wants: tuple[WantTold, ...]
    parts: tuple[CarriedTold, ...]
    worth_minor: int
    plan: PlanTold | None
    own: tuple[PlacementTold, ...]
    sold: tuple[PlacementTold, ...]
    fetched_minor: int
    net_minor: int | None
    presets: tuple[PresetTold, ...]
    new: PlanTold | None
    new_net_minor: int | None
    ask: str

    @classmethod
    def from_domain(cls, answer: NextBike, question: NextBikeQuestion, serving: Serving) -> Self:
        """Write an answer."""
        catalog = serving.catalog_of(question.found)
        return cls(
            release=ReleaseNamed.from_domain(serving),
            bike=question.bike,
            next_bike=question.next_bike,
            on=question.stages[0].on,
            currency=catalog.shop.currency,
            wants=tuple(map(WantTold.from_domain, answer.wants)),
            parts=tuple(CarriedTold.from_domain(part, catalog) for part in answer.parts),
            worth_minor=answer.worth,
            plan=_plan_told(answer.plan, question, serving),
            own=placements_told(answer.own, catalog),
            sold=placements_told(answer.sold, catalog),
            fetched_minor=answer.fetched,
            net_minor=answer.net,
            presets=presets_told(answer.presets, catalog),
            new=_plan_told(answer.new, question, serving),
            new_net_minor=answer.new_net,
            ask=answer.ask,
        )


def _plan_told(plan: Plan | None, question: NextBikeQuestion, serving: Serving) -> PlanTold | None:
    if plan is None:
        return None
    # On the next bike the rider's own parts are known, and nothing else of what was found on this one.
    path = replace(path_of(question), found=AsFound(own_parts=question.found.own_parts))
    return PlanTold.from_domain(plan, serving.engine.figures(path, plan), serving.catalog_of(question.found))
