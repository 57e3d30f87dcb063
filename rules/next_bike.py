"""The cheapest way to the same or better zones on the next bike with the rider's own parts, against selling all and starting new.

An own piece that is fitted to the next bike is not sold. So it costs what it would have fetched: the search is asked over a catalog
in which it is for sale at that price, as often as the rider has it, and the money is told without it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from rules.answer import CarryOver, Plan, PresetMade, Proof, Visit
from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.desk import Desk
from rules.errors import MalformedQuestion
from rules.path import Aimed, check_question
from rules.planner import Planner
from rules.question import NextBikeQuestion, PathQuestion, Want
from rules.wish import gets


@dataclass(frozen=True, slots=True, kw_only=True)
class NextBike:
    """What becomes of a rider's parts with the next bike. Money in minor units.

    `parts` says of each whether it goes on. `plan` is the cheapest way that may use them, though none is both brought and bought:
    of one that goes along, no further piece comes in. `own` are those fitted there and `sold` the others, which fetch `fetched` on
    the first day; `net` is what it all comes to. `new` is the cheapest way that buys everything, `new_net` what that comes to once
    all own parts are sold. `presets` are made anew. None: there is no such way, or no proof.
    """

    wants: tuple[Want, ...]
    parts: tuple[CarryOver, ...] = ()
    worth: int = 0
    plan: Plan | None = None
    own: tuple[Placement, ...] = ()
    sold: tuple[Placement, ...] = ()
    fetched: int = 0
    net: int | None = None
    presets: tuple[PresetMade, ...] = ()
    new: Plan | None = None
    new_net: int | None = None
    ask: str = ""


def check_next_bike(question: NextBikeQuestion, catalog: Catalog) -> None:
    """Refuse what no path could be asked for, and budgets: what a rider brings along is worth money, but asks for none.

    Raises: `MalformedQuestion`.
    """
    for index, stage in enumerate(question.stages):
        if stage.budget is not None:
            raise MalformedQuestion(
                f"stages.{index}.budget",
                "a next bike is planned without budgets",
                "leave the budget out; ask for a path on that bike to plan within one",
            )
    check_question(path_of(question), catalog)


def path_of(question: NextBikeQuestion) -> PathQuestion:
    """Give the same visits and wants as a path on the next bike as it left the works."""
    return PathQuestion(bike=question.next_bike, stages=question.stages, wants=question.wants)


def at_their_worth(catalog: Catalog, worth: Mapping[str, int]) -> Catalog:
    """Give a catalog in which these parts are for sale on every day at what they fetch used, and fetch that."""
    parts = {
        name: part.model_copy(update={"stock_only": False, "available": None}) if name in worth else part
        for name, part in catalog.parts.items()
    }
    lists = tuple(
        one.model_copy(update={"prices": {**one.prices, **worth}, "resale": {**one.resale, **worth}})
        for one in catalog.price_lists
    )
    return replace(catalog, parts=parts, price_lists=lists)


def own_pieces(here: Desk) -> tuple[Placement, ...]:
    """Give what is not stock and can leave the bike: what lives in its own unit stays with that."""
    own = here.bench.present - here.bench.stock
    names = {x.part for x in own}
    hosts = {x: here.bench.part(x).host for x in own}
    return tuple(sorted(x for x in own if not hosts[x] or not names.isdisjoint(hosts[x])))


def same_zones(here: Desk) -> tuple[Want, ...]:
    """Want a pair in every zone in which the rider has put one, with the power that it gets now, where that is known."""
    bench = here.bench
    wirings = here.examiner.present_wirings
    best: dict[str, float | None] = {}
    for placed in own_pieces(here):
        if bench.part(placed).speaker is not None:
            power = gets(bench, wirings[0], placed) if len(wirings) == 1 else None
            zone = bench.tables.catalog.places[placed.place].zone
            if zone is not None:
                best.setdefault(zone, None if power is None else float(power))
    return tuple(Want(zone=zone, least_w=power) for zone, power in sorted(best.items()))


@dataclass(frozen=True, slots=True, kw_only=True)
class NextBikes:
    """The planners of a next bike: `carrying` knows the own parts at their worth, `buying` the shop's prices alone."""

    here: Desk
    carrying: Planner
    buying: Planner
    worth: Mapping[str, int]

    def answer(self, question: NextBikeQuestion, parts: tuple[CarryOver, ...]) -> NextBike:
        """Plan with the own parts, and without them."""
        pieces = own_pieces(self.here)
        whole = sum(self.worth[x.part] for x in pieces)
        wants = question.wants or same_zones(self.here)
        path = path_of(replace(question, wants=wants))
        nothing = NextBike(wants=wants, parts=parts, worth=whole)
        if not wants:
            return nothing
        counted = Counter(x.part for x in pieces)
        with_own = self.carrying.plan(path, Aimed(most_pieces=counted))
        new = self.buying.plan(path)
        told = replace(nothing, new=new, new_net=None if new is None else new.total - whole)
        carried = None if with_own is None else self._told(told, with_own, pieces)
        if new is None or (carried is not None and _net(carried) <= new.total - whole):
            return carried or told
        # No part is both brought and bought, so everything new may be less, or the only way.
        return self._told(told, new, pieces, brings=False)

    def _told(
        self, told: NextBike, plan: Plan, pieces: tuple[Placement, ...], *, brings: bool = True
    ) -> NextBike:
        visits = tuple(self._without_own(visit) if brings else visit for visit in plan.visits)
        used = list(self._used(plan)) if brings else []
        own = tuple(_taken(pieces, used))
        sold = tuple(x for x in pieces if x not in own)
        fetched = sum(self.worth[x.part] for x in sold)
        spent = sum(visit.spent for visit in visits)
        proof = Proof(state=plan.proof.state, bound=plan.proof.bound - plan.spent + spent)
        plain = replace(plan, visits=visits, spent=spent, proof=proof, ledger=())
        return replace(
            told,
            plan=plain,
            own=own,
            sold=sold,
            fetched=fetched,
            net=plain.total - fetched,
            presets=tuple(x for visit in visits for x in visit.presets),
        )

    def _used(self, plan: Plan) -> Iterator[str]:
        for visit in plan.visits:
            for line in visit.lines:
                if line.kind == "part" and line.about in self.worth:
                    yield from [line.about] * line.quantity

    def _without_own(self, visit: Visit) -> Visit:
        """Tell a visit's money without what the rider brings along."""
        lines = tuple(x for x in visit.lines if x.kind != "part" or x.about not in self.worth)
        brought = sum(x.total for x in visit.lines) - sum(x.total for x in lines)
        return replace(visit, lines=lines, spent=visit.spent - brought)


def _net(told: NextBike) -> int:
    assert told.net is not None  # noqa: S101 - there is a plan
    return told.net


def _taken(pieces: tuple[Placement, ...], used: list[str]) -> Iterator[Placement]:
    """Give the pieces that are used, the first of a kind first."""
    left = Counter(used)
    for placed in pieces:
        if left[placed.part] > 0:
            left[placed.part] -= 1
            yield placed
