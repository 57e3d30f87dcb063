"""The cheapest extras of one visit: what lacks something is given it, least cost first, until nothing is lacking.

A part is only ever added because a law that the build breaks names it as a repair, or because another way to plug the build
together may save a preset. So the search starts from what is asked for, takes a broken law, and adds one of its repairs after
the other. `docs/decisions/0021-extras-without-a-model.md` argues why that is exact.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from heapq import heappop, heappush
from itertools import chain, count
from operator import itemgetter

from rules.build import Build, Placement, Slot
from rules.desk import Desk
from rules.laws import Law, Laws
from rules.money import total
from rules.offers import Choice, Offers
from rules.plan.master import weight_of
from rules.plan.problem import Problem
from rules.plan.schedule import Schedule, doings_of
from rules.plan.settle import settle
from rules.plan.solve import Outcome, Search, conflicting_laws
from rules.verdict import Status

WORK = 8_000
"""Builds looked at before the search is left to the money model; one that must be examined counts as ten."""

NOTHING: Build = frozenset()

Rank = tuple[int, int]
"""Cost in minor units; then the number of extras with a fingerprint of their names, so that no two builds are equal."""


@dataclass(frozen=True, slots=True)
class NoGood:
    """Extras that no sound build holds together, and the laws that say so."""

    extras: Build
    laws: Mapping[int, Law]


@dataclass(eq=False, slots=True)
class Node:
    """A build with these extras, and which of the `known` first laws it breaks.

    `cost` is what it costs, `least` the same with every part at the least that it may come to in bundles, `owed` what must come
    besides at least.
    `parents` are the branches that lead here. `against` gathers why the choices looked at so far came to nothing, and `left`
    counts those that have not yet.
    """

    extras: Build
    cost: int
    least: int
    weight: int
    owed: int
    broken: tuple[Law, ...]
    known: int
    parents: list[tuple[Node, Placement]]
    left: int = 0
    against: NoGood | None = None
    is_closed: bool = False

    @property
    def rank(self) -> Rank:
        """Give the least that comes of it."""
        return max(self.cost, self.least + self.owed), self.weight


@dataclass(frozen=True, slots=True)
class Branch:
    """A build with one more extra: each of these choices from `at` on, the cheapest first. `owed` is what comes besides."""

    node: Node
    choices: Sequence[Choice]
    owed: int = 0
    at: int = 0

    @property
    def rank(self) -> Rank:
        """Give the least that any of the choices left comes to."""
        cost, weight, _ = self.choices[self.at]
        return max(self.node.cost, self.node.least + self.owed + cost), self.node.weight + weight


class Extras:
    """One search for the cheapest extras of a problem with one visit, in which nothing is taken out but what must be.

    Args:
        laws: Those of the desk that count: verified, or hopeful.
        all_alike: Prices do not matter: to tell why there is no way, each of several parts that are alike is looked at, in order of
            number and name.
    """

    def __init__(self, desk: Desk, problem: Problem, laws: Laws, *, all_alike: bool = False) -> None:
        self.desk = desk
        self.bench = desk.bench
        self.problem = problem
        self.laws = laws
        self.on = problem.stages[0].on
        self.base: Build = (problem.start - problem.must_remove).union(*(x.options for x in problem.demands))
        self.all_alike = all_alike
        self.rests_on_unknown = False
        self._ahead: list[tuple[Rank, int, Node | Branch | Schedule]] = []
        self._tickets = count()
        self._nodes: dict[Build, Node] = {}
        self._no_goods: list[NoGood] = []
        self._work = 0
        self._left_to: Search | None = None
        self._is_sound_without_preset = False
        self._offers = Offers.of(desk.bench, desk.pricer, self.on)
        self._slots: dict[Build, Mapping[Slot, Sequence[Placement]]] = {}
        self._choices: dict[tuple[Build, Slot], Sequence[Choice]] = {}
        self._covers: dict[tuple[str, ...], int] = {}
        self._tried: set[Placement] = set()
        self._weighed: set[int] = set()
        self._in_bundles = frozenset(
            x for name in self.bench.tables.bundles for x in self.bench.tables.catalog.parts[name].members
        )

    def run(self) -> Outcome:
        """Find the cheapest extras; of equally cheap ones the fewest."""
        root = self._new_node(NOTHING, (), 0, len(self.laws.all()))
        if root is not None:
            self._put(root.rank, root)
        while self._ahead:
            if self._work > WORK:
                self._left_to = Search(desk=self.desk, problem=self.problem, laws=self.laws, by_path=False)
                return self._left_to.run()
            rank, _, item = heappop(self._ahead)
            if isinstance(item, Schedule):
                return Outcome(state="proven", schedule=item, cost=rank[0], bound=rank[0])
            if isinstance(item, Node):
                self._look(item)
            elif not item.node.is_closed:
                self._follow(item)
        return Outcome(state="none")

    def _put(self, rank: Rank, item: Node | Branch | Schedule) -> None:
        ticket = next(self._tickets)
        # Where there is no way, the quickest to see why is to go on from what was looked at last.
        heappush(self._ahead, ((0, 0), -ticket, item) if self.all_alike else (rank, ticket, item))

    def _new_node(self, extras: Build, broken: tuple[Law, ...], owed: int, known: int) -> Node | None:
        """Set up a build; None if it takes what is not to be had on the day."""
        made = self._due_presets(self.base | extras)
        if made is None:
            return None
        schedule = self._schedule(extras, made, NOTHING)
        work = 0 if self.all_alike else self._labour(schedule)
        least = work + sum(self._choice(x)[0] for x in self._bought(extras))
        weight = sum(weight_of(x, 1) for x in extras)
        node = Node(extras, work + self._purchases(extras), least, weight, owed, broken, known, [])
        self._nodes[extras] = node
        return node

    # --- looking at a build ---------------------------------------------------------------------------------------

    def _look(self, node: Node) -> None:
        known = self._known_no_good(node.extras)
        if known is not None:
            self._close(node, known)
            return
        build = self.base | node.extras
        self._work += 1
        if not node.broken:
            # Others have taught since what this build breaks.
            node.broken = tuple(x for x in self.laws.since(node.known) if x.is_broken_by(build))
        if not node.broken:
            self._work += 9
            node.broken = tuple(self.laws.learn(self.desk.examine(build).findings))
        node.known = len(self.laws.all())
        for law in node.broken:
            self._weigh(law)
        if node.broken:
            law, choices, owed = self._choose(node.broken, build)
            node.against = self._blame(law, node.extras)
            self.rests_on_unknown |= law.finding.status is Status.UNKNOWN
            self._branch(Branch(node, choices, owed))
        else:
            self._settle(node, build)

    def _settle(self, node: Node, build: Build) -> None:
        """Take the cheapest way to wire a sound build; if that takes a preset, look for another wiring with more parts."""
        if not self.desk.examine(build).options:
            # Open builds of a hopeful search may have no sound wiring to settle.
            made = self._due_presets(build) or NOTHING
            self._put((node.cost, node.weight), self._schedule(node.extras, made, NOTHING))
            return
        found = sorted(self._ways(node))
        self._is_sound_without_preset = self._is_sound_without_preset or not found
        for cost, made_for, moved in found[:1]:
            schedule = self._schedule(node.extras, frozenset(made_for), frozenset(moved))
            self._put((cost, node.weight), schedule)
        if not found or found[0][0] > node.cost:
            node.against = NoGood(node.extras, {})
            neighbours = self._neighbours(build)
            self.desk.weigh(neighbours)
            self._branch(Branch(node, self._open(neighbours, self._full(build))))

    def _ways(self, node: Node) -> Iterator[tuple[int, list[Placement], list[Placement]]]:
        """Give what each way to wire a sound build costs, with the presets made and the parts re-plugged for it."""
        bare = self._schedule(node.extras, NOTHING, NOTHING)
        is_hopeful = Status.UNKNOWN not in self.laws.counted
        ways = settle(self.desk, self.problem, bare, hopeful=is_hopeful).ways
        for made, moved in {(x.presets[1], x.replugs[1]) for x in ways}:
            cost = self._labour(self._schedule(node.extras, made, moved)) + self._purchases(node.extras)
            yield cost, sorted(made), sorted(moved)

    def _neighbours(self, build: Build) -> Build:
        """Give all that could mate with a plug of a build, or wake a silent channel: nothing else changes its wirings."""
        bench = self.bench
        net = bench.net(build, unknown_plugs=True)
        mates = (bench.mateable(net.place(node), face) for node, face in net.faces.items())
        silent = {
            (x.place, channel.needs) for x in build for channel in bench.part(x).channels if channel.needs
        }
        return NOTHING.union(*mates, *(bench.with_tag(place, tag) for place, tag in silent)) - build

    def _weigh(self, law: Law) -> None:
        if id(law) not in self._weighed:
            self._weighed.add(id(law))
            self.desk.weigh(law.repairs | law.finding.repairs)

    # --- what came to nothing -------------------------------------------------------------------------------------

    def _known_no_good(self, extras: Build) -> NoGood | None:
        return next((x for x in self._no_goods if x.extras <= extras), None)

    def _blame(self, law: Law, extras: Build) -> NoGood:
        """Give the extras that break a law, with those that take the room of its repairs."""
        breaking = (min(group & extras) for group in law.groups if group.isdisjoint(self.base))
        room = self._full(self.base)
        full = self._full(self.base | extras).difference(room).intersection(self._by_slot(law.repairs))
        taking = (x for x in extras if self.bench.slot(x) in full)
        return NoGood(frozenset((*breaking, *taking)), {id(law): law})

    def _close(self, node: Node, why: NoGood) -> None:
        """Note that nothing comes of a build, and of those before it of which nothing else can."""
        closing = [(node, why)]
        while closing:
            node, why = closing.pop()
            if node.is_closed:
                continue
            node.is_closed = True
            if not any(x.extras <= why.extras for x in self._no_goods):
                self._no_goods.append(why)
            for parent, placed in node.parents:
                closing += self._told(parent, placed, why)

    def _told(self, parent: Node, placed: Placement, why: NoGood) -> list[tuple[Node, NoGood]]:
        if parent.is_closed or parent.against is None:
            return []
        if placed not in why.extras:
            return [(parent, why)]
        extras = parent.against.extras | (why.extras - {placed})
        parent.against = NoGood(extras, {**parent.against.laws, **why.laws})
        parent.left -= 1
        return [(parent, parent.against)] if parent.left == 0 else []

    # --- adding one more -----------------------------------------------------------------------------------------

    def _branch(self, branch: Branch) -> None:
        node = branch.node
        node.left = len(branch.choices)
        if branch.choices:
            self._put(branch.rank, branch)
        elif node.against is not None:
            self._close(node, node.against)

    def _follow(self, branch: Branch) -> None:
        if branch.at + 1 < len(branch.choices):
            further = replace(branch, at=branch.at + 1)
            self._put(further.rank, further)
        node, (_, _, placed) = branch.node, branch.choices[branch.at]
        extras = node.extras | {placed}
        why = NoGood(frozenset({placed}), {}) if not self._may_join(placed) else self._known_no_good(extras)
        child = None if why else self._nodes.get(extras) or self._child(branch, extras, placed)
        if child is None:
            for closing, reason in self._told(node, placed, why or NoGood(extras, {})):
                self._close(closing, reason)
        else:
            child.parents.append((node, placed))

    def _child(self, branch: Branch, extras: Build, placed: Placement) -> Node | None:
        build = self.base | extras
        left = tuple(x for x in branch.node.broken if placed not in x.repairs)
        new = tuple(x for x in self.laws.involving(placed) if x.is_broken_by(build))
        child = self._new_node(extras, (*left, *new), branch.owed, branch.node.known)
        if child is not None:
            self._put(child.rank, child)
        return child

    def _may_join(self, placed: Placement) -> bool:
        """Tell whether a part is not refused by itself, whatever else is there."""
        if placed not in self._tried:
            self._tried.add(placed)
            self.laws.learn(self.desk.audition(placed))
        forbidding = next((x for x in self.laws.involving(placed) if x.forbids(placed)), None)
        if forbidding is not None:
            self.rests_on_unknown |= forbidding.finding.status is Status.UNKNOWN
        return forbidding is None

    def _choose(self, laws: Iterable[Law], build: Build) -> tuple[Law, Sequence[Choice], int]:
        """Choose the law with the fewest repairs to be had, and tell what the others cost besides at least."""
        full = self._full(build)
        by_number = sorted(
            ((len(x), at, law, x) for at, law in enumerate(laws) for x in [self._open(law.repairs, full)]),
            key=itemgetter(0, 1),
        )
        _, _, chosen, choices = by_number[0]
        owed, counted = 0, chosen.repairs
        for _, _, law, others in by_number[1:] if choices else ():
            if others and counted.isdisjoint(law.repairs):
                owed += others[0][0]
                counted |= law.repairs
        return chosen, choices, owed

    def _open(self, placements: Build, full: Collection[Slot]) -> Sequence[Choice]:
        """Give what may be had of these in slots that have room, by what it costs at least."""
        by_slot = self._by_slot(placements)
        found = [self._sorted(placements, slot) for slot in by_slot if slot not in full]
        return found[0] if len(found) == 1 else sorted(chain.from_iterable(found))

    def _by_slot(self, placements: Build) -> Mapping[Slot, Sequence[Placement]]:
        if self._are_as_for_any(placements):
            return self._offers.by_slot(placements)
        if placements not in self._slots:
            by_slot: dict[Slot, list[Placement]] = {}
            for x in placements - self.base:
                by_slot.setdefault(self.bench.slot(x), []).append(x)
            self._slots[placements] = by_slot
        return self._slots[placements]

    def _sorted(self, placements: Build, slot: Slot) -> Sequence[Choice]:
        if self._are_as_for_any(placements):
            return self._offers.in_order(placements, slot)
        key = placements, slot
        if key not in self._choices:
            there = self._slots[placements][slot]
            choices = sorted(self._choice(x) for x in there if self.problem.may_add(x, 1))
            self._choices[key] = choices if self.all_alike else self._offers.cheapest_alike(choices)
        return self._choices[key]

    def _are_as_for_any(self, placements: Build) -> bool:
        """Tell whether these may be had as for any other question on the bike: whatever of them is for sale."""
        return not self.all_alike and self._special.isdisjoint(placements)

    @cached_property
    def _special(self) -> Build:
        """What is there or asked for, displaced, or need not be bought."""
        return self.base | self.problem.start | self.problem.must_remove | self.problem.free

    def _choice(self, placed: Placement) -> Choice:
        choice = self._offers.choice(placed)
        return (0, *choice[1:]) if self.all_alike or placed in self.problem.free else choice

    def _full(self, build: Build) -> frozenset[Slot]:
        held = Counter(map(self.bench.slot, build))
        return frozenset(slot for slot, pieces in held.items() if pieces >= self.bench.capacity(*slot))

    # --- money ---------------------------------------------------------------------------------------------------

    def _schedule(self, extras: Build, presets: Build, replugs: Build) -> Schedule:
        builds = (self.problem.start, self.base | extras)
        return Schedule(builds=builds, presets=(NOTHING, presets), replugs=(NOTHING, replugs))

    def _labour(self, schedule: Schedule) -> int:
        """Give what a visit costs less what is sold, purchases aside."""
        pricer, doings = self.desk.pricer, doings_of(schedule, self.problem, 1)
        spent = sum(pricer.work_price(x, self.on) for x in pricer.charged_work(doings))
        spent -= sum(pricer.resale(x.part, self.on) for x in doings.removes)
        spent += sum(pricer.preset_price(x, self.on) for x in doings.presets)
        in_force = pricer.list_on(self.on)
        if doings.presets and doings.fitter == "home" and in_force is not None:
            spent += in_force[0].freight
        return spent

    def _purchases(self, extras: Build) -> int:
        """Give what the extras cost with what is asked for, in bundles where that is less."""
        if self.all_alike:
            return 0
        bought = Counter(x.part for x in self._bought(extras))
        single = sum(
            pieces * (price.amount if (price := self.desk.pricer.price(part, self.on)) else 0)
            for part, pieces in bought.items()
            if part not in self._in_bundles
        )
        return single + self._bundled(tuple(sorted(x for x in bought.elements() if x in self._in_bundles)))

    def _bought(self, extras: Build) -> Build:
        return (extras | self.base) - self.problem.start - self.problem.free

    def _bundled(self, parts: tuple[str, ...]) -> int:
        if parts not in self._covers:
            self._covers[parts] = total(self.desk.pricer.cover(Counter(parts), self.on) or ())
        return self._covers[parts]

    def _due_presets(self, build: Build) -> Build | None:
        """Give the presets that are due whatever the wiring is; None if one of them is not offered on the day."""
        start, bench = self.problem.start, self.bench
        is_new_head = any(bench.is_head(x) for x in build ^ start)
        due = frozenset(
            x
            for x in build
            if bench.part(x).kind == "amplifier" and (x not in start or is_new_head) and bench.is_chained(x)
        )
        return due if all(self.desk.pricer.service(x, self.on) for x in due) else None

    # --- where there is no way -----------------------------------------------------------------------------------

    def lacking(self) -> tuple[Law, ...]:
        """Give the laws that what is asked for breaks by itself, after a search that found no way: the fewest that do."""
        return tuple(x for x in self._core if x.is_broken_by(self.base))

    def conflicting_laws(self) -> tuple[Law, ...]:
        """Give a smallest set of laws that alone leave no way, after a search that found none; empty if presets stand in it."""
        if self._left_to is not None:
            return conflicting_laws(self._left_to)
        return tuple(self._fewest(self._core, [x for x in self._core if not x.is_broken_by(self.base)]))

    @cached_property
    def _core(self) -> list[Law]:
        refuted = self._known_no_good(NOTHING)
        if self._is_sound_without_preset or refuted is None:
            return []
        at = {id(law): at for at, law in enumerate(self.laws.all())}
        used = sorted(refuted.laws.values(), key=lambda x: at[id(x)])
        return self._fewest(used, [x for x in used if x.is_broken_by(self.base)])

    def _fewest(self, laws: list[Law], droppable: Iterable[Law]) -> list[Law]:
        """Drop laws one by one while those that are left still leave no way."""
        for law in droppable:
            fewer = [x for x in laws if x is not law]
            if not self._leave_a_way(fewer):
                laws = fewer
        return laws

    def _leave_a_way(self, laws: Sequence[Law]) -> bool:
        """Tell whether some extras break none of these laws."""
        by_member: dict[Placement, list[Law]] = {}
        for law in laws:
            for x in {x for group in law.groups for x in group}:
                by_member.setdefault(x, []).append(law)
        seen: set[Build] = set()
        ahead = [(NOTHING, tuple(x for x in laws if x.is_broken_by(self.base)))]
        while ahead:
            extras, broken = ahead.pop()
            build = self.base | extras
            if extras in seen or self._due_presets(build) is None:
                continue
            seen.add(extras)
            if not broken:
                return True
            _, choices, _ = self._choose(broken, build)
            for _, _, placed in choices:
                if self._may_join(placed):
                    more = build | {placed}
                    left = tuple(x for x in broken if placed not in x.repairs)
                    new = tuple(x for x in by_member.get(placed, ()) if x.is_broken_by(more))
                    ahead.append((extras | {placed}, (*left, *new)))
        return False
