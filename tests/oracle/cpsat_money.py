"""Purchases, labour, presets, resale, budgets and waste in the CP-SAT model."""

from __future__ import annotations

import operator
from collections.abc import Callable
from functools import cached_property, partial
from typing import Any

from rules.build import Placement


class Money:
    """Adds the money of every stage to a path model; `total` and `waste` are its goals.

    What waste needs is drawn only when `waste` is asked for.
    """

    def __init__(self, path) -> None:
        self.path, self.world, self.logic = path, path.world, path.logic
        self.spent: dict[int, list[Any]] = {}
        self.back: dict[int, list[Any]] = {}
        self._losses: list[Callable[[], Any]] = []
        for stage in path.stages:
            self.spent[stage], self.back[stage] = [], []
            self._stage(stage)
        self._budgets()
        self.total = sum(sum(self.spent[stage]) - sum(self.back[stage]) for stage in path.stages)

    def waste(self):
        return sum(loss() for loss in self._losses)

    def _stage(self, stage: int) -> None:
        prices = self.world.price_list(self.path.day(stage))
        if prices is None:
            self.logic.demand(self.logic.neg(self.path.changes[stage]))
            return
        self.prices, self.rate, self.freight = prices.prices, prices.labour_per_hour, prices.freight
        at_home = self.path.question.stages[stage - 1].fitter == "home"
        self._purchases(stage)
        self._labour(stage, at_home=at_home)
        self._presets(stage, at_home=at_home)
        for one in self.path.universe:
            self.back[stage].append(self._times(prices.resale.get(one.part, 0), self.path.remove[one, stage]))

    def _times(self, amount: int, literal):
        return amount * self.logic.number(literal)

    def _work(self, minutes: int):
        return (minutes * self.rate * 2 + 60) // 120

    def _gone(self, one: Placement):
        return self.logic.neg(self.path.here[one, self.path.last])

    def _spend(self, stage: int, amount: int, literal) -> None:
        self.spent[stage].append(self._times(amount, literal))

    def _lose(self, amount: int, literals: Callable[[], list[Any]]) -> None:
        self._losses.append(lambda: self._times(amount, self.logic.all_of(literals())))

    # Purchases ------------------------------------------------------------------------------------

    def _purchases(self, stage: int) -> None:
        bundles = self._bundles(stage)
        for one in self.path.universe:
            bought = self.path.add[one, stage]
            from_bundle = {bundle: self.logic.fresh() for bundle in bundles if one.part in bundle.members}
            single = self.logic.all_of([bought, *(literal.negated() for literal in from_bundle.values())])
            for bundle, literal in from_bundle.items():
                self.logic.demand(bought, where=[literal])
                bundles[bundle].setdefault(one.part, []).append(literal)
                self._piece(one, stage, self._share(bundle, one.part), literal)
            if from_bundle:
                self.logic.model.add_at_most_one(from_bundle.values())
            price = self.prices.get(one.part, 0)
            self._spend(stage, price, single)
            self._piece(one, stage, price, single)
        for bundle, used in bundles.items():
            self._bundle(bundle, used, stage)

    def _bundles(self, stage: int) -> dict[_Bundle, Any]:
        parts = {one.part for one in self.path.universe}
        day = self.path.day(stage)
        every = self.world.catalog.parts.values()
        return {
            _Bundle(one): {} for one in every if parts & set(one.members) and self.world.for_sale(one.id, day)
        }

    def _share(self, bundle: _Bundle, part: str) -> int:
        """Share the bundle's price by single prices, rounded half up."""
        whole = sum(self.prices.get(member, 0) for member in bundle.members)
        return (2 * self.prices[bundle.id] * self.prices.get(part, 0) + whole) // (2 * whole) if whole else 0

    def _bundle(self, bundle: _Bundle, used: dict[str, Any], stage: int) -> None:
        count = self.logic.model.new_int_var(0, len(self.path.universe), "")
        self.spent[stage].append(self.prices[bundle.id] * count)
        for part in set(bundle.members):
            pieces, taken = bundle.members.count(part) * count, sum(used.get(part, []))
            self.logic.model.add(taken <= pieces)
            self._losses.append(partial(operator.mul, self._share(bundle, part), pieces - taken))

    def _piece(self, one: Placement, stage: int, paid: int, bought) -> None:
        """Lose what a piece cost, less what it fetches when it is sold."""
        for later in self.path.stages:
            if later > stage:
                prices = self.world.price_list(self.path.day(later))
                fetched = prices.resale.get(one.part, 0) if prices else 0
                sold = self.path.remove[one, later]
                self._lose(max(0, paid - fetched), partial(list, [bought, sold]))

    # Labour ---------------------------------------------------------------------------------------

    def _labour(self, stage: int, *, at_home: bool) -> None:
        operations = self.world.rules("operation")
        served: dict[str, list[Any]] = {}
        for one in self.path.universe:
            for rule in operations:
                if rule.action in self._changes and self._selects(rule, one):
                    change = self._changes[rule.action](one, stage)
                    self._job(rule, one, rule.action, change, stage, at_home=at_home)
                    for name in self._before(rule, one):
                        served.setdefault(name, []).append((one, rule.action, change))
        for name, jobs in served.items():
            self._tear_down(self.world.rule(name), jobs, stage, at_home=at_home)

    @cached_property
    def _changes(self):
        """Give for each action the literal that it is done."""
        return {
            "add": lambda one, stage: self.path.add[one, stage],
            "remove": lambda one, stage: self.path.remove[one, stage],
            "replug": self.path.wires.moves.replugged,
        }

    def _selects(self, rule, one: Placement):
        return self.world.selects_placed(rule.subject, one) and self._may(rule, one)

    def _may(self, rule, one: Placement):
        return self.path.things.when(rule.when, one, 0, sure=False)

    def _before(self, rule, one: Placement) -> set[str]:
        """Give all tear-down that an operation on a placement reaches."""
        reached: set[str] = set()
        for name in rule.after:
            other = self.world.rule(name)
            if self._may(other, one):
                reached |= {name} | self._before(other, one)
        return reached

    def _serves(self, one: Placement, action: str, stage: int) -> list[Placement]:
        if action == "add":
            return [one]
        if action == "replug":
            return []  # The placement was there before: this labour is for nothing that was added.
        return [
            other
            for other in self.path.universe
            if self.world.slot(other) == self.world.slot(one) and other != one
        ]

    def _job(self, rule, one: Placement, action: str, change, stage: int, *, at_home: bool) -> None:
        if at_home:
            if not rule.home:
                self.logic.demand(self.logic.neg(change))
            return
        amount = self._work(rule.minutes)
        self._spend(stage, amount, change)
        self._lose(amount, lambda: [change, *self._all_gone([(one, action, change)], stage)])

    def _all_gone(self, jobs, stage: int):
        """Give literals: some placement was served, and none that was is there at the end."""
        served = [
            self.logic.all_of([change, self.path.add[other, stage]])
            for one, action, change in jobs
            for other in self._serves(one, action, stage)
        ]
        staying = [
            self.logic.all_of([change, self.path.add[other, stage], self.path.here[other, self.path.last]])
            for one, action, change in jobs
            for other in self._serves(one, action, stage)
        ]
        return [self.logic.any_of(served), self.logic.neg(self.logic.any_of(staying))]

    def _tear_down(self, rule, jobs, stage: int, *, at_home: bool) -> None:
        done = self.logic.any_of([change for _, _, change in jobs])
        if at_home:
            if not rule.home:
                self.logic.demand(self.logic.neg(done))
            return
        amount = self._work(rule.minutes)
        self._spend(stage, amount, done)
        self._lose(amount, lambda: [done, *self._all_gone(jobs, stage)])

    # Presets --------------------------------------------------------------------------------------

    def _presets(self, stage: int, *, at_home: bool) -> None:
        presets = self.path.wires.presets
        made = {one: presets.made[one, stage] for one in presets.amplifiers}
        if at_home:
            self._spend(stage, self.freight, self.logic.any_of(made.values()))
        for one, literal in made.items():
            services = self.world.services(one.part, self.path.day(stage))
            if services:
                minutes = self.world.minutes(services[0])
                price = self.prices[services[0]] + self._work(minutes)
                self._spend(stage, price, literal)
                self._lose(price, partial(self._is_void, one, literal, stage))
            for rule in self.world.rules("operation"):
                if rule.action == "preset" and self._selects(rule, one):
                    self._spend(stage, self._work(rule.minutes), literal)
                    gone = [literal, self.path.add[one, stage], self._gone(one)]
                    self._lose(self._work(rule.minutes), partial(list, gone))

    def _is_void(self, one: Placement, made, stage: int):
        kept = self.path.wires.presets.kept
        lasts = self.logic.all_of([kept[one, later] for later in self.path.stages if later > stage])
        return [made, self.logic.neg(lasts)]

    # Budgets --------------------------------------------------------------------------------------

    def _budgets(self) -> None:
        question, counted = self.path.question, {}
        years: dict[int, list[Any]] = {}
        for stage in self.path.stages:
            asked = question.stages[stage - 1]
            counted[stage] = sum(self.spent[stage]) - (sum(self.back[stage]) if question.resale_counts else 0)
            years.setdefault(asked.on.year, []).append(counted[stage])
            self._cap(counted[stage], asked.budget)
        for year, amounts in years.items():
            self._cap(sum(amounts), question.year_budgets.get(year))
        self._cap(sum(counted.values()), question.budget)

    def _cap(self, amount, budget: int | None) -> None:
        if budget is not None and not isinstance(amount, int):
            self.logic.model.add(amount <= budget)


class _Bundle:
    """A bundle on sale."""

    def __init__(self, part) -> None:
        self.id, self.members = part.id, part.members
