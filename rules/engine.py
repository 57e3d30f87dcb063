"""The engine: one catalog, answering every question. It remembers what it has worked out and nothing that changes an answer."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial, wraps
from threading import RLock
from typing import Concatenate, ParamSpec, TypeVar

from rules.alternatives import Alternatives, alternatives_to
from rules.answer import CarryOver, CarryOverAnswer, CartAnswer, FitAnswer, NoPlan, Plan
from rules.bench import Bench
from rules.build import STOCK, AsFound
from rules.carry_over import carry_over
from rules.cart import SureCart, check_by_pieces, check_cart, check_surely
from rules.cart_pieces import Pieces
from rules.catalog.catalog import Catalog
from rules.catalog.part import Part
from rules.checker import Checker, Fault, Index
from rules.cures import cures_for
from rules.desk import Desk
from rules.errors import MalformedQuestion, PlanRefused, UnknownBike
from rules.figures import VisitFigures, figures_of
from rules.fitment import fit_anywhere, fit_at
from rules.found import check_asked, check_found, know_part, know_place
from rules.kept import NotKept, Store
from rules.later import ZoneLater, check_later, zones_later
from rules.next_bike import NextBike, NextBikes, at_their_worth, check_next_bike, own_pieces
from rules.own_parts import widened
from rules.path import plan_path
from rules.planner import Planner
from rules.present import WIRINGS_ASKED, as_seen, check_seen, may_be_missing, plugs_to_look_at
from rules.question import (
    CarryOverQuestion,
    CartLines,
    CartQuestion,
    FitQuestion,
    Fitter,
    NextBikeQuestion,
    PathQuestion,
    Want,
)
from rules.tables import Tables
from rules.verdict import Cause, Verdict
from rules.why import Reasons, reasons_for

DESKS_KEPT, BUILDS_KEPT = 256, 100_000
"""Bikes whose tables and learned laws are kept, and builds that were examined for all of these, of some ten kilobytes each.

Forgetting one costs time, never an answer.
"""


P = ParamSpec("P")
T = TypeVar("T")


def _one_at_a_time(method: Callable[Concatenate[Engine, P], T]) -> Callable[Concatenate[Engine, P], T]:
    """Let one thread in at a time: what desks remember is shared."""

    @wraps(method)
    def locked(self: Engine, /, *args: P.args, **kwargs: P.kwargs) -> T:
        with self._lock:
            # Between two questions, as none asks another: within one, wirings are known by being the same object.
            self._make_room()
            with self.tables.effort.on(method.__name__):
                return method(self, *args, **kwargs)

    return locked


class Engine:
    """Answers questions about one catalog.

    Raises (all methods): `UnknownBike`, `UnknownPart`, `UnknownPlace` (`rules.errors`), each with the nearest ids.
    """

    def __init__(self, catalog: Catalog, narrower: Tables | None = None) -> None:
        """Compile a catalog; nothing anew where `narrower` are the tables of one that differs from it in prices alone."""
        self.catalog = catalog
        self.tables = Tables(catalog, narrower)
        self._checker = Checker(Index(catalog))
        self._desks: OrderedDict[str, Desk] = OrderedDict()
        self._pieces: dict[str, Pieces] = {}
        self._store = Store()
        self._lock = RLock()

    @_one_at_a_time
    def fit(self, question: FitQuestion) -> FitAnswer:
        """Answer whether a part fits a bike, and what it takes."""
        know_part(self.catalog, question.part, question.found)
        know_place(self.catalog, question.place)
        self._know_found(question.bike, question.found)
        check_asked(question.found, question.part, question.place)
        undecided = FitAnswer(
            verdict=Verdict.NOT_VERIFIED, bike=question.bike, part=question.part, place=question.place
        )
        answers = [
            self._once_per_wiring(
                bike,
                question.found,
                partial(_fit, question=replace(question, bike=bike)),
                lambda x: (x.verdict, x.place, x.extras, x.presets, x.rewires, x.total),
                lambda plugs: replace(undecided, missing=plugs),
            )
            for bike in self.bikes_meant(question.bike)
        ]
        if len({(x.verdict, x.place, x.extras, x.presets) for x in answers}) == 1:
            return replace(answers[0], bike=question.bike)
        return replace(undecided, ask=self._ask(question.bike))

    @_one_at_a_time
    def cart(self, question: CartQuestion) -> CartAnswer:
        """Answer whether parts are together complete and free of conflicts on a bike."""
        self._know_found(question.bike, question.found)
        self._know_wants(question.wants, question.found)
        undecided = CartAnswer(verdict=Verdict.NOT_VERIFIED, bike=question.bike)
        pieces = self._pieces_of(question.bike) if question.found == STOCK else None
        if pieces is not None:
            return check_by_pieces(pieces, question, learns=True)
        answers = [
            self._once_per_wiring(
                bike,
                question.found,
                partial(check_cart, question=replace(question, bike=bike)),
                lambda x: (x.verdict, x.placed, x.extras, x.presets, x.rewires, x.total),
                lambda plugs: replace(undecided, missing=plugs),
            )
            for bike in self.bikes_meant(question.bike)
        ]
        if len({(x.verdict, x.placed, x.extras, x.presets) for x in answers}) == 1:
            return replace(answers[0], bike=question.bike)
        return replace(undecided, ask=self._ask(question.bike))

    def known_cart(self, cart: CartLines) -> CartAnswer | SureCart | None:
        """Answer a cart, if all that it takes is kept already; waits for no other question.

        Raises: `MalformedQuestion`.
        """
        pieces = self._pieces.get(cart.bike)
        if pieces is None:
            return None
        try:
            return check_surely(pieces, cart) or check_by_pieces(pieces, cart.question, learns=False)
        except NotKept:
            return None

    def zones_later(self, question: CartQuestion, answer: CartAnswer, on: date) -> tuple[ZoneLater, ...]:
        """Answer what new speakers in each other zone take on a later day, with what a whole cart has bought.

        Raises: `MalformedQuestion` where the day is not later.
        """
        check_later(question, on)
        catalog = widened(self.catalog, question.found.own_parts)
        bike = self.catalog.bikes[self.bikes_meant(question.bike)[0]]
        asked = zones_later(catalog, bike, question, answer, on)
        return tuple(ZoneLater(zone=zone, plan=self.path(path)) for zone, path in asked)

    def _pieces_of(self, bike: str) -> Pieces | None:
        """Give what is kept of a bike for carts; None for a name of two bikes, or a bike that is asked about wiring by wiring."""
        if bike not in self.catalog.bikes:
            return None
        if self._store.is_full:
            self._pieces.clear()
            self._store = Store()
        desk = self.desk(bike)
        kept = self._pieces.get(bike)
        if kept is None or kept.desk is not desk:
            kept = Pieces(desk, self._store)
            if not kept.is_plain:
                return None
            self._pieces[bike] = kept
        return kept

    @_one_at_a_time
    def path(self, question: PathQuestion) -> Plan | NoPlan:
        """Find the cheapest path."""
        return self._ask_path(question, self._plan, _way)

    @_one_at_a_time
    def alternatives(self, question: PathQuestion) -> Alternatives | NoPlan:
        """Find the cheapest path, others that are better in something, and what other budgets would change."""
        return self._ask_path(question, self._alternatives, _ways)

    @_one_at_a_time
    def cured(self, question: PathQuestion) -> Plan | NoPlan:
        """Find the cheapest path; where there is none, find as well what single changes make one."""
        return self._ask_path(question, self._cured, _way_or_cures)

    def _cured(self, desk: Desk, question: PathQuestion) -> Plan | NoPlan:
        answer = self._plan(desk, question)
        if isinstance(answer, Plan):
            return answer
        return replace(answer, cures=cures_for(self._planner(desk), question, answer))

    def _alternatives(self, desk: Desk, question: PathQuestion) -> Alternatives | NoPlan:
        answer = self._plan(desk, question)
        if isinstance(answer, NoPlan):
            return answer
        return alternatives_to(self._planner(desk), question, answer)

    @_one_at_a_time
    def reasons(self, question: PathQuestion) -> Reasons | NoPlan:
        """Find the cheapest path, why each part of it is bought and when, and what other choices would cost."""
        return self._ask_path(question, self._reasons, _why)

    def _reasons(self, desk: Desk, question: PathQuestion) -> Reasons | NoPlan:
        answer = self._plan(desk, question)
        if isinstance(answer, NoPlan):
            return answer
        return reasons_for(self._planner(desk), question, answer)

    def _planner(self, desk: Desk) -> Planner:
        return Planner(desk, partial(self._check, desk))

    def _ask_path(
        self,
        question: PathQuestion,
        ask: Callable[[Desk, PathQuestion], T | NoPlan],
        told: Callable[[T | NoPlan], object],
    ) -> T | NoPlan:
        """Ask of both sides of a split, and of every way in which the bike may be wired."""
        self._know_path(question)
        answers = [
            self._once_per_wiring(
                bike,
                question.found,
                partial(_asked, ask, replace(question, bike=bike)),
                told,
                lambda plugs: NoPlan(reason="not_verified", missing=plugs),
            )
            for bike in self.bikes_meant(question.bike)
        ]
        if all(_same_path(x, answers[0], told) for x in answers):
            return answers[0]
        return NoPlan(reason="not_verified", ask=self._ask(question.bike))

    def _know_path(self, question: PathQuestion) -> None:
        self._know_found(question.bike, question.found)
        self._know_wants(question.wants, question.found)
        for part in sorted(
            question.excluded
            | question.allowed_rewiring
            | {x.part for x in question.locked | question.may_go}
        ):
            know_part(self.catalog, part, question.found)
        for placed in sorted(question.locked | question.may_go):
            know_place(self.catalog, placed.place)

    def _plan(self, desk: Desk, question: PathQuestion) -> Plan | NoPlan:
        """Plan for one bike, wired in one way, and let out nothing in which the checker finds a fault."""
        answer = plan_path(desk, question)
        if isinstance(answer, Plan):
            self._check(desk, question, answer)
        return answer

    def _check(self, desk: Desk, question: PathQuestion, plan: Plan) -> None:
        faults = self._checker.check(replace(question, found=desk.bench.found), plan)
        if faults:
            raise PlanRefused(map(str, faults))

    @_one_at_a_time
    def figures(self, question: PathQuestion, plan: Plan) -> tuple[VisitFigures, ...]:
        """Work out the figures of every visit of a plan that answers this question."""
        return figures_of(self.desk(self.bikes_meant(question.bike)[0], question.found).bench, plan)

    @_one_at_a_time
    def carry_over(self, question: CarryOverQuestion) -> CarryOverAnswer:
        """Answer which parts go on to another bike: all that are not stock, at a split only where both sides agree."""
        self._know_found(question.bike, question.found)
        here = self.desk(self.bikes_meant(question.bike)[0], question.found)
        answers = [self._carry_over(here, bike, question) for bike in self.bikes_meant(question.next_bike)]
        if len({tuple((x.part, x.answer, x.to_place, x.extras) for x in parts) for parts in answers}) == 1:
            return CarryOverAnswer(bike=question.bike, next_bike=question.next_bike, parts=answers[0])
        return CarryOverAnswer(
            bike=question.bike, next_bike=question.next_bike, parts=(), ask=self._ask(question.next_bike)
        )

    def _carry_over(self, here: Desk, bike: str, question: CarryOverQuestion) -> tuple[CarryOver, ...]:
        # On the next bike the rider's own parts may go anywhere, so nothing is said there of where they were found.
        own_parts = question.found.own_parts
        there = self._desk_of(bike, STOCK, own_parts) if own_parts else self.desk(bike)
        own = sorted(here.bench.present - here.bench.stock)
        return tuple(carry_over(here, there, question, placed) for placed in own)

    @_one_at_a_time
    def next_bike(self, question: NextBikeQuestion) -> NextBike:
        """Plan for the next bike with the own parts of this one, against selling them all; at a split, if both sides agree."""
        self._know_found(question.bike, question.found)
        self._know_wants(question.wants, question.found)
        check_next_bike(question, self.catalog)
        here = self.desk(self.bikes_meant(question.bike)[0], question.found)
        answers = [self._next_bike(here, bike, question) for bike in self.bikes_meant(question.next_bike)]
        if len({(x.net, x.own, x.new_net) for x in answers}) == 1:
            return answers[0]
        return NextBike(wants=question.wants, ask=self._ask(question.next_bike))

    def _next_bike(self, here: Desk, bike: str, question: NextBikeQuestion) -> NextBike:
        on, own_parts = question.stages[0].on, question.found.own_parts
        asked = CarryOverQuestion(
            bike=question.bike, next_bike=bike, on=on, fitter=question.stages[0].fitter, found=question.found
        )
        worth = {x.part: here.pricer.resale(x.part, on) for x in own_pieces(here)}
        tables = self.tables.widened(own_parts)
        catalog = at_their_worth(tables.catalog, worth)
        there = Desk.for_bench(Bench(Tables(catalog, tables), catalog.bikes[bike], STOCK))
        check = Checker(Index(catalog)).check
        asker = NextBikes(
            here=here,
            carrying=Planner(there, partial(_must_hold, check)),
            buying=self._planner(self.desk(bike)),
            worth=worth,
        )
        return asker.answer(replace(question, next_bike=bike), self._carry_over(here, bike, asked))

    def fitting_parts(self, bike: str, on: date, fitter: Fitter = "shop") -> tuple[FitAnswer, ...]:
        """Answer for every part that has a slot and is for sale on the day, in order of id."""
        self.bikes_meant(bike)
        return tuple(
            self.fit(FitQuestion(bike=bike, part=part, on=on, fitter=fitter)) for part in self._sold(on)
        )

    def fitting_bikes(self, part: str, on: date, fitter: Fitter = "shop") -> tuple[FitAnswer, ...]:
        """Answer for every bike, in order of id."""
        know_part(self.catalog, part, STOCK)
        return tuple(
            self.fit(FitQuestion(bike=bike, part=part, on=on, fitter=fitter)) for bike in self.catalog.bikes
        )

    def _sold(self, on: date) -> list[str]:
        pricer = self.desk(next(iter(self.catalog.bikes))).pricer
        return [
            x.id
            for x in self.catalog.parts.values()
            if x.slot is not None and pricer.price(x.id, on) is not None
        ]

    def bikes_meant(self, bike: str) -> tuple[str, ...]:
        """Give the bike, or at a split both sides of it.

        Raises: `UnknownBike`.
        """
        if bike in self.catalog.bikes:
            return (bike,)
        if bike in self.catalog.ambiguous:
            return self.catalog.ambiguous[bike].sides
        raise UnknownBike(bike, [*self.catalog.bikes, *self.catalog.ambiguous])

    def _make_room(self) -> None:
        """Forget the bikes that nobody has asked about for longest, until half the builds are left."""
        kept = sum(desk.examiner.kept for desk in self._desks.values())
        most = BUILDS_KEPT
        while kept > most:
            most = BUILDS_KEPT // 2
            kept -= self._forget()

    def _forget(self) -> int:
        bike, desk = self._desks.popitem(last=False)
        self._pieces.pop(bike, None)
        return desk.examiner.kept

    def desk(self, bike: str, found: AsFound = STOCK) -> Desk:
        """Give the desk of a bike; those of stock bikes are kept."""
        if found != STOCK:
            return self._desk_of(bike, found, found.own_parts)
        if bike not in self._desks:
            self._desks[bike] = self._desk_of(bike, STOCK, ())
            if len(self._desks) > DESKS_KEPT:
                self._forget()
        self._desks.move_to_end(bike)
        return self._desks[bike]

    def _desk_of(self, bike: str, found: AsFound, own_parts: tuple[Part, ...]) -> Desk:
        tables = self.tables.widened(own_parts)
        desk = Desk.for_bench(Bench(tables, self.catalog.bikes[bike], found))
        for index, entry in enumerate(found.fitted):
            if not desk.bench.has_slot(desk.bench.part(entry.placement), entry.placement.place):
                raise MalformedQuestion(
                    f"found.fitted.{index}",
                    "a part is said to be where this bike has no slot for it",
                    "name the place where it is fitted",
                )
        return desk

    def _once_per_wiring(
        self,
        bike: str,
        found: AsFound,
        ask: Callable[[Desk], T],
        told: Callable[[T], object],
        undecided: Callable[[tuple[Cause, ...]], T],
    ) -> T:
        """Ask once for each way in which the bike may be wired now; where the answers differ, say which plugs to look at."""
        desk = self.desk(bike, found)
        wirings = desk.examiner.present_wirings
        check_seen(desk.bench, wirings)
        if not wirings or (len(wirings) == 1 and not may_be_missing(desk.bench, wirings[0])):
            return ask(desk)
        if len(wirings) <= WIRINGS_ASKED:
            answers = [ask(self.desk(bike, as_seen(found, wiring))) for wiring in wirings]
            if len({told(answer) for answer in answers}) == 1:
                return answers[0]
        return undecided(plugs_to_look_at(desk.bench, wirings))

    def _ask(self, bike: str) -> str:
        return self.catalog.ambiguous[bike].ask if bike in self.catalog.ambiguous else ""

    def _know_found(self, bike: str, found: AsFound) -> None:
        check_found(self.catalog, [self.catalog.bikes[side] for side in self.bikes_meant(bike)], found)

    def _know_wants(self, wants: tuple[Want, ...], found: AsFound) -> None:
        for want in wants:
            know_place(self.catalog, want.place)
            for part in want.parts:
                know_part(self.catalog, part, found)
                check_asked(found, part, want.place)


def _must_hold(
    check: Callable[[PathQuestion, Plan], tuple[Fault, ...]], question: PathQuestion, plan: Plan
) -> None:
    faults = check(question, plan)
    if faults:
        raise PlanRefused(map(str, faults))


def _fit(desk: Desk, question: FitQuestion) -> FitAnswer:
    if question.place is None:
        return fit_anywhere(desk, question)
    return fit_at(desk, question, question.place)


def _asked(ask: Callable[[Desk, PathQuestion], T], question: PathQuestion, desk: Desk) -> T:
    return ask(desk, question)


def _way(answer: Plan | NoPlan) -> object:
    if isinstance(answer, NoPlan):
        return answer.reason
    return answer.total, tuple((x.adds, x.removes) for x in answer.visits)


def _way_or_cures(answer: Plan | NoPlan) -> object:
    return (answer.reason, answer.cures) if isinstance(answer, NoPlan) else _way(answer)


def _ways(answer: Alternatives | NoPlan) -> object:
    if isinstance(answer, NoPlan):
        return answer.reason
    others = tuple((_way(x.plan), x.better) for x in answer.others)
    return _way(answer.cheapest), others, answer.what_ifs


def _why(answer: Reasons | NoPlan) -> object:
    if isinstance(answer, NoPlan):
        return answer.reason
    return _way(answer.plan), answer.purchases, answer.not_bought


def _same_path(one: T | NoPlan, other: T | NoPlan, told: Callable[[T | NoPlan], object]) -> bool:
    if isinstance(one, NoPlan) or isinstance(other, NoPlan):
        return one == other
    return told(one) == told(other)
