"""The money of a problem as a CP-SAT model: purchases, bundles, labour, presets, resale, waste, budgets. In minor units."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rules.build import Build, Placement
from rules.plan.bond import Bond
from rules.plan.calendar import Calendar
from rules.plan.feed_law import Feeds, FeedsByAmplifier
from rules.plan.solver import negated, sum_of
from rules.pricing import Work
from rules.troubles import unpreset

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from rules.plan.solver import Literal, Sum


class Bill(Calendar):
    """What the calendar costs."""

    def _presets(self) -> None:
        """Make room for presets, with what is certain: a new amplifier in a chain needs one, and so does a changed head unit."""
        chained = {x for x in self.candidates if self.bench.is_chained(x)}
        heads = [x for x in sorted(self.candidates) if self.bench.is_head(x)]
        for amplifier in sorted(x for x in self.candidates if self.bench.part(x).kind == "amplifier"):
            for k in self.visits:
                offered = self.pricer.service(amplifier, self.problem.stages[k - 1].on) is not None
                made: Literal = self.model.new_bool_var(f"preset {amplifier} {k}") if offered else 0
                self.preset[amplifier, k] = made
                if not isinstance(made, int):
                    self._clause([negated(made), self.there[amplifier, k]])
                    self.model.add_implication(made, self.busy[k])
                if amplifier in chained:
                    self._must_preset(amplifier, k, made, heads)
                    if amplifier in unpreset(self.bench):
                        self._must_preset_by(k, amplifier, self.there[amplifier, k])

    def _must_preset_by(self, k: int, amplifier: Placement, needing: Literal) -> None:
        """Say that an amplifier that had no preset has got one by a visit after which it needs one, once anything is done."""
        made = [self.preset[amplifier, j] for j in range(1, k + 1)]
        self._clause([negated(needing), negated(self._started(k)), *made])

    def _must_preset(self, amplifier: Placement, k: int, made: Literal, heads: list[Placement]) -> None:
        if (amplifier, k) in self.add:
            self._clause([negated(self.add[amplifier, k]), made])
        for head in heads:
            for change in (self.add.get((head, k)), self.remove.get((head, k))):
                if change is not None:
                    self._clause([negated(change), negated(self.there[amplifier, k]), made])

    def tell_feeding(self, build: Build, found: FeedsByAmplifier, now: FeedsByAmplifier) -> None:
        """Say what amplifiers may feed wherever this build comes again, as far as parts with plugs go; and what they feed now."""
        known = {x: ways for x, ways in found.items() if x in self.candidates}
        for amplifier in known:
            if (amplifier, 0) not in self.needing:
                self._watch(amplifier, now.get(amplifier, ()))
        for k in self.visits if known else ():
            same = self.model.new_bool_var("same")
            # Until something is done, the bike stands as it was brought, sound or not.
            met = [*self._sameness({k: build}), self._started(k)]
            self._clause([same, *(negated(x) for x in met)])
            for amplifier, ways in known.items():
                self._feeds_as(same, amplifier, k, ways)

    def bind(self, bond: Bond, now: Sequence[Feeds]) -> None:
        """Say what an amplifier does wherever a bond holds.

        Args:
            now: What it may feed before the first visit.
        """
        if not bond.present <= self.candidates:
            return
        amplifier = bond.amplifier
        if (amplifier, 0) not in self.needing:
            self._watch(amplifier, now)
        for k in self.visits:
            # Until something is done, the bike stands as it was brought, sound or not.
            other = [negated(x) for x in (self.there[amplifier, k], self._started(k))]
            other += [self.there[x, k] for x in sorted(bond.absent & self.candidates)]
            for x in sorted(bond.present - {amplifier, bond.pair}):
                # A load depends on the speakers themselves, a feed on their plugs alone.
                is_itself = bond.pair is None and self.bench.part(x).kind == "speaker"
                other.append(negated(self.there[x, k] if is_itself else self._any_like(x, k)))
            if bond.pair is None:
                self._clause([*other, self.needing[amplifier, k]])
            else:
                for like in sorted(self.bench.kin(bond.pair) & self.candidates):
                    self._clause([*other, negated(self.there[like, k]), self.fed[amplifier, like, k]])

    def _feeds_as(self, where: Literal, amplifier: Placement, k: int, ways: Sequence[Feeds]) -> None:
        """Say that under a literal an amplifier feeds, and needs a preset, in one of these ways."""
        chosen = [where] if len(ways) == 1 else [self.model.new_bool_var("feeds") for _ in ways]
        self._clause([negated(where), *chosen])
        pairs = sorted({pair for amp, pair, visit in self.fed if (amp, visit) == (amplifier, k)})
        for way, literal in zip(ways, chosen, strict=True):
            if way.needs_preset:
                self._clause([negated(literal), self.needing[amplifier, k]])
            for pair in pairs:
                fed = self.fed[amplifier, pair, k]
                self._clause([negated(literal), fed if pair in way.pairs else negated(fed)])

    def _watch(self, amplifier: Placement, now: Sequence[Feeds]) -> None:
        """Say that an amplifier which needs a preset takes one when it comes in, and when its head unit or its pairs change."""
        pairs = [x for x in sorted(self.candidates) if self.bench.part(x).kind == "speaker"]
        heads = [x for x in sorted(self.candidates) if self.bench.is_head(x)]
        self.needing[amplifier, 0] = (
            0 if all(not way.needs_preset for way in now) else self.model.new_bool_var("")
        )
        for pair in pairs:
            self.fed[amplifier, pair, 0] = self.model.new_bool_var("fed") if pair in self.problem.start else 0
        if now:
            self._feeds_as(1, amplifier, 0, now)
        for k in self.visits:
            needing = self.needing[amplifier, k] = self.model.new_bool_var("needs preset")
            given = [negated(needing), self.preset[amplifier, k]]
            if amplifier in unpreset(self.bench):
                self._must_preset_by(k, amplifier, needing)
            changes = [self.add.get((amplifier, k))]
            changes += [literal for x in heads for literal in (self.add.get((x, k)), self.remove.get((x, k)))]
            for change in changes:
                if change is not None:
                    self._clause([negated(change), *given])
            for pair in pairs:
                fed = self.fed[amplifier, pair, k] = self.model.new_bool_var("fed")
                self._clause([negated(fed), self.there[pair, k]])
                if k > 1 or amplifier in self.problem.start:
                    before = self.fed[amplifier, pair, k - 1]
                    self._clause([negated(fed), before, *given])
                    self._clause([fed, negated(before), *given])
                    self._clause([self._started(k), negated(fed), before])
                    self._clause([self._started(k), fed, negated(before)])

    def _replugs(self) -> None:
        """Make room for plugs that move, where that costs something; which ones do, cuts will say."""
        for placed in sorted(self.pricer.charged_replugs(self.candidates)):
            for k in self.visits:
                self.replug[placed, k] = self.model.new_bool_var(f"replug {placed} {k}")

    def _labour(self) -> None:
        for k in self.visits:
            stage = self.problem.stages[k - 1]
            ordered: dict[Work, list[Literal]] = {}
            for_presets: dict[Work, list[Literal]] = {}
            for action, changes, into in (
                ("add", self.add, ordered),
                ("remove", self.remove, ordered),
                ("replug", self.replug, ordered),
                ("preset", self.preset, for_presets),
            ):
                for (placed, visit), literal in changes.items():
                    if visit == k:
                        for work in self.pricer.operations(placed, action):
                            into.setdefault(work, []).append(literal)
            for work in sorted({*ordered, *for_presets}, key=str):
                self._work(
                    k, work, ordered.get(work, []), for_presets.get(work, []), at_home=stage.fitter == "home"
                )
            self._preset_money(k)

    def _work(
        self, k: int, work: Work, ordered: list[Literal], presets: list[Literal], *, at_home: bool
    ) -> None:
        is_home_work = self.pricer.operation(work).home
        if at_home and not is_home_work and self.problem.strict_home:
            for literal in ordered:
                self._clause([negated(literal), *presets])
        charged = presets if at_home and is_home_work else [*ordered, *presets]
        done = self.model.new_bool_var(f"{work} {k}")
        for literal in charged:
            self._clause([negated(literal), done])
        price = self.pricer.work_price(work, self.problem.stages[k - 1].on)
        if charged and price:
            self.spent[k].append(done * price)
            self._wasted_work(k, work, done, price)

    def _wasted_work(self, k: int, work: Work, done: cp_model.IntVar, price: int) -> None:
        """Count a labour line as waste if everything that it served is gone at the end."""
        if not self.counts_waste:
            return
        served = [self.add[x, k] for x in self._served(work) if (x, k) in self.add]
        served += self._made_room(work, k)
        staying = [
            self._both(self.add[x, k], self.there[x, self.problem.last])
            for x in self._served(work)
            if (x, k) in self.add
        ]
        staying += [
            self._both(x, self.there[placed, self.problem.last]) for x, placed in self._made_room_for(work, k)
        ]
        if not served:
            return
        lost = self.model.new_bool_var(f"lost {work} {k}")
        for literal in served:
            self._clause([negated(literal), negated(done), lost, *staying])
        self.waste.append(lost * price)

    def _served(self, work: Work) -> list[Placement]:
        return [
            x
            for x in sorted(self.candidates - self.problem.start)
            if work in self.pricer.operations(x, "add") or work in self.pricer.operations(x, "preset")
        ]

    def _made_room(self, work: Work, k: int) -> list[Literal]:
        return [literal for literal, _ in self._made_room_for(work, k)]

    def _made_room_for(self, work: Work, k: int) -> Iterator[tuple[Literal, Placement]]:
        for (gone, visit), removed in self.remove.items():
            if visit == k and work in self.pricer.operations(gone, "remove"):
                for new in sorted(self.candidates - self.problem.start):
                    if (new, k) in self.add and self._share_slot(gone, new):
                        yield self._both(removed, self.add[new, k]), new

    def _share_slot(self, one: Placement, other: Placement) -> bool:
        return one.place == other.place and self.bench.part(one).slot == self.bench.part(other).slot

    def _preset_money(self, k: int) -> None:
        stage = self.problem.stages[k - 1]
        made = [literal for (_, visit), literal in self.preset.items() if visit == k]
        for (amplifier, visit), literal in self.preset.items():
            if visit == k and not isinstance(literal, int):
                price = self.pricer.preset_price(amplifier, stage.on)
                self.spent[k].append(literal * price)
                self._wasted_preset(amplifier, k, literal, price)
        found = self.pricer.list_on(stage.on)
        if stage.fitter == "home" and found is not None and made:
            sent = self.model.new_bool_var(f"sent {k}")
            for literal in made:
                self._clause([negated(literal), sent])
            self.spent[k].append(sent * found[0].freight)

    def _wasted_preset(self, amplifier: Placement, k: int, made: Literal, price: int) -> None:
        later = [self.preset[amplifier, j] for j in range(k + 1, self.problem.last + 1)]
        if not later or not self.counts_waste:
            return
        void = self.void[amplifier, k] = self.model.new_bool_var(f"void {amplifier} {k}")
        for literal in (*later, negated(self.there[amplifier, self.problem.last])):
            self._clause([negated(made), negated(literal), void])
        self.waste.append(void * price)

    def _purchases(self) -> None:
        for k in self.visits:
            on = self.problem.stages[k - 1].on
            bought = {
                x: literal
                for (x, visit), literal in self.add.items()
                if visit == k and x not in self.problem.free
            }
            ways: dict[Placement, list[Literal]] = {x: [] for x in bought}
            for x in sorted(bought):
                price = self.pricer.price(x.part, on)
                if price is not None:
                    single = self.model.new_bool_var(f"buy {x} {k}")
                    ways[x].append(single)
                    self.spent[k].append(single * price.amount)
                    self._wasted_part(x, k, single, price.amount)
            self._bundles(k, sorted(bought), ways)
            for x, literal in bought.items():
                self.model.add(sum(ways[x]) == literal)
        for part, most in sorted(self.problem.most_pieces.items()):
            self.model.add(sum(literal for (x, _), literal in self.add.items() if x.part == part) <= most)

    def _bundles(self, k: int, bought: list[Placement], ways: dict[Placement, list[Literal]]) -> None:
        on = self.problem.stages[k - 1].on
        for bundle in map(self.bench.tables.catalog.parts.__getitem__, self.bench.tables.bundles):
            price = self.pricer.price(bundle.id, on)
            members = [x for x in bought if x.part in bundle.members]
            if price is None or not members:
                continue
            most = max(sum(1 for x in members if x.part == member) for member in bundle.members)
            count = self.model.new_int_var(0, most, f"{bundle.id} {k}")
            self.spent[k].append(count * price.amount)
            shares = self.pricer.bundle_shares(bundle.id, on)
            for member in sorted(set(bundle.members)):
                used: list[Literal] = []
                for x in members:
                    if x.part == member:
                        taken = self.model.new_bool_var(f"{x} in {bundle.id} {k}")
                        used.append(taken)
                        ways[x].append(taken)
                        self._wasted_part(x, k, taken, shares[member])
                pieces = bundle.members.count(member)
                self.model.add(sum(used) <= count * pieces)
                self.waste.append((count * pieces - sum(used)) * shares[member])

    def _wasted_part(self, placed: Placement, k: int, bought: Literal, price: int) -> None:
        for j in range(k + 1, self.problem.last + 1) if self.counts_waste else ():
            removed = self.remove.get((placed, j))
            lost = max(0, price - self.pricer.resale(placed.part, self.problem.stages[j - 1].on))
            if removed is not None and lost:
                self.waste.append(self._both(bought, removed) * lost)

    def _resale(self) -> None:
        for (placed, k), literal in self.remove.items():
            value = self.pricer.resale(placed.part, self.problem.stages[k - 1].on)
            if value:
                self.resale[k].append(literal * value)

    def _budgets(self) -> None:
        caps: list[tuple[list[int], int]] = [
            ([k], cap) for k in self.visits if (cap := self.problem.stages[k - 1].budget) is not None
        ]
        for year, cap in sorted(self.problem.year_budgets.items()):
            caps.append(([k for k in self.visits if self.problem.stages[k - 1].on.year == year], cap))
        if self.problem.budget is not None:
            caps.append((list(self.visits), self.problem.budget))
        for visits, cap in caps:
            self._cap(sum_of(self._cost_of(k, resale=self.problem.resale_counts) for k in visits), cap)
        if self.problem.most_total is not None:
            total = sum_of(self._cost_of(k, resale=True) for k in self.visits)
            self._cap(total, self.problem.most_total)

    def _cap(self, spent: Sum, cap: int) -> None:
        if not isinstance(spent, int):
            self.model.add(spent <= cap)
        elif spent > cap:
            self.model.add_bool_or([])

    def _cost_of(self, k: int, *, resale: bool) -> Sum:
        spent = sum_of(self.spent[k])
        return spent - sum_of(self.resale[k]) if resale else spent
