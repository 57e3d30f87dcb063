"""Checks a plan against the definitions, visit by visit, and names everything that is wrong with it.

Nothing here searches: the plan says what is done and how the bike is plugged together, and each clause is looked up or
reckoned anew. It shares no code with the planner, so that a slip there is not repeated here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from rules.answer import Plan, Visit
from rules.build import Build, Placement
from rules.checker.chains import InForce, Preset, chain_of, needing_preset, presets_as_found, still_in_force
from rules.checker.fault import Breaks, Broken, Clause, Fault
from rules.checker.figures import exact
from rules.checker.index import Index
from rules.checker.ledger import check_ledger
from rules.checker.loads import check_loads
from rules.checker.money import check_lines, check_presets, due_of
from rules.checker.plugs import Mates, Wired, check_presence, mates_of, named, wire
from rules.checker.steps import Sides, Step, rewired_parts
from rules.checker.supply import check_supply
from rules.checker.tariff import Tariff
from rules.checker.things import check_things
from rules.checker.told import check_told
from rules.checker.waste import Done, waste_of
from rules.checker.wishes import check_wants, is_wanted
from rules.checker.work import Jobs, work_of
from rules.checker.world import World, known
from rules.money import Line
from rules.question import PathQuestion


class Checker:
    """Checks plans made from one catalog; what it looks up there it keeps."""

    def __init__(self, index: Index) -> None:
        self.index = index

    def check(self, question: PathQuestion, plan: Plan) -> tuple[Fault, ...]:
        """Name every fault of a plan, in the order of visits; none: it is right.

        Args:
            question: With one bike, not a name that stands for two; and, where the bike may be wired in several ways, asked
                for one of them.
        """
        return tuple(self._ride(question, plan).faults())

    def replay(self, question: PathQuestion, plan: Plan) -> Replay:
        """Follow a plan that was made under another catalog as if it were done under this one.

        Args:
            question: As in `check`; its bike and the parts that are on it are in this catalog.
        """
        ride = self._ride(question, plan)
        faults = tuple(ride.followed())
        due = [due_of(one.tariff, one.visit, one.work) for one in ride.done]
        known = tuple(money for money in due if money is not None)
        return Replay(faults=faults, due=known if len(known) == len(plan.visits) else None)

    def _ride(self, question: PathQuestion, plan: Plan) -> _Ride:
        return _Ride(World(self.index, question.bike, question.found), question, plan)


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """What came of a plan that was followed under another catalog.

    Attributes:
        faults: Everything that is not as the plan says, its lines too.
        due: What each visit costs now, and what resale brings back [minor units]; None if it cannot be done to its end.
    """

    faults: tuple[Fault, ...]
    due: tuple[tuple[int, int], ...] | None


@dataclass(slots=True)
class _Ride:
    """How far a plan has been followed: what is ridden, how it is plugged, which presets are in force, what is gone for ever."""

    world: World
    question: PathQuestion
    plan: Plan
    build: Build = frozenset()
    mates: Mates | None = None
    wired: Wired | None = None
    start: Wired | None = None
    in_force: InForce = field(default_factory=dict)
    sides: Sides = field(default_factory=Sides)
    gone: set[Placement] = field(default_factory=set)
    done: list[Done] = field(default_factory=list)

    def faults(self) -> Iterator[Fault]:
        """Follow the plan, and look at the whole of it."""
        yield from self.followed()
        if len(self.done) == len(self.plan.visits):
            yield from _at(None, self._budgets())
            yield from _at(None, self._sums())

    def followed(self) -> Iterator[Fault]:
        """Follow the plan from the first visit to the last."""
        yield from _at(0, self._begin())
        stages = [(stage.on, stage.fitter) for stage in self.question.stages]
        if [(visit.on, visit.fitter) for visit in self.plan.visits] != stages:
            yield Fault(visit=None, clause=Clause.STAGES, about="the visits are not those of the question")
            return
        for number, visit in enumerate(self.plan.visits, 1):
            if nameless := list(self._nameless(visit)):
                yield from _at(number, iter(nameless))
                return
            yield from _at(number, self._visit(number, visit))

    # --- the bike as it is now ----------------------------------------------------------------------------------

    def _begin(self) -> Breaks:
        world = self.world
        self.build = world.present
        if self.plan.start_wiring is None:
            if world.found.wiring:
                yield Clause.PRESENT_WIRING, "somebody has seen plugs mated"
            return
        self.mates = mates_of(self.plan.start_wiring)
        self.wired, faults = wire(world, self.build, self.mates)
        self.start = self.wired
        yield from faults
        names = {named(mate) for mate in self.mates}
        for pair in sorted(world.found.wiring):
            if " = ".join(sorted(pair)) not in names:
                yield Clause.PRESENT_WIRING, " = ".join(sorted(pair))
        self.in_force = presets_as_found(world, self.wired)
        for _ in self.sides.follow(world, self.build, self.wired):
            pass

    # --- one visit ----------------------------------------------------------------------------------------------

    def _nameless(self, visit: Visit) -> Breaks:
        """Name what comes in and is no part, or cannot stand there; and what goes out and was not there."""
        for placed in visit.adds:
            if not self.world.is_part(placed.part) or not self.world.may_stand(placed):
                yield Clause.PLACEMENT, str(placed)
        for placed in visit.removes:
            if placed not in self.build:
                yield Clause.BUILD, f"{placed} was not there before"

    def _visit(self, number: int, visit: Visit) -> Breaks:
        before, old = self.build, self.mates
        yield from self._build(visit)
        tariff = Tariff(self.world, visit.on)
        yield from self._calendar(visit, tariff)
        if visit.is_empty:
            yield from self._nothing_done(visit)
            step = Step(before, old or frozenset(), self.build, old or frozenset(), old is not None)
        else:
            yield from self._wires(visit, before)
            step = Step(before, old or frozenset(), self.build, self.mates or frozenset(), old is not None)
            yield from self._validity(number, visit, tariff)
        yield from check_wants(self.world, self.question, number, self.build, self.wired)
        if self.wired is not None:
            yield from check_told(self.world, visit, step, self.wired, self.plan.visits[-1].build)
        yield from self._money(number, visit, tariff, step)

    def _build(self, visit: Visit) -> Breaks:
        """The build after a visit is what was there, without what goes out, and with what comes in."""
        adds, removes = frozenset(visit.adds), frozenset(visit.removes)
        if len(adds) < len(visit.adds) or len(removes) < len(visit.removes):
            yield Clause.BUILD, "a placement is named twice"
        for placed in sorted(adds & self.build):
            yield Clause.BUILD, f"{placed} was there before"
        after = (self.build - removes) | adds
        for placed in sorted(after ^ visit.build):
            yield Clause.BUILD, str(placed)
        yield from self._comings(adds)
        yield from self._goings(adds, removes)
        self.build = after

    def _comings(self, adds: Build) -> Breaks:
        for placed in sorted(adds):
            part = self.world.part(placed)
            if placed in self.gone:
                yield Clause.RETURNED, str(placed)
            if part.id in self.question.excluded:
                yield Clause.EXCLUDED_PART, str(placed)
            if self.question.colour is not None and part.colour not in (None, self.question.colour):
                yield Clause.COLOUR, str(placed)
            if self.question.most_added_kg is not None and known(part.mass_kg) is None:
                yield Clause.ADDED_MASS, str(placed)

    def _goings(self, adds: Build, removes: Build) -> Breaks:
        """A part goes out only for something wanted that comes in, or if the question lets it go."""
        worked_at = {x.place for x in adds if is_wanted(self.world, self.question, x)}
        for placed in sorted(removes):
            if placed in self.question.locked:
                yield Clause.LOCKED, str(placed)
            is_let_go = placed in self.question.may_go or placed.part in self.question.allowed_rewiring
            if placed.place not in worked_at and not is_let_go:
                yield Clause.STRIPPED, str(placed)
        self.gone |= removes

    def _calendar(self, visit: Visit, tariff: Tariff) -> Breaks:
        for placed in visit.adds:
            if tariff.is_on_hold(self.world.part(placed)):
                yield Clause.HOLD, str(placed)
            elif tariff.price(placed.part) is None:
                yield Clause.FOR_SALE, str(placed)
        if self.question.most_added_kg is not None:
            more = self._mass(self.build - self.world.present) - self._mass(self.world.present - self.build)
            if more > exact(self.question.most_added_kg):
                yield Clause.ADDED_MASS, f"{float(more):g} kg"

    def _mass(self, build: Build) -> Fraction:
        return sum((exact(known(self.world.part(x).mass_kg) or 0.0) for x in build), Fraction(0))

    def _nothing_done(self, visit: Visit) -> Breaks:
        """A bike to which nothing is done stays plugged together as it is."""
        if (None if visit.wiring is None else mates_of(visit.wiring)) != self.mates:
            yield Clause.CHANGES_TOLD, "nothing is done, and the wiring is another"
        if visit.lines:
            yield Clause.LABOUR, "nothing is done, and there are lines"

    def _wires(self, visit: Visit, before: Build) -> Breaks:
        """The bike is plugged together, whole, and nothing is rewired that must not be."""
        world = self.world
        if visit.wiring is None:
            yield Clause.FEED, "nobody says how the bike is plugged together"
        self.mates = mates_of(visit.wiring or ())
        self.wired, faults = wire(world, self.build, self.mates)
        yield from faults
        for placed in sorted(rewired_parts(world, before, self.build)):
            if placed.part not in self.question.allowed_rewiring:
                yield Clause.REWIRED_PART, str(placed)
        yield from self.sides.follow(world, before, self.wired)

    def _validity(self, number: int, visit: Visit, tariff: Tariff) -> Breaks:
        world, wired = self.world, self.wired
        if wired is None:
            return
        yield from check_things(world, self.build)
        yield from check_presence(world, wired, self._seen())
        yield from check_loads(world, wired)
        yield from check_supply(world, wired)
        yield from self._previous_work(wired)
        self.in_force = still_in_force(world, wired, self.in_force)
        due = needing_preset(world, wired) - self.in_force.keys()
        yield from check_presets(tariff, visit, due)
        for amplifier in due:
            self.in_force[amplifier] = Preset(chain_of(world, wired, amplifier), number)

    def _seen(self) -> frozenset[str]:
        """Give the plugs that are mated now: they are there."""
        seen = {name for pair in self.world.found.wiring for name in pair}
        start = self.start.mates if self.start else frozenset()
        return frozenset(seen | {str(plug) for mate in start for plug in mate})

    def _previous_work(self, wired: Wired) -> Breaks:
        """What feeds a speaker where nobody knows what was done must feed as it does now."""
        now = {} if self.start is None else self.start.loads
        for channel, sinks in wired.loads.items():
            if any(sink.speaker.place in self.world.found.unknown_work for sink in sinks):
                through = {sink: wired.feeds[sink].through for sink in sinks}
                if self.start is None or through != {
                    sink: self.start.feeds[sink].through for sink in now.get(channel, [])
                }:
                    yield Clause.UNKNOWN_WORK, f"{channel[0]}:{channel[1]}"

    def _money(self, number: int, visit: Visit, tariff: Tariff, step: Step) -> Breaks:
        jobs = Jobs(
            adds=frozenset(visit.adds),
            removes=frozenset(visit.removes),
            replugs=step.replugged_parts,
            presets=frozenset(made.amplifier for made in visit.presets) & self.build,
        )
        work = work_of(self.world, jobs)
        self.done.append(Done(number, visit, tariff, work))
        yield from check_lines(tariff, visit, work)
        spent, resale = _sums_of(visit.lines)
        if (visit.spent, visit.resale) != (spent, resale):
            yield Clause.TOTAL, f"{spent} spent, {resale} back"
        budget, cost = self.question.stages[number - 1].budget, self._cost(visit)
        if budget is not None and cost > budget:
            yield Clause.STAGE_BUDGET, f"{cost}"

    # --- the whole plan -----------------------------------------------------------------------------------------

    def _budgets(self) -> Breaks:
        question = self.question
        years: Counter[int] = Counter()
        for visit in self.plan.visits:
            years[visit.on.year] += self._cost(visit)
        for year, cap in question.year_budgets.items():
            if years[year] > cap:
                yield Clause.YEAR_BUDGET, f"{year}: {years[year]}"
        if question.budget is not None and years.total() > question.budget:
            yield Clause.PATH_BUDGET, f"{years.total()}"

    def _cost(self, visit: Visit) -> int:
        """Give what counts for budgets."""
        spent, resale = _sums_of(visit.lines)
        return spent - resale if self.question.resale_counts else spent

    def _sums(self) -> Breaks:
        spent, resale = _sums_of(line for visit in self.plan.visits for line in visit.lines)
        if (self.plan.spent, self.plan.resale) != (spent, resale):
            yield Clause.TOTAL, f"{spent} spent, {resale} back"
        if self.done:
            waste = waste_of(self.done, self.in_force)
            if waste != self.plan.waste:
                yield Clause.WASTE, f"{waste}"
        yield from check_ledger(self.world, self.plan, self.done)


def _sums_of(lines: Iterator[Line] | tuple[Line, ...]) -> tuple[int, int]:
    """Give what is spent, and what resale brings back."""
    spent = resale = 0
    for line in lines:
        if line.kind == "resale":
            resale -= line.total
        else:
            spent += line.total
    return spent, resale


def _at(visit: int | None, breaks: Iterator[Broken]) -> Iterator[Fault]:
    for clause, about in breaks:
        yield Fault(visit=visit, clause=clause, about=about)
