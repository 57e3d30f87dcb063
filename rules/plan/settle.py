"""The wirings of a schedule: whether its builds follow without rewiring, which presets that takes, and what is re-plugged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from rules.bench import Bench
from rules.build import Build, Placement
from rules.chain import Chains, InForce, chains_of, in_force_as_found
from rules.changes import (
    Feeding,
    Plugged,
    Side,
    Sources,
    feeding_of,
    follow,
    replugged_between,
    rewired_parts,
    sources_of,
)
from rules.desk import Desk
from rules.electrical.load import exact
from rules.net import Wiring
from rules.plan.problem import Problem
from rules.plan.schedule import ByVisit, Schedule
from rules.wiring import Option
from rules.wish import gets


@dataclass(frozen=True, slots=True)
class State:
    """Where a schedule may stand after a visit: the wiring chosen, what feeds what, the presets in force; and how it came there.

    `replugs` are the parts whose re-plugging costs something, `rewired` tells whether a step so far was rewiring.
    """

    options: tuple[Option | None, ...]
    feeding: Feeding
    in_force: InForce
    presets: ByVisit
    replugs: ByVisit
    rewired: bool = False

    def takes_no_more_than(self, presets: ByVisit, replugs: ByVisit) -> bool:
        """Tell whether these presets and re-pluggings are enough for this way."""
        needed, given = (*self.presets, *self.replugs), (*presets, *replugs)
        return all(need <= made for need, made in zip(needed, given, strict=True))

    def takes_more_than(self, presets: ByVisit, replugs: ByVisit) -> Iterator[int]:
        """Give the visits in which these presets and re-pluggings are not enough."""
        for k in range(1, len(self.presets)):
            if not (self.presets[k] <= presets[k] and self.replugs[k] <= replugs[k]):
                yield k


@dataclass(frozen=True, slots=True)
class Settled:
    """The ways to wire a schedule; if there is none, the visit in which the last one failed."""

    ways: tuple[State, ...]
    failed_at: int = 0


class Settler:
    """Chooses wirings for the builds of schedules, in every way that differs in presets and in what is re-plugged.

    What was found for the first visits serves every schedule that begins alike.

    Args:
        hopeful: A wished-for power whose figures are not known is taken as met.
    """

    def __init__(self, desk: Desk, problem: Problem, *, hopeful: bool = False) -> None:
        self.desk, self.problem, self.hopeful = desk, problem, hopeful
        self._ahead: dict[Build, list[Ahead]] = {}
        self._states: dict[tuple[Build, ...], list[State]] = {}
        self._chains: dict[Build, list[Chains]] = {}

    def chains(self, build: Build) -> list[Chains]:
        """Give the chains of a build in each of its wirings."""
        if build not in self._chains:
            options = self.desk.examiner.examine(build).options
            self._chains[build] = chains_of(self.desk.bench, build, options)
        return self._chains[build]

    def settle(self, schedule: Schedule) -> Settled:
        """Give the ways to wire a schedule."""
        for visit in range(1, self.problem.last + 1):
            if not self.states(schedule.builds[: visit + 1]):
                return Settled((), visit)
        return Settled(tuple(self.states(schedule.builds)))

    def states(self, builds: tuple[Build, ...]) -> list[State]:
        """Give all that a path may stand in after these builds, the first of which is there before the first visit."""
        if builds not in self._states:
            if len(builds) == 1:
                self._states[builds] = first_states(self.desk)
            else:
                former = self.states(builds[:-1])
                self._states[builds] = self.advance(former, Step(builds[-2], builds[-1], len(builds) - 1))
        return self._states[builds]

    def advance(self, states: Sequence[State], step: Step) -> list[State]:
        """Give all that a path may stand in after one more visit, each once."""
        if step.before == step.after:
            found = [_unchanged(x) for x in states]
        else:
            ahead = self._all_ahead(step.after)
            found = [new for state in states for new in _step(self.desk, self.problem, state, step, ahead)]
        if any(x.least_w is not None for x in self.problem.demands):
            found = [x for x in found if _is_powered(self.desk, self.problem, x, step, hopeful=self.hopeful)]
        return _distinct(self.desk, found)

    def _all_ahead(self, build: Build) -> list[Ahead]:
        if build not in self._ahead:
            options = self.desk.examiner.examine(build).options
            self._ahead[build] = all_ahead(options, self.chains(build))
        return self._ahead[build]


def settle(desk: Desk, problem: Problem, schedule: Schedule, *, hopeful: bool = False) -> Settled:
    """Give the ways to wire one schedule."""
    return Settler(desk, problem, hopeful=hopeful).settle(schedule)


class Step(NamedTuple):
    """The builds before and after a visit."""

    before: Build
    after: Build
    visit: int


def _unchanged(state: State) -> State:
    return replace(
        state,
        options=(*state.options, state.options[-1]),
        presets=(*state.presets, frozenset()),
        replugs=(*state.replugs, frozenset()),
    )


def _is_powered(desk: Desk, problem: Problem, state: State, step: Step, *, hopeful: bool) -> bool:
    """Tell whether every wish for power that is due is met by some pair of speakers."""
    option = state.options[-1]
    return all(
        any(meets(desk, option, x, demand.least_w, hopeful=hopeful) for x in demand.options & step.after)
        for demand in problem.demands
        if demand.least_w is not None and demand.since <= step.visit
    )


def meets(desk: Desk, option: Option | None, pair: Placement, least_w: float, *, hopeful: bool) -> bool:
    """Tell whether a wiring gives each speaker of a pair so much power [W]."""
    power = None if option is None else gets(desk.bench, option, pair)
    return hopeful if power is None else power >= exact(least_w)


def lost_presets(state: State) -> frozenset[tuple[Placement, int]]:
    """Give the presets (amplifier and visit) made on this way that are not in force at its end."""
    last: dict[Placement, int] = {}
    for visit, made in enumerate(state.presets):
        for amplifier in made:
            last[amplifier] = visit
    in_force = {amplifier for _, amplifier, _ in state.in_force}
    return frozenset(
        (amplifier, visit)
        for visit, made in enumerate(state.presets)
        for amplifier in made
        if last[amplifier] != visit or amplifier not in in_force
    )


def first_states(desk: Desk) -> list[State]:
    """Give the ways in which a bike may stand before the first visit."""
    none: ByVisit = (frozenset(),)
    options = desk.examiner.present_wirings
    if not options:
        return [State((None,), Feeding(()), frozenset(), none, none)]
    found = [State((x,), feeding_of(x), in_force_as_found(desk.bench, x), none, none) for x in options]
    return _distinct(desk, found)


@dataclass(frozen=True, slots=True)
class Ahead:
    """A wiring that may come next, with what it feeds and the chains that it has."""

    option: Option
    sources: Sources
    chains: Chains
    followed: dict[Feeding, Feeding | None]
    plugged: dict[int, Plugged]
    moved: dict[int, Build] = field(default_factory=dict)

    def looked_up(self, option: Option) -> Plugged:
        """Look up the plugs of a wiring once."""
        if id(option) not in self.plugged:
            self.plugged[id(option)] = Plugged.of(option)
        return self.plugged[id(option)]

    def follow(self, bench: Bench, feeding: Feeding, after: Build) -> Feeding | None:
        """Follow the zone sides; wirings that feed alike share what is found."""
        if feeding not in self.followed:
            self.followed[feeding] = follow(bench, feeding, after, self.sources)
        return self.followed[feeding]


def all_ahead(options: Sequence[Option], chains: Sequence[Chains]) -> list[Ahead]:
    """Give wirings of a build and their chains, with what is worked out for each once."""
    alike: dict[tuple[tuple[Side, tuple[Placement, str]], ...], dict[Feeding, Feeding | None]] = {}
    plugged: dict[int, Plugged] = {}
    found = []
    for option, its_chains in zip(options, chains, strict=True):
        sources = sources_of(option)
        followed = alike.setdefault(tuple(sorted(sources.items())), {})
        found.append(Ahead(option, sources, its_chains, followed, plugged))
    return found


def _step(
    desk: Desk,
    problem: Problem,
    state: State,
    step: Step,
    options: Sequence[Ahead],
) -> Iterator[State]:
    before, after, visit = step
    on = problem.stages[visit - 1].on
    is_rewired = bool(rewired_parts(desk.bench, before, after))
    charged = desk.pricer.charged_replugs(before) if desk.pricer.charges_replugs else frozenset()
    # Wirings that feed alike share what they followed: that is quicker to see than that the feeding is the same.
    found: dict[int, Feeding | None] = {}
    for ahead in options:
        if id(ahead.followed) not in found:
            found[id(ahead.followed)] = ahead.follow(desk.bench, state.feeding, after)
        followed = found[id(ahead.followed)]
        if followed is None and problem.keeps_wires:
            continue
        made, in_force = ahead.chains.presets_to_make(state.in_force)
        if all(desk.pricer.service(x, on) for x in made):
            yield State(
                options=(*state.options, ahead.option),
                feeding=followed or feeding_of(ahead.option),
                in_force=in_force,
                presets=(*state.presets, made),
                replugs=(*state.replugs, _moved(before, state.options[-1], after, ahead, charged)),
                rewired=state.rewired or followed is None or is_rewired,
            )


def _moved(before: Build, old: Option | None, after: Build, ahead: Ahead, charged: Build) -> Build:
    """Give the parts whose plugs move, of those for which that costs something; many states come from the same wiring."""
    if old is None or not charged:
        return frozenset()
    # A wiring is known by its identity: it is kept while ways are looked for, and comparing its mates would take longer.
    if id(old) not in ahead.moved:
        was, now = ahead.looked_up(old), ahead.looked_up(ahead.option)
        ahead.moved[id(old)] = replugged_between(before, was, after, now, charged)
    return ahead.moved[id(old)]


def _distinct(desk: Desk, states: list[State]) -> list[State]:
    kept: dict[tuple[Feeding, InForce, ByVisit, ByVisit, bool, Wiring], State] = {}
    for state in states:
        key = (state.feeding, state.in_force, state.presets, state.replugs, state.rewired)
        kept.setdefault((*key, _plugs_that_count(desk, state)), state)
    return list(kept.values())


def _plugs_that_count(desk: Desk, state: State) -> Wiring:
    """Give the mates on which the price of a later step may depend: none where re-plugging costs nothing."""
    option = state.options[-1]
    if option is None or not desk.pricer.charges_replugs:
        return frozenset()
    return option.mates
