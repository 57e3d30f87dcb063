"""The search: the money model proposes, the examiner judges, and what it teaches goes back into the model.

Every law and cut is true of the problem, so the model is never wrong to refuse; a schedule that is accepted has been examined.
The first accepted schedule that is optimal for the model is therefore a cheapest one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING

from rules.build import Build, Placement
from rules.changes import Feeding
from rules.desk import Desk
from rules.laws import Law, Laws
from rules.plan.board import Board
from rules.plan.bonds import Bonds
from rules.plan.cuts import Cut, Cutter
from rules.plan.feed_law import openers, told_apart
from rules.plan.loss import waste_of
from rules.plan.master import LOST, MOST_VISITS, MOST_WASTE, VISIT, Master, pieces_of
from rules.plan.problem import Problem
from rules.plan.schedule import ByVisit, Schedule
from rules.plan.settle import Settled, Settler, State, lost_presets
from rules.plan.solver import new_solver
from rules.plan.tour import NewGround, TooFar, Tour
from rules.verdict import Status

if TYPE_CHECKING:
    from rules.plan.solver import Sum

Level = Callable[[Master], "Sum"]
"""Something to minimise."""

_WEIGH_WASTE: frozenset[Level] = frozenset({Master.wasted, Master.waste_and_pieces})

OTHERS = 6
"""Schedules of the same cost that are compared one by one; where there are more, the model weighs them."""

FEW = 16
"""Candidates among which the search without the solver is nearly always the quicker one."""

WORK = 12_000
"""The work that it does before it gives up where candidates are few: about a thousand looks."""

LITTLE_WORK = 3_000
"""The same where they are many; or it is only asked whether there is any path: the solver is quick to tell."""

ROUNDS = 2_000
"""Proposals looked at before the search gives up; each is one call of the solver."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a search found. `state`: proven (cheapest), best_found (the work limit ended it), none (there is no way), gave_up."""

    state: str
    schedule: Schedule | None = None
    way: State | None = None
    cost: int = 0
    bound: int = 0
    waste: int = 0


@dataclass(kw_only=True)
class Search:
    """One search over a problem.

    Args:
        laws: Those of the desk that count: verified, or hopeful.
        by_path: Minimise visits and waste as well as cost.
        by_tour: Search without the solver first.
        taught: What searches over the same visits and demands, with other money and aims, have learned.
    """

    desk: Desk
    problem: Problem
    laws: Laws
    by_path: bool
    by_tour: bool = True
    taught: Sequence[Cut] = ()
    _cuts: list[Cut] = field(default_factory=list)
    _new_cuts: list[Cut] = field(default_factory=list)
    _values: dict[Level, int] = field(default_factory=dict)
    _master: Master | None = None
    _obeyed: int = 0
    _rounds: int = 0
    _counts_waste: bool = False
    _last_level: Level | None = None
    _closed_over: int = -1
    _held: frozenset[Placement] = frozenset()
    _reach: frozenset[Placement] = frozenset()
    _told: set[Build] = field(default_factory=set)
    _opened: set[Build] = field(default_factory=set)
    _ever: dict[Placement, bool] = field(default_factory=dict)

    def run(self, levels: Sequence[Level] = ()) -> Outcome:
        """Find the schedule that is least by each level in turn.

        Args:
            levels: What to minimise, first things first; left out: cost, then fewest visits, least waste, fewest pieces, then by
                a fingerprint of names.
        """
        # What an earlier run has found least is held in the model alone.
        if not levels and not self._values and (toured := self._toured()) is not None:
            return toured
        self._last_level = None
        self._counts_waste = not _WEIGH_WASTE.isdisjoint(levels)
        outcome = Outcome(state="none")
        for usual in levels or self._usual_levels():
            if self._follows_cost(usual, outcome) and (best := self._best_of_few(outcome)) is not None:
                outcome = best
                break
            level = self._together(usual, outcome)
            if self._is_settled(level, outcome):
                break
            self._counts_waste = self._counts_waste or level in _WEIGH_WASTE
            found, value = self._level(level)
            if found.state != "proven" and outcome.schedule is None:
                return found
            if found.state != "proven":
                # What was found least so far is proven; what comes after, among those, is not.
                outcome = replace(outcome, state="best_found")
                break
            outcome = found
            self._fix(level, value)
            if level is Master.waste_and_pieces:
                break
        cost = self._values.get(Master.total, 0)
        return replace(outcome, cost=cost, bound=cost, waste=self._values.get(Master.wasted, 0))

    # --- without the solver -------------------------------------------------------------------------------------

    def _toured(self, *, any_will_do: bool = False) -> Outcome | None:
        """Search without the solver; None where that goes too far."""
        problem = self.problem
        if not self.by_tour or not problem.keeps_wires or problem.must_remove or problem.free:
            return None
        done = 0
        while True:
            candidates = self._candidates()
            are_few = len(candidates) <= FEW and not any_will_do
            board = Board(self.problem, self.desk.pricer, candidates)
            tour = Tour(
                desk=self.desk,
                board=board,
                laws=self.laws,
                judge=partial(self._is_valid, candidates),
                stuck=partial(self._lead_on, candidates),
                dear=partial(self._wire_otherwise, candidates),
                settler=self._settler,
                start_counts=self.start_counts,
                by_visits=self.by_path,
                any_will_do=any_will_do,
                limit=(WORK if are_few else LITTLE_WORK) - done,
            )
            try:
                return self._best_of_tour(tour)
            except NewGround:
                done += tour.work
            except TooFar:
                return None

    def _is_valid(self, candidates: Build, build: Build) -> bool:
        findings = self.desk.examine(build).findings
        self.laws.learn(findings)
        if not any(x.status in self.laws.counted for x in findings):
            return True
        if self._candidates() != candidates:
            raise NewGround
        return False

    def _lead_on(self, candidates: Build, before: Build, after: Build) -> None:
        """Take in what may let wirings lead on, or give a pair the power wished for, where none leads from a build to the next."""
        for _, reach in self._cutter.power_cuts(after):
            self._reach_for(reach)
        self._wire_otherwise(candidates, before, after)

    def _wire_otherwise(self, candidates: Build, before: Build, after: Build) -> None:
        """Take in what may wire two builds otherwise, where presets or moved plugs are to be paid between them."""
        self._open(before, after)
        if self._candidates() != candidates:
            raise NewGround

    def _best_of_tour(self, tour: Tour) -> Outcome:
        """Choose among the cheapest paths with fewest visits, by waste, pieces and names."""
        found = list(self._outcomes(tour))
        if not found:
            return Outcome(state="none")
        ranks = [
            (x.waste if self.by_path else 0, pieces_of(_schedule_of(x)), _taken(x), at)
            for at, x in enumerate(found)
        ]
        return found[min(ranks)[-1]]

    def _outcomes(self, tour: Tour) -> Iterator[Outcome]:
        for leg, cost in tour.run():
            builds = tuple(tour.board.build(x) for x in leg.builds)
            paid = [(sum(x.paid), x.state) for x in leg.ways or ()]
            least = min(x for x, _ in paid)
            cheapest = [state for x, state in paid if x == least]
            for presets, replugs in dict.fromkeys((x.presets, x.replugs) for x in cheapest):
                schedule = Schedule(builds=builds, presets=presets, replugs=replugs)
                ways = [x for x in cheapest if x.takes_no_more_than(presets, replugs)]
                way = min(ways, key=lambda x: len(lost_presets(x)))
                yield Outcome(
                    state="proven",
                    schedule=schedule,
                    way=way,
                    cost=cost,
                    bound=cost,
                    waste=waste_of(self.desk, self.problem, schedule, way) if self.by_path else 0,
                )

    def _follows_cost(self, level: Level, outcome: Outcome) -> bool:
        """Tell whether a level comes next after the cost: then what is left to choose among may be few."""
        return level is Master.visits_and_pieces and self._last_level is Master.total and bool(outcome.way)

    def _best_of_few(self, outcome: Outcome) -> Outcome | None:
        """Choose among all schedules that cost as little, by visits, waste and pieces; None if they are many."""
        found = self._as_cheap(outcome)
        if found is None:
            return None
        master = self._master
        assert master is not None  # noqa: S101 - it found the outcome
        ranks = [
            (_visits(x), self._waste_of(x), pieces_of(_schedule_of(x)), at) for at, x in enumerate(found)
        ]
        visits, waste, _, at = min(ranks)
        self._values[Master.visits_made], self._values[Master.wasted] = visits, waste
        return found[at]

    def _as_cheap(self, outcome: Outcome) -> list[Outcome] | None:
        """Find the schedules that cost as little as this one, those of fewest visits first, as far as these go."""
        master, found = self._master, [outcome]
        assert master is not None  # noqa: S101 - it found the outcome
        other = master.differ([_schedule_of(outcome)])
        while len(found) <= OTHERS and self._rounds < ROUNDS:
            self._rounds += 1
            state, schedule, value, _ = master.solve(master.total_and_visits(), other)
            if state == "infeasible" or (
                state == "optimal" and value % MOST_VISITS > min(map(_visits, found))
            ):
                return found
            settled = self._judge(schedule) if schedule is not None else None
            if schedule is not None and isinstance(settled, State):
                found.append(replace(outcome, schedule=schedule, way=settled))
                master.exclude(schedule, other)
            elif schedule is None or not self._extend(master):
                return None
        return None

    def _waste_of(self, outcome: Outcome) -> int:
        assert outcome.way is not None  # noqa: S101 - the caller looked
        return waste_of(self.desk, self.problem, _schedule_of(outcome), outcome.way)

    def _together(self, level: Level, outcome: Outcome) -> Level:
        """Take waste and pieces together, where what is least so far wastes little enough for that."""
        if level is not Master.wasted or Master.visits_made not in self._values or outcome.way is None:
            return level
        return level if self._waste_of(outcome) > MOST_WASTE else Master.waste_and_pieces

    def _usual_levels(self) -> tuple[Level, ...]:
        if self.by_path:
            return (Master.total, Master.visits_and_pieces, Master.wasted, Master.pieces)
        return (Master.total, Master.pieces)

    def _fix(self, level: Level, value: int) -> None:
        """Hold what was found least from now on. Where visits and pieces were looked at together, of the two only visits."""
        if level is Master.visits_and_pieces:
            level, value = Master.visits_made, value // VISIT
        if level is Master.waste_and_pieces:
            level, value = Master.wasted, value // LOST
        self._values[level] = value
        self._last_level = level
        if self._master is not None:
            _hold(self._master, level, value)

    def _is_settled(self, level: Level, outcome: Outcome) -> bool:
        """Tell whether a schedule of fewest pieces wastes nothing: then no other has less waste, nor as little and fewer pieces."""
        if level not in _WEIGH_WASTE or Master.visits_made not in self._values:
            return False
        return outcome.way is not None and self._waste_of(outcome) == 0

    def lessons(self) -> Iterator[Cut]:
        """Give what was learned, for other searches; each counts only where all that might be held here might be held too."""
        for cut in self._cuts:
            yield partial(_where_known, self._candidates(), cut)

    def has_way(self) -> bool:
        """Tell whether there is any schedule at all; false also where the search gave up."""
        if (toured := self._toured(any_will_do=True)) is not None:
            return toured.schedule is not None
        return self._level(Master.total)[0].schedule is not None

    def _level(self, level: Level) -> tuple[Outcome, int]:
        if self._master is None or (level in _WEIGH_WASTE and not self._master.counts_waste):
            self._master = self._fresh()
        while self._rounds < ROUNDS:
            self._rounds += 1
            state, schedule, value, bound = self._master.solve(level(self._master))
            if schedule is None:
                return Outcome(state="none" if state == "infeasible" else "gave_up"), 0
            settled = self._judge(schedule)
            if isinstance(settled, State):
                found = "proven" if state == "optimal" else "best_found"
                return Outcome(state=found, schedule=schedule, way=settled, cost=value, bound=bound), value
            if not self._extend(self._master):
                self._master = self._fresh()
        return Outcome(state="gave_up"), 0

    # --- proposing ----------------------------------------------------------------------------------------------

    def model_without_laws(self) -> Master:
        """Give the money and calendar alone, over all candidates."""
        master = Master(self.problem, self.desk.pricer, counts_waste=self._counts_waste)
        master.build(self._candidates())
        return master

    def _fresh(self) -> Master:
        master = self.model_without_laws()
        for law in self.laws.all():
            master.obey(law, from_start=self.start_counts)
        for cut in (*self.taught, *self._cuts):
            cut(master)
        self._new_cuts.clear()
        self._obeyed = len(self.laws.all())
        for level, value in self._values.items():
            _hold(master, level, value)
        return master

    def _extend(self, master: Master) -> bool:
        """Add the newest laws to the model in place; False if they bring candidates that it does not have."""
        candidates = self._candidates()
        if not candidates <= master.candidates:
            return False
        for law in self.laws.since(self._obeyed):
            master.obey(law, from_start=self.start_counts)
        self._obeyed = len(self.laws.all())
        for cut in self._new_cuts:
            cut(master)
        self._new_cuts.clear()
        return True

    @cached_property
    def start_counts(self) -> bool:
        """Tell whether the bike itself is valid, so that laws hold before the first change too."""
        if self.problem.start_counts:
            return True
        found = self.desk.examiner.examine(self.problem.start).findings
        return not any(x.status in self.laws.counted for x in found)

    def _candidates(self) -> frozenset[Placement]:
        """Give what a cheapest schedule may hold: what is wanted, and what repairs a law among what may be held."""
        while self._closed_over != len(self.laws.all()):
            self._closed_over = len(self.laws.all())
            self._held = self._closure()
        return self._held

    def _closure(self) -> frozenset[Placement]:
        held: set[Placement] = set(self.problem.start)
        wished = self._reach.union(*(demand.options for demand in self.problem.demands))
        ahead = {x for x in wished if self._may_ever(x)} - held
        laws = list(self.laws.all())
        counted = len(laws)
        while True:
            for x in sorted(ahead):
                self.laws.learn(self.desk.audition(x))
            held |= ahead
            laws += self.laws.since(counted)
            counted = len(self.laws.all())
            due = [law for law in laws if law.may_hold_in(held)]
            laws = [law for law in laws if not law.may_hold_in(held)]
            ahead = {x for law in due for x in law.repairs if x not in held and self._may_ever(x)}
            if self.by_path:
                ahead |= {
                    x for x in self._fellows(held) | self._bargains if x not in held and self._may_ever(x)
                }
            if not ahead:
                break
        return frozenset(held)

    def _fellows(self, held: set[Placement]) -> set[Placement]:
        """Give what comes in a bundle with something held: fitted along, it is at least not wasted."""
        bench = self.desk.bench
        parts = {x.part for x in held - self.problem.start}
        bundles = [bench.tables.catalog.parts[x].members for x in bench.tables.bundles]
        members = {x for bundle in bundles if not parts.isdisjoint(bundle) for x in bundle}
        return {x for part in members for x in bench.of_part(part)}

    @cached_property
    def _bargains(self) -> set[Placement]:
        """Give what fetches more used than it costs new: odd, but a path that trades in it is cheaper."""
        bench = self.desk.bench
        return {x for part in bench.tables.bargains if self._is_bargain(part) for x in bench.of_part(part)}

    def _is_bargain(self, part: str) -> bool:
        pricer, days = self.desk.pricer, [stage.on for stage in self.problem.stages]
        values = [pricer.resale(part, on) for on in days]
        prices = [pricer.least_price(part, on) for on in days]
        return any(
            price is not None and price < max(values[k + 1 :], default=0) for k, price in enumerate(prices)
        )

    def _may_ever(self, placed: Placement) -> bool:
        if placed not in self._ever:
            self._ever[placed] = any(self.problem.may_add(placed, k) for k in range(1, self.problem.last + 1))
        return self._ever[placed] and not any(law.forbids(placed) for law in self.laws.involving(placed))

    # --- judging ------------------------------------------------------------------------------------------------

    def _judge(self, schedule: Schedule) -> State | None:
        """Accept a schedule with its wirings, or learn from it."""
        builds = [
            schedule.builds[k]
            for k in range(1, self.problem.last + 1)
            if schedule.builds[k] != self.problem.start or self.start_counts
        ]
        findings = [x for build in dict.fromkeys(builds) for x in self.desk.examine(build).findings]
        self.laws.learn(findings)
        if any(x.status in self.laws.counted for x in findings):
            return None
        if not all(self.desk.examiner.examine(build).options for build in builds):
            # Open builds of a hopeful search may have no sound wiring to settle.
            return State((), Feeding(()), frozenset(), schedule.presets, schedule.replugs)
        settled = self._settler.settle(schedule)
        ways = [x for x in settled.ways if x.takes_no_more_than(schedule.presets, schedule.replugs)]
        if not ways:
            self._cut(schedule, settled)
            return None
        way = min(ways, key=lambda x: len(lost_presets(x)))
        if self._counts_waste and not lost_presets(way) <= schedule.void:
            steps, lost = dict(enumerate(schedule.builds)), lost_presets(way)
            self._add_cut(lambda master: master.lose(steps, lost))
            return None
        return way

    def _cut(self, schedule: Schedule, settled: Settled) -> None:
        if not settled.ways:
            self._tell_feeding(schedule)
            steps = {k: schedule.builds[k] for k in range(1, settled.failed_at + 1)}
            before, after = schedule.builds[settled.failed_at - 1], schedule.builds[settled.failed_at]
            for cut in self._cutter.move_cuts(before, after) if self.problem.keeps_wires else ():
                self._add_cut(cut)
            self._open(before, after)
            for cut, reach in self._cutter.power_cuts(after):
                self._reach_for(reach)
                self._add_cut(cut)
            self._add_cut(lambda master: master.forbid(steps))
            return
        for k in settled.ways[0].takes_more_than(schedule.presets, schedule.replugs):
            self._open(schedule.builds[k - 1], schedule.builds[k])
        if self._bind(schedule, settled.ways[0]):
            return
        self._tell_feeding(schedule)
        steps = dict(enumerate(schedule.builds))
        ways = _least_of(settled.ways)
        self._add_cut(lambda master: master.require(steps, ways))

    def _bind(self, schedule: Schedule, way: State) -> bool:
        """Learn why a schedule lacks presets of a way; tell whether that alone refuses it."""
        for bond in self._bonds.learn(schedule, way, self._candidates()):
            self._add_cut(self._cutter.bond_cut(bond))
        return self._bonds.refuse(schedule, way)

    @cached_property
    def _bonds(self) -> Bonds:
        return Bonds(self.desk)

    def _tell_feeding(self, schedule: Schedule) -> None:
        for build in dict.fromkeys(schedule.builds[1:]):
            apart = told_apart(self.desk.bench, build)
            if apart not in self._told and self.desk.examine(build).options:
                self._told.add(apart)
                cut = self._cutter.feeding_cut(build)
                if cut is not None:
                    self._add_cut(cut)

    def _open(self, *builds: Build) -> None:
        """Take in what could open other ways to wire some builds: no law asks for it."""
        for build in {*builds} - self._opened:
            self._opened.add(build)
            self._reach_for(openers(self.desk.bench, build))

    def _reach_for(self, placements: Build) -> None:
        """Take in, as candidates, what no law asks for but a wish for power may need."""
        if not placements <= self._reach:
            self._reach |= placements
            self._closed_over = -1

    @cached_property
    def _settler(self) -> Settler:
        return Settler(self.desk, self.problem, hopeful=self._is_hopeful)

    @property
    def _cutter(self) -> Cutter:
        return Cutter(self.desk, self.problem, self._is_hopeful)

    @property
    def _is_hopeful(self) -> bool:
        """Tell whether missing facts are given the benefit of the doubt."""
        return Status.UNKNOWN not in self.laws.counted

    def _add_cut(self, cut: Cut) -> None:
        self._cuts.append(cut)
        self._new_cuts.append(cut)


def _visits(outcome: Outcome) -> int:
    builds = _schedule_of(outcome).builds
    return sum(1 for k in range(1, len(builds)) if builds[k] != builds[k - 1])


def _taken(outcome: Outcome) -> int:
    """Count the presets made and the parts re-plugged, where that costs nothing as well."""
    schedule = _schedule_of(outcome)
    return sum(map(len, (*schedule.presets, *schedule.replugs)))


def _schedule_of(outcome: Outcome) -> Schedule:
    assert outcome.schedule is not None  # noqa: S101 - the caller has found one
    return outcome.schedule


def _least_of(ways: Sequence[State]) -> list[tuple[ByVisit, ByVisit]]:
    """Give what the ways take, each once, and none that takes all of another and more."""
    takes = {(way.presets, way.replugs): way for way in ways}
    return [
        own
        for own in takes
        if not any(other != own and way.takes_no_more_than(*own) for other, way in takes.items())
    ]


def _where_known(held: Build, cut: Cut, master: Master) -> None:
    if held <= master.candidates:
        cut(master)


def _hold(master: Master, level: Level, value: int) -> None:
    objective = level(master)
    if not isinstance(objective, int):
        master.model.add(objective <= value)


def conflicting_laws(search: Search) -> tuple[Law, ...]:
    """Give a smallest set of laws that alone leave no way, where there is none."""
    core = _core(search)
    for law in list(core):
        fewer = [x for x in core if x != law]
        if _leaves_no_way(search, fewer):
            core = fewer
    return tuple(core)


def _core(search: Search) -> list[Law]:
    master = search.model_without_laws()
    switches = [(master.model.new_bool_var(""), law) for law in search.laws.all()]
    for switch, law in switches:
        master.obey(law, from_start=search.start_counts, switch=switch)
    master.model.add_assumptions([switch for switch, _ in switches])
    solver = new_solver()
    solver.solve(master.model)
    by_index = {switch.index: law for switch, law in switches}
    return [by_index[index] for index in solver.sufficient_assumptions_for_infeasibility()]


def _leaves_no_way(search: Search, laws: list[Law]) -> bool:
    master = search.model_without_laws()
    for law in laws:
        master.obey(law, from_start=search.start_counts)
    return master.solve(None)[0] == "infeasible"
