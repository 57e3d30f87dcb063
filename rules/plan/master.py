"""The money and the calendar of a problem as a CP-SAT model. Of validity it knows only the laws that it has been told.

Visits are counted from 1; index 0 is the bike before the first visit. All money is minor units.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import cast

from ortools.sat.python import cp_model

from rules.build import Build, Placement
from rules.catalog.part import RUN_KINDS
from rules.laws import Law
from rules.plan.problem import Problem
from rules.pricing import Doings, Pricer, Work

WORK_LIMIT = 30.0
"""Deterministic time that one call of the solver may take: counted work, the same on any machine."""

PIECE, LATER = 2**44, 2**35
"""Weights of one change more and of one visit later: sixty changes in six visits never add up to the next weight above."""

Literal = cp_model.IntVar | int
Sum = cp_model.LinearExpr | int


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """A solution: the build after each visit (index 0: before the first), the presets made in each, and those counted as lost."""

    builds: tuple[Build, ...]
    presets: tuple[frozenset[Placement], ...]
    void: frozenset[tuple[Placement, int]] = frozenset()

    def adds(self, visit: int) -> frozenset[Placement]:
        """Give what a visit adds."""
        return self.builds[visit] - self.builds[visit - 1]

    def removes(self, visit: int) -> frozenset[Placement]:
        """Give what a visit removes."""
        return self.builds[visit - 1] - self.builds[visit]


class Master:
    """The model. Candidates, laws and cuts are added as they become known."""

    def __init__(self, problem: Problem, pricer: Pricer, *, counts_waste: bool = False) -> None:
        self.problem = problem
        self.counts_waste = counts_waste and problem.last > 1
        self.pricer = pricer
        self.bench = pricer.bench
        self.model = cp_model.CpModel()
        self.visits = range(1, problem.last + 1)
        self.candidates: set[Placement] = set()
        self.there: dict[tuple[Placement, int], Literal] = {}
        self.add: dict[tuple[Placement, int], Literal] = {}
        self.remove: dict[tuple[Placement, int], Literal] = {}
        self.preset: dict[tuple[Placement, int], Literal] = {}
        self.spent: dict[int, list[Sum]] = {k: [] for k in self.visits}
        self.resale: dict[int, list[Sum]] = {k: [] for k in self.visits}
        self.waste: list[Sum] = []
        self.void: dict[tuple[Placement, int], cp_model.IntVar] = {}
        self.twins: dict[tuple[Placement, int], Literal] = {}
        self.started: dict[int, cp_model.IntVar] = {}
        self.busy: dict[int, cp_model.IntVar] = {k: self.model.new_bool_var(f"busy {k}") for k in self.visits}

    # --- placements ---------------------------------------------------------------------------------------------

    def build(self, candidates: Iterable[Placement]) -> None:
        """Set up the whole model over these candidates besides what is there."""
        for placed in sorted(self.problem.start):
            self._start(placed)
        for placed in sorted(set(candidates) - self.problem.start):
            self._candidate(placed)
        self.candidates = {placed for placed, _ in self.there}
        self._busy()
        self._slots()
        self._removals()
        self._demands()
        self._presets()
        self._labour()
        self._purchases()
        self._resale()
        self._budgets()

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
            self._clause([_negated(self.busy[k]), *done])
            for literal in done:
                self._clause([_negated(literal), self.busy[k]])

    def _removals(self) -> None:
        """Take a part out only where something wanted comes in at the same place, or where the rider lets it go."""
        wanted = frozenset[Placement]().union(*(demand.options for demand in self.problem.demands))
        coming: dict[tuple[str, int], list[Literal]] = {}
        for (placed, k), literal in self.add.items():
            if placed in wanted:
                coming.setdefault((placed.place, k), []).append(literal)
        for (placed, k), removed in self.remove.items():
            if not self._is_let_go(placed):
                self._clause([_negated(removed), *coming.get((placed.place, k), [])])

    def _is_let_go(self, placed: Placement) -> bool:
        problem = self.problem
        return placed in problem.must_remove | problem.may_go or placed.part in problem.rewirable

    def _slots(self) -> None:
        slots: dict[tuple[str, str], list[Placement]] = {}
        for placed in sorted(self.candidates):
            slots.setdefault((placed.place, self.bench.part(placed).slot or ""), []).append(placed)
        for slot, parts in slots.items():
            if len(parts) > self.bench.capacity(*slot):
                for k in self.visits:
                    self.model.add(sum(self.there[x, k] for x in parts) <= self.bench.capacity(*slot))

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
        if not law.present <= self.candidates:
            return
        for k in self.visits:
            members = [_negated(self.there[x, k]) for x in sorted(law.present)]
            members += [self.there[x, k] for x in sorted(law.repairs & self.candidates)]
            if not from_start:
                members.append(_negated(self._started(k)))
            if switch is not None:
                members.append(_negated(switch))
            self._clause(members)

    def _started(self, k: int) -> Literal:
        if k in self.started:
            return self.started[k]
        started = self.model.new_bool_var(f"started {k}")
        for j in range(1, k + 1):
            self.model.add_implication(self.busy[j], started)
        self.started[k] = started
        return started

    def forbid(self, steps: dict[int, Build], wired: frozenset[Placement]) -> None:
        """Forbid these builds (by visit), as far as parts with plugs go, from coming together again."""
        self._clause(_negated(x) for x in self._sameness(steps, wired))

    def require(
        self,
        steps: dict[int, Build],
        wired: frozenset[Placement],
        ways: Iterable[dict[int, frozenset[Placement]]],
    ) -> None:
        """Say that these builds, as far as parts with plugs go, take the presets of one of these ways (by visit)."""
        chosen: list[Literal] = []
        for way in ways:
            literals = [self.preset[amplifier, k] for k, made in way.items() for amplifier in sorted(made)]
            taken = self.model.new_bool_var("way")
            for literal in literals:
                self._clause([_negated(taken), literal])
            chosen.append(taken)
        self._clause([*chosen, *(_negated(x) for x in self._sameness(steps, wired))])

    def lose(
        self, steps: dict[int, Build], wired: frozenset[Placement], void: Iterable[tuple[Placement, int]]
    ) -> None:
        """Say that these builds, as far as parts with plugs go, lose these presets (amplifier and visit), if they are made."""
        different = [_negated(x) for x in self._sameness(steps, wired)]
        for key in sorted(void):
            if key in self.void:
                self._clause([*different, _negated(self.preset[key]), self.void[key]])

    def require_preset(self, amplifier: Placement, speaker: Placement, law: tuple[Build, Build]) -> None:
        """Say that a change of this speaker, which the amplifier feeds with these parts and without those, takes a preset."""
        present, absent = law
        for k in self.visits:
            made = self.preset[amplifier, k]
            for change, j in ((self.add.get((speaker, k)), k), (self.remove.get((speaker, k)), k - 1)):
                if change is not None and present <= self.candidates:
                    twins = frozenset[Placement]().union(*(self.bench.twins(x) for x in present))
                    fed = [_negated(self._any_twin(x, j)) for x in sorted(present - {speaker, amplifier})]
                    fed += [self.there[x, j] for x in sorted((absent - twins) & self.candidates)]
                    self._clause([_negated(change), _negated(self.there[amplifier, k]), *fed, made])

    def _sameness(self, steps: dict[int, Build], wired: frozenset[Placement]) -> list[Literal]:
        """Give literals that hold together only where these builds come again, or builds that no wiring can tell from them."""
        classes = {min(self._class(x)): self._class(x) for x in wired & self.candidates}
        return [
            literal if members & build else _negated(literal)
            for k, build in steps.items()
            if k > 0
            for first, members in sorted(classes.items())
            for literal in [self._any_twin(first, k)]
        ]

    def _class(self, placed: Placement) -> frozenset[Placement]:
        """Give the candidates that may stand for a part in a wiring. What a preset is made for stands for itself."""
        if (
            self.bench.part(placed).kind in ("speaker", "amplifier", "head_unit")
            or self.bench.part(placed).host
        ):
            return frozenset({placed})
        return self.bench.twins(placed) & self.candidates

    def _any_twin(self, placed: Placement, k: int) -> Literal:
        """Give a literal that holds while the part or a twin of it is there."""
        members = self._class(placed)
        if len(members) == 1:
            return self.there[placed, k]
        key = (min(members), k)
        if key not in self.twins:
            self.twins[key] = self._equal(
                f"twins {placed} {k}", sum(self.there[x, k] for x in sorted(members))
            )
        return self.twins[key]

    def _clause(self, literals: Iterable[Literal]) -> None:
        members = list(literals)
        if any(isinstance(x, int) and x == 1 for x in members):
            return
        self.model.add_bool_or([x for x in members if not isinstance(x, int)])

    # --- presets ------------------------------------------------------------------------------------------------

    def _presets(self) -> None:
        """Make room for presets, with what is certain: a new amplifier in a chain needs one, and so does a changed head unit."""
        chained = {x for x in self.candidates if self._is_chained(x)}
        heads = [x for x in sorted(self.candidates) if self._is_head(x)]
        for amplifier in sorted(x for x in self.candidates if self.bench.part(x).kind == "amplifier"):
            for k in self.visits:
                offered = self.pricer.service(amplifier, self.problem.stages[k - 1].on) is not None
                made: Literal = self.model.new_bool_var(f"preset {amplifier} {k}") if offered else 0
                self.preset[amplifier, k] = made
                if not isinstance(made, int):
                    self._clause([_negated(made), self.there[amplifier, k]])
                    self.model.add_implication(made, self.busy[k])
                if amplifier in chained:
                    self._must_preset(amplifier, k, made, heads)

    def _must_preset(self, amplifier: Placement, k: int, made: Literal, heads: list[Placement]) -> None:
        if (amplifier, k) in self.add:
            self._clause([_negated(self.add[amplifier, k]), made])
        for head in heads:
            for change in (self.add.get((head, k)), self.remove.get((head, k))):
                if change is not None:
                    self._clause([_negated(change), _negated(self.there[amplifier, k]), made])

    def _is_chained(self, placed: Placement) -> bool:
        return any(self.bench.selects(rule.subject, placed) for rule in self.bench.tables.preset_chains)

    def _is_head(self, placed: Placement) -> bool:
        part = self.bench.part(placed)
        kinds = (self.bench.tables.catalog.parts[host].kind for host in part.host)
        return part.kind == "head_unit" or "head_unit" in kinds

    # --- money --------------------------------------------------------------------------------------------------

    def _labour(self) -> None:
        for k in self.visits:
            stage = self.problem.stages[k - 1]
            ordered: dict[Work, list[Literal]] = {}
            for_presets: dict[Work, list[Literal]] = {}
            for action, changes, into in (
                ("add", self.add, ordered),
                ("remove", self.remove, ordered),
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
                self._clause([_negated(literal), *presets])
        charged = presets if at_home and is_home_work else [*ordered, *presets]
        done = self.model.new_bool_var(f"{work} {k}")
        for literal in charged:
            self._clause([_negated(literal), done])
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
            self._clause([_negated(literal), _negated(done), lost, *staying])
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

    def _both(self, one: Literal, other: Literal) -> Literal:
        if isinstance(one, int) or isinstance(other, int):
            return 0 if 0 in (one, other) else (other if isinstance(one, int) else one)
        both = self.model.new_bool_var("")
        self.model.add_implication(both, one)
        self.model.add_implication(both, other)
        self.model.add_bool_or([both, _negated(one), _negated(other)])
        return both

    def _preset_money(self, k: int) -> None:
        stage = self.problem.stages[k - 1]
        made = [literal for (_, visit), literal in self.preset.items() if visit == k]
        for (amplifier, visit), literal in self.preset.items():
            if visit == k and not isinstance(literal, int):
                price = self.preset_price(amplifier, k)
                self.spent[k].append(literal * price)
                self._wasted_preset(amplifier, k, literal, price)
        found = self.pricer.list_on(stage.on)
        if stage.fitter == "home" and found is not None and made:
            sent = self.model.new_bool_var(f"sent {k}")
            for literal in made:
                self._clause([_negated(literal), sent])
            self.spent[k].append(sent * found[0].freight)

    def preset_price(self, amplifier: Placement, k: int) -> int:
        """Give what a preset costs in a visit, with its bench time, freight aside."""
        on = self.problem.stages[k - 1].on
        service = self.pricer.service(amplifier, on)
        price = self.pricer.price(service, on) if service else None
        return 0 if service is None or price is None else price.amount + self.pricer.bench_price(service, on)

    def _wasted_preset(self, amplifier: Placement, k: int, made: Literal, price: int) -> None:
        later = [self.preset[amplifier, j] for j in range(k + 1, self.problem.last + 1)]
        if not later or not self.counts_waste:
            return
        void = self.void[amplifier, k] = self.model.new_bool_var(f"void {amplifier} {k}")
        for literal in (*later, _negated(self.there[amplifier, self.problem.last])):
            self._clause([_negated(made), _negated(literal), void])
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

    def _bundles(self, k: int, bought: list[Placement], ways: dict[Placement, list[Literal]]) -> None:
        on = self.problem.stages[k - 1].on
        for bundle in self.bench.tables.catalog.parts.values():
            price = self.pricer.price(bundle.id, on) if bundle.kind == "bundle" else None
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
            spent = _sum(self._cost_of(k, resale=self.problem.resale_counts) for k in visits)
            if not isinstance(spent, int):
                self.model.add(spent <= cap)
            elif spent > cap:
                self.model.add_bool_or([])

    def _cost_of(self, k: int, *, resale: bool) -> Sum:
        spent = _sum(self.spent[k])
        return spent - _sum(self.resale[k]) if resale else spent

    # --- objectives ---------------------------------------------------------------------------------------------

    def total(self) -> Sum:
        """Give the whole cost after resale."""
        return _sum(self._cost_of(k, resale=True) for k in self.visits)

    def visits_made(self) -> Sum:
        """Give the number of visits in which something is done."""
        return _sum(self.busy.values())

    def wasted(self) -> Sum:
        """Give the waste."""
        return _sum(self.waste)

    def pieces(self) -> Sum:
        """Give the number of changes; of as many the earlier; then by a fingerprint of names, so that no two answers are equal."""
        changes = [*self.add.items(), *self.remove.items()]
        return _sum(literal * (PIECE + k * LATER + _fingerprint(f"{x} {k}")) for (x, k), literal in changes)

    def solve(self, objective: Sum | None) -> tuple[str, Schedule | None, int, int]:
        """Minimise an objective.

        Returns: `optimal`, `feasible` (the work limit ended it), `infeasible` or `unknown`; the schedule; its value; the bound.
        """
        self.model.clear_objective()  # type: ignore[no-untyped-call]
        if objective is not None and not isinstance(objective, int):
            self.model.minimize(objective)
        solver = new_solver()
        status = solver.solve(self.model)
        name = {
            cp_model.OPTIMAL: "optimal",
            cp_model.FEASIBLE: "feasible",
            cp_model.INFEASIBLE: "infeasible",
        }.get(status, "unknown")
        if name in ("infeasible", "unknown"):
            return name, None, 0, 0
        value = (
            objective
            if isinstance(objective, int)
            else round(solver.objective_value)
            if objective is not None
            else 0
        )
        bound = value if name == "optimal" else round(solver.best_objective_bound)
        return name, self._read(solver), value, bound

    def _read(self, solver: cp_model.CpSolver) -> Schedule:
        def holds(literal: Literal) -> bool:
            return bool(literal) if isinstance(literal, int) else solver.boolean_value(literal)

        builds = tuple(
            frozenset(x for x in self.candidates if holds(self.there[x, k]))
            for k in range(self.problem.last + 1)
        )
        presets = (
            frozenset[Placement](),
            *(
                frozenset(x for (x, visit), literal in self.preset.items() if visit == k and holds(literal))
                for k in self.visits
            ),
        )
        void = frozenset(key for key, literal in self.void.items() if holds(literal))
        return Schedule(builds=builds, presets=presets, void=void)


def new_solver() -> cp_model.CpSolver:
    """Give a solver that answers the same on any machine: one worker, a fixed seed, counted work."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    # Full linearisation: the money is a cover problem, which linear bounds close quickly (measured on the demo: 5.1 s to 0.3 s).
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = WORK_LIMIT
    return solver


def doings_of(schedule: Schedule, problem: Problem, visit: int) -> Doings:
    """Give what a visit of a schedule does."""
    stage = problem.stages[visit - 1]
    adds = schedule.adds(visit)
    return Doings(
        on=stage.on,
        fitter=stage.fitter,
        adds=adds,
        removes=schedule.removes(visit),
        presets=schedule.presets[visit],
        owned=adds & problem.free,
    )


def _sum(terms: Iterable[Sum]) -> Sum:
    return cast("Sum", sum(terms))


def _negated(literal: Literal) -> Literal:
    return 1 - literal if isinstance(literal, int) else cast("Literal", literal.negated())


def _fingerprint(name: str) -> int:
    return int.from_bytes(hashlib.sha256(name.encode()).digest()[:4]) >> 4
