"""The calendar of a problem as a CP-SAT model: what is there after each visit, and the laws and cuts that it must obey.

Visits are counted from 1; index 0 is the bike before the first visit.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from rules.build import Build, Placement, Slot
from rules.catalog.part import RUN_KINDS
from rules.electrical.load import exact
from rules.laws import Law
from rules.plan.feed_law import FeedLaw, told_apart
from rules.plan.problem import Demand, Problem
from rules.plan.schedule import ByVisit
from rules.plan.solver import negated, new_model, sum_of
from rules.pricing import Pricer
from rules.scene import number

MILLIGRAMS = 1_000_000
"""In a kilogram: masses are whole numbers in the model."""

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from rules.plan.solver import Literal, Sum


class Calendar:
    """Placements by visit. Of validity it knows only the laws that it has been told."""

    def __init__(self, problem: Problem, pricer: Pricer, *, counts_waste: bool = False) -> None:
        self.problem = problem
        self.counts_waste = counts_waste and problem.last > 1
        self.pricer = pricer
        self.bench = pricer.bench
        self.model = new_model()
        self.visits = range(1, problem.last + 1)
        self.candidates: set[Placement] = set()
        self.there: dict[tuple[Placement, int], Literal] = {}
        self.add: dict[tuple[Placement, int], Literal] = {}
        self.remove: dict[tuple[Placement, int], Literal] = {}
        self.preset: dict[tuple[Placement, int], Literal] = {}
        self.replug: dict[tuple[Placement, int], Literal] = {}
        self.spent: dict[int, list[Sum]] = {k: [] for k in self.visits}
        self.resale: dict[int, list[Sum]] = {k: [] for k in self.visits}
        self.waste: list[Sum] = []
        self.void: dict[tuple[Placement, int], cp_model.IntVar] = {}
        self.any_of: dict[tuple[tuple[Placement, ...], int], Literal] = {}
        self._classes: dict[Placement, frozenset[Placement]] = {}
        self.needing: dict[tuple[Placement, int], Literal] = {}
        self.fed: dict[tuple[Placement, Placement, int], Literal] = {}
        self.started: dict[int, cp_model.IntVar] = {}
        self.busy: dict[int, cp_model.IntVar] = {k: self.model.new_bool_var(f"busy {k}") for k in self.visits}

    def _start(self, placed: Placement) -> None:
        self.there[placed, 0] = 1
        for k in self.visits:
            if placed in self.problem.must_remove and k == 1:
                self.remove[placed, k] = 1
            elif self._may_remove(placed, k):
                self._new_removal(placed, k)
            gone = sum(self.remove.get((placed, j), 0) for j in range(1, k + 1))
            self.there[placed, k] = self._equal(f"{placed} {k}", 1 - gone)

    def _candidate(self, placed: Placement) -> None:
        self.there[placed, 0] = 0
        for k in self.visits:
            if self.problem.may_add(placed, k) and self._may_splice(placed):
                self.add[placed, k] = self.model.new_bool_var(f"add {placed} {k}")
            if k > 1 and self._may_remove(placed, k):
                self._new_removal(placed, k)
            change = sum(
                self.add.get((placed, j), 0) - self.remove.get((placed, j), 0) for j in range(1, k + 1)
            )
            self.there[placed, k] = self._equal(f"{placed} {k}", change)
            if (placed, k) in self.remove:
                self.model.add_implication(self.remove[placed, k], self.there[placed, k - 1])
        self.model.add_at_most_one(self.add[placed, k] for k in self.visits if (placed, k) in self.add)

    def _new_removal(self, placed: Placement, k: int) -> None:
        self.remove[placed, k] = self.model.new_bool_var(f"remove {placed} {k}")

    def _may_remove(self, placed: Placement, k: int) -> bool:
        if placed in self.problem.must_remove or not self.problem.may_remove(placed, k):
            return False
        return (
            not self.problem.keeps_wires or not self._is_run(placed) or placed.part in self.problem.rewirable
        )

    def _is_run(self, placed: Placement) -> bool:
        return self.bench.part(placed).kind in RUN_KINDS and placed not in self.bench.stock

    def _may_splice(self, placed: Placement) -> bool:
        spliced = self.problem.keeps_wires and self.bench.part(placed).rewires
        return not spliced or placed.part in self.problem.rewirable

    def _equal(self, name: str, value: Sum) -> Literal:
        if isinstance(value, int):
            return value
        var = self.model.new_bool_var(name)
        self.model.add(var == value)
        return var

    def _busy(self) -> None:
        for k in self.visits:
            done = [
                x for changes in (self.add, self.remove) for (_, visit), x in changes.items() if visit == k
            ]
            self._clause([negated(self.busy[k]), *done])
            for literal in done:
                self._clause([negated(literal), self.busy[k]])

    def _removals(self) -> None:
        """Take a part out only where something wanted comes in at the same place, or where the rider lets it go."""
        wanted = frozenset[Placement]().union(*(demand.options for demand in self.problem.demands))
        coming: dict[tuple[str, int], list[Literal]] = {}
        for (placed, k), literal in self.add.items():
            if placed in wanted:
                coming.setdefault((placed.place, k), []).append(literal)
        for (placed, k), removed in self.remove.items():
            if not self._is_let_go(placed):
                self._clause([negated(removed), *coming.get((placed.place, k), [])])

    def _is_let_go(self, placed: Placement) -> bool:
        problem = self.problem
        return placed in problem.must_remove | problem.may_go or placed.part in problem.rewirable

    def _slots(self) -> None:
        slots: dict[Slot, list[Placement]] = {}
        for placed in sorted(self.candidates):
            slots.setdefault(self.bench.slot(placed), []).append(placed)
        for slot, parts in slots.items():
            if len(parts) > self.bench.capacity(*slot):
                for k in self.visits:
                    self.model.add(sum(self.there[x, k] for x in parts) <= self.bench.capacity(*slot))

    def _masses(self) -> None:
        """Keep what is added less what is taken out within its limit, in whole milligrams."""
        if self.problem.most_added_kg is None:
            return
        grams = {
            x: round(exact(number(self.bench.part(x).mass_kg) or 0.0) * MILLIGRAMS) for x in self.candidates
        }
        for k in self.visits:
            change = sum_of(grams[x] * (self.there[x, k] - self.there[x, 0]) for x in sorted(self.candidates))
            if not isinstance(change, int):
                self.model.add(change <= round(exact(self.problem.most_added_kg) * MILLIGRAMS))

    def _demands(self) -> None:
        for demand in self.problem.demands:
            for k in range(demand.since, self.problem.last + 1):
                self._clause(self.there[x, k] for x in sorted(demand.options) if (x, k) in self.there)

    # --- laws and cuts ------------------------------------------------------------------------------------------

    def obey(self, law: Law, *, from_start: bool, switch: cp_model.IntVar | None = None) -> None:
        """Forbid the builds that break a law, in every visit; before the first change too, if `from_start`.

        Args:
            switch: A literal under which alone the law counts, for finding out which laws conflict.
        """
        if not law.may_hold_in(self.candidates):
            return
        groups = [sorted(group & self.candidates) for group in law.groups]
        for k in self.visits:
            members = [negated(self._any_of(group, k)) for group in groups]
            members += [self.there[x, k] for x in sorted(law.repairs & self.candidates)]
            if not from_start:
                members.append(negated(self._started(k)))
            if switch is not None:
                members.append(negated(switch))
            self._clause(members)

    def _started(self, k: int) -> Literal:
        if k in self.started:
            return self.started[k]
        started = self.model.new_bool_var(f"started {k}")
        for j in range(1, k + 1):
            self.model.add_implication(self.busy[j], started)
        self.started[k] = started
        return started

    def forbid(self, steps: dict[int, Build]) -> None:
        """Forbid these builds (by visit), as far as parts with plugs go, from coming together again."""
        self._clause(negated(x) for x in self._sameness(steps))

    def require(
        self,
        steps: dict[int, Build],
        ways: Iterable[tuple[ByVisit, ByVisit]],
    ) -> None:
        """Say that these builds, as far as parts with plugs go, take the presets and re-pluggings of one of these ways."""
        chosen: list[Literal] = []
        for presets, replugs in ways:
            literals = [self.preset[x, k] for k, made in enumerate(presets) for x in sorted(made)]
            literals += [self.replug[x, k] for k, moved in enumerate(replugs) for x in sorted(moved)]
            taken = self.model.new_bool_var("way")
            for literal in literals:
                self._clause([negated(taken), literal])
            chosen.append(taken)
        self._clause([*chosen, *(negated(x) for x in self._sameness(steps))])

    def lose(self, steps: dict[int, Build], void: Iterable[tuple[Placement, int]]) -> None:
        """Say that these builds, as far as parts with plugs go, lose these presets (amplifier and visit), if they are made."""
        different = [negated(x) for x in self._sameness(steps)]
        for key in sorted(void):
            if key in self.void:
                self._clause([*different, negated(self.preset[key]), self.void[key]])

    def forbid_weak_feed(self, demand: Demand, pair: Placement, like: Placement, law: FeedLaw) -> None:
        """Say that a pair whose channels are too weak where the law on its `like` holds does not meet a wish for power."""
        if pair not in self.candidates or not law.present - {like} <= self.candidates:
            return
        others = sorted((demand.options - {pair}) & self.candidates)
        for k in range(demand.since, self.problem.last + 1):
            instead = [self.there[x, k] for x in others]
            self._clause([negated(self.there[pair, k]), *self._fed_otherwise(law, {like}, k), *instead])

    def forbid_move(self, old: FeedLaw, new: FeedLaw, holders: Iterable[tuple[Placement, bool]]) -> None:
        """Say that no visit goes from where one feed law holds to where the other does, while the old channels bind.

        Args:
            holders: What is there after the visit, or is not, for the old channels to be binding.
        """
        held = list(holders)
        if any(x not in self.candidates for x, is_there in held if is_there):
            return
        for k in self.visits:
            bound = [
                negated(self.there[x, k]) if is_there else self.there[x, k]
                for x, is_there in held
                if x in self.candidates
            ]
            earlier, later = self._fed_otherwise(old, set(), k - 1), self._fed_otherwise(new, set(), k)
            self._clause([*earlier, *later, *bound])

    def _fed_otherwise(self, law: FeedLaw, told: set[Placement], k: int) -> list[Literal]:
        """Give literals of which one holds wherever a feed law does not apply after a visit."""
        twins = frozenset[Placement]().union(*(self.bench.kin(x) for x in law.present))
        return [
            *(negated(self._any_like(x, k)) for x in sorted(law.present - told)),
            *(self.there[x, k] for x in sorted((law.absent - twins) & self.candidates)),
        ]

    def _any_like(self, placed: Placement, k: int) -> Literal:
        """Give a literal that holds while a part is there that feeds, or is fed, as this one: for speakers, any with its plugs."""
        if self.bench.part(placed).kind == "speaker":
            return self._any_of(sorted(self.bench.kin(placed) & self.candidates), k)
        return self._any_twin(placed, k)

    def _sameness(self, steps: dict[int, Build]) -> list[Literal]:
        """Give literals that hold together only where these builds come again, or builds that no wiring can tell from them.

        A visit in which nothing is done leaves wiring and presets as they are, so where there was one there must be one.
        """
        same = [
            literal if members & build else negated(literal)
            for k, build in steps.items()
            if k > 0
            for first, members in self._told_apart
            for literal in [self._any_twin(first, k)]
        ]
        before = {0: self.problem.start, **steps}
        done = {k: build != before[k - 1] for k, build in steps.items() if k > 0 and k - 1 in before}
        return [*same, *(self.busy[k] if busy else negated(self.busy[k]) for k, busy in done.items())]

    @cached_property
    def _told_apart(self) -> list[tuple[Placement, Build]]:
        """Give the classes on which wirings depend, each after its first member."""
        classes = {self._class(x) for x in told_apart(self.bench, self.candidates)}
        return sorted((min(x), x) for x in classes)

    def _class(self, placed: Placement) -> frozenset[Placement]:
        """Give the candidates that may stand for a part in a wiring. What a preset is made for stands for itself."""
        if placed not in self._classes:
            self._classes[placed] = self._new_class(placed)
        return self._classes[placed]

    def _new_class(self, placed: Placement) -> frozenset[Placement]:
        if (
            self.bench.part(placed).kind in ("speaker", "amplifier", "head_unit")
            or self.bench.part(placed).host
        ):
            return frozenset({placed})
        return self.bench.twins(placed) & self.candidates

    def _any_twin(self, placed: Placement, k: int) -> Literal:
        """Give a literal that holds while the part or a twin of it is there."""
        return self._any_of(sorted(self._class(placed)), k)

    def _any_of(self, members: Sequence[Placement], k: int) -> Literal:
        """Give a literal that holds while one of these is there; no two ever are."""
        if not members:
            return 0
        if len(members) == 1:
            return self.there[members[0], k]
        key = (tuple(members), k)
        if key not in self.any_of:
            self.any_of[key] = self._equal(f"any of {members[0]} {k}", sum(self.there[x, k] for x in members))
        return self.any_of[key]

    def _clause(self, literals: Iterable[Literal]) -> None:
        members = list(literals)
        if any(isinstance(x, int) and x == 1 for x in members):
            return
        self.model.add_bool_or([x for x in members if not isinstance(x, int)])

    def _both(self, one: Literal, other: Literal) -> Literal:
        if isinstance(one, int) or isinstance(other, int):
            return 0 if 0 in (one, other) else (other if isinstance(one, int) else one)
        both = self.model.new_bool_var("")
        self.model.add_implication(both, one)
        self.model.add_implication(both, other)
        self.model.add_bool_or([both, negated(one), negated(other)])
        return both
