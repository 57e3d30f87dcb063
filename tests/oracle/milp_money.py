"""Money in the mixed-integer model: what each visit costs, and what is wasted at the end."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from rules.build import Placement
from tests.oracle.milp_model import NEVER, SINGLY, Frame
from tests.oracle.milp_moves import Moves, Presets
from tests.oracle.milp_things import Things
from tests.oracle.money_brute import bundle_shares, half_up


class Money:
    """Adds prices and labour. `total` and `waste` are goals; amounts in minor units."""

    def __init__(self, frame: Frame, things: Things, moves: Moves, presets: Presets) -> None:
        self.frame, self.world = frame, frame.world
        self.things, self.moves, self.presets = things, moves, presets
        self.spent: dict[int, list[Any]] = {stage: [] for stage in frame.stages}
        self.back: dict[int, list[Any]] = {stage: [] for stage in frame.stages}
        self.losses: list[Any] = []
        for stage in frame.stages:
            if self.world.price_list(frame.day(stage)) is None:
                frame.demand(frame.busy[stage] <= 0)
                continue
            self._purchases(stage)
            self._resale(stage)
            self._labour(stage)
            self._presets(stage)
        self._budgets()
        self.total = frame.sum(
            sum_
            for stage in frame.stages
            for sum_ in (*self.spent[stage], *(-1 * x for x in self.back[stage]))
        )
        self.waste = frame.sum(self.losses)

    def _list(self, stage: int):
        return self.world.price_list(self.frame.day(stage))

    def _worth(self, stage: int, minutes: int) -> int:
        return half_up(Fraction(minutes * self._list(stage).labour_per_hour, 60))

    def _at_home(self, stage: int) -> bool:
        return bool(self.frame.question.stages[stage - 1].fitter == "home")

    # Parts ----------------------------------------------------------------------------------------

    def _purchases(self, stage: int) -> None:
        frame, prices = self.frame, self._list(stage).prices
        taken: dict[tuple[str, str], list[Any]] = {}
        for span, chosen in frame.spans.items():
            if span.come != stage:
                continue
            if span.way == SINGLY:
                paid = prices[span.one.part]
                self.spent[stage].append(paid * chosen)
            else:
                paid = dict(bundle_shares(self.world, frame.day(stage), span.way))[span.one.part]
                taken.setdefault((span.way, span.one.part), []).append(chosen)
            if span.go != NEVER:
                fetched = self._list(span.go).resale.get(span.one.part, 0)
                self.losses.append(max(0, paid - fetched) * chosen)
        for bundle in sorted({bundle for bundle, _ in taken}):
            self._bundle(bundle, stage, taken)

    def _bundle(self, bundle: str, stage: int, taken: dict[tuple[str, str], list[Any]]) -> None:
        frame = self.frame
        bought = frame.model.add_integer_variable(lb=0, ub=len(frame.placements))
        self.spent[stage].append(self._list(stage).prices[bundle] * bought)
        members = self.world.catalog.parts[bundle].members
        shares = dict(bundle_shares(self.world, frame.day(stage), bundle))
        for part in sorted(set(members)):
            used = frame.sum(taken.get((bundle, part), []))
            pieces = members.count(part) * bought
            frame.demand(used <= pieces)
            self.losses.append(shares[part] * (pieces - used))

    def _resale(self, stage: int) -> None:
        for one in self.frame.placements:
            value = self._list(stage).resale.get(one.part, 0)
            self.back[stage].append(value * self.frame.remove(one, stage))

    # Labour ---------------------------------------------------------------------------------------

    def _labour(self, stage: int) -> None:
        torn: dict[str, list[tuple[Placement, str]]] = {}
        for one in self.frame.placements:
            for rule in self.world.rules("operation"):
                if rule.action in {"add", "remove", "replug"} and self._selects(rule, one):
                    self._job(rule, one, stage)
                    for name in self._reached(rule, one):
                        torn.setdefault(name, []).append((one, rule.action))
        for name, jobs in torn.items():
            self._tear_down(self.world.rule(name), list(dict.fromkeys(jobs)), stage)

    def _done(self, one: Placement, action: str, stage: int):
        if action == "replug":
            return self.moves.replugged[one, stage]
        return self.frame.add(one, stage) if action == "add" else self.frame.remove(one, stage)

    def _selects(self, rule, one: Placement) -> bool:
        # Conditions of labour are about the bike and the part alone: whole numbers without any variable.
        return bool(self.world.selects_placed(rule.subject, one) and self.things.when(rule.when, one, 0) == 1)

    def _reached(self, rule, one: Placement) -> set[str]:
        reached: set[str] = set()
        for name in rule.after:
            other = self.world.rule(name)
            if self.things.when(other.when, one, 0) == 1:
                reached |= {name} | self._reached(other, one)
        return reached

    def _job(self, rule, one: Placement, stage: int) -> None:
        done = self._done(one, rule.action, stage)
        if self._at_home(stage):
            if not rule.home:
                self.frame.demand(done <= 0)
            return
        amount = self._worth(stage, rule.minutes)
        self.spent[stage].append(amount * done)
        if rule.action == "add":
            self.losses.append(amount * (done - self.frame.stays_from(one, stage)))
        elif rule.action == "remove" and amount:
            self._lose(amount, [(one, "remove")], stage)

    def _tear_down(self, rule, jobs: list[tuple[Placement, str]], stage: int) -> None:
        frame, done = self.frame, self.frame.share()
        for one, action in jobs:
            frame.demand(done >= self._done(one, action, stage))
        if self._at_home(stage):
            if not rule.home:
                frame.demand(done <= 0)
            return
        amount = self._worth(stage, rule.minutes)
        self.spent[stage].append(amount * done)
        if amount:
            self._lose(amount, jobs, stage)

    def _lose(self, amount: int, jobs: list[tuple[Placement, str]], stage: int) -> None:
        """Count a line as lost if it served something, and nothing that it served is there at the end."""
        frame = self.frame
        served, staying = [], []
        for one, action in jobs:
            if action == "add":
                served.append(frame.add(one, stage))
                staying.append(frame.stays_from(one, stage))
            elif action == "remove":
                for other in frame.placements:
                    if other != one and self.world.slot(other) == self.world.slot(one):
                        gone = frame.remove(one, stage)
                        served.append(gone + frame.add(other, stage) - 1)
                        made_room = frame.share()
                        frame.demand(made_room <= gone)
                        frame.demand(made_room <= frame.stays_from(other, stage))
                        staying.append(made_room)
        if served:
            lost = frame.share()
            kept = frame.sum(staying)
            for term in served:
                frame.demand(lost >= term - kept)
            self.losses.append(amount * lost)

    # Presets --------------------------------------------------------------------------------------

    def _presets(self, stage: int) -> None:
        frame = self.frame
        made = {one: literal for (one, when), literal in self.presets.made.items() if when == stage}
        if self._at_home(stage) and made:
            sent = frame.share()
            for literal in made.values():
                frame.demand(sent >= literal)
            self.spent[stage].append(self._list(stage).freight * sent)
        for one, literal in made.items():
            self._preset(one, literal, stage)

    def _preset(self, one: Placement, made, stage: int) -> None:
        frame = self.frame
        services = self.world.services(one.part, frame.day(stage))
        if services:
            price = self._list(stage).prices[services[0]] + self._worth(
                stage, self.world.minutes(services[0])
            )
            self.spent[stage].append(price * made)
            void = frame.share()
            for later in range(stage + 1, frame.last + 1):
                frame.demand(void >= made - self.presets.kept[one, later])
            self.losses.append(price * void)
        for rule in self.world.rules("operation"):
            if rule.action == "preset" and self._selects(rule, one):
                amount, lost = self._worth(stage, rule.minutes), frame.share()
                self.spent[stage].append(amount * made)
                frame.demand(lost >= made + frame.add(one, stage) - frame.stays_from(one, stage) - 1)
                self.losses.append(amount * lost)

    # Budgets --------------------------------------------------------------------------------------

    def _budgets(self) -> None:
        question = self.frame.question
        years: dict[int, list[int]] = {}
        for stage in self.frame.stages:
            asked = question.stages[stage - 1]
            years.setdefault(asked.on.year, []).append(stage)
            self._cap([stage], asked.budget)
        for year, stages in years.items():
            self._cap(stages, question.year_budgets.get(year))
        self._cap(list(self.frame.stages), question.budget)

    def _cap(self, stages: list[int], budget: int | None) -> None:
        if budget is None:
            return
        spent = [term for stage in stages for term in self.spent[stage]]
        if self.frame.question.resale_counts:
            spent += [-1 * term for stage in stages for term in self.back[stage]]
        self.frame.demand(self.frame.sum(spent) <= budget)
