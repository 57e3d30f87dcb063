"""The search without a solver: first what a path brings and takes in all, then when; what may still cost least comes first.

Every value that leads is a lower bound on all that may follow from it. So the first path that comes up whole is a cheapest one,
and what comes up at the same cost after it are all the others (`docs/decisions`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from heapq import heappop, heappush
from itertools import count
from typing import NamedTuple

from rules.build import Build, Placement
from rules.changes import Feeding
from rules.desk import Desk
from rules.laws import Laws
from rules.plan.board import Board, bits
from rules.plan.outlook import Moves, Outlook
from rules.plan.problem import Problem
from rules.plan.purse import ENDLESS, Purse
from rules.plan.settle import Settler, State, Step, first_states
from rules.plan.tariff import NEVER, Tariff

LOOK, PARTS = 10, 5
"""The work of looking at something, and how many parts make it more by one."""


class TooFar(Exception):  # noqa: N818 - not an error: the caller asks the solver
    """The search has come to its limit of work."""


class NewGround(Exception):  # noqa: N818 - not an error: the caller begins anew
    """Something was learned that brings other parts into play."""


class Whole(NamedTuple):
    """All that a path brings and takes: its last build, and what is there only for a while; more of that from one bit on."""

    final: int
    passing: int
    following: int


class Way(NamedTuple):
    """One way to wire a path so far, and what its visits cost."""

    state: State
    paid: tuple[int, ...]


@dataclass(slots=True, eq=False)
class Leg:
    """A path up to a visit; its last build is judged, and its ways are known, only when it comes up.

    Attributes:
        sure: What its last visit costs at the least, whatever the wiring.
        rest: What is still to be spent after it at the least, and fetched at most.
        ahead: What is still to come.
        leaving: What is there and still to go.
    """

    whole: Outlook
    builds: tuple[int, ...]
    before: Leg | None
    fetched: tuple[int, ...]
    ever: int
    visits_made: int = 0
    sure: int = 0
    ways: list[Way] | None = None
    rest: tuple[int, int] = (0, 0)
    ahead: int = field(init=False)
    leaving: int = field(init=False)
    _net: int | None = None

    def __post_init__(self) -> None:
        whole = self.whole
        self.ahead = (whole.final | whole.passing) & whole.board.new & ~self.ever
        self.leaving = self.builds[-1] & ~whole.final

    @property
    def net(self) -> int:
        """Give what the cheapest of the ways costs so far, less what was fetched; once they are known."""
        if self._net is None:
            self._net = min(sum(way.paid) for way in self.ways or ()) - sum(self.fetched)
        return self._net

    @property
    def visit(self) -> int:
        """Give the number of the last visit."""
        return len(self.builds) - 1


class Choice(NamedTuple):
    """What is decided of a build: what is in it, and what is not. It comes after a leg; without one it is the last of all."""

    inside: int
    outside: int
    after: Leg | None = None


class Others(NamedTuple):
    """Last builds other than the one that was taken: one more part decided otherwise, in order of what that costs from one on."""

    choice: Choice
    following: int
    worth: tuple[int, int]


Node = Choice | Others | Whole | Leg


@dataclass
class Tour:
    """One search over a board.

    Args:
        judge: Tells of a build whether it is valid, and learns.
        stuck: Learns of two builds that no way of wiring leads from one to the other.
        dear: Learns of two builds between which presets or moved plugs are to be paid that another wiring might spare.
        by_visits: Of paths that cost as little, those with fewest visits come first, and alone.
        any_will_do: What is nearest to a whole path comes first, whatever it costs.
        limit: Work to do before the search gives up: each thing looked at counts as `LOOK`, and more where there are many parts.
    """

    desk: Desk
    board: Board
    laws: Laws
    judge: Callable[[Build], bool]
    stuck: Callable[[Build, Build], None]
    dear: Callable[[Build, Build], None]
    settler: Settler
    start_counts: bool
    by_visits: bool
    any_will_do: bool
    limit: int
    work: int = 0
    _heap: list[tuple[int, int, int, int, int, Node]] = field(default_factory=list)
    _counter: Iterator[int] = field(default_factory=count)
    _seen: set[Choice | int] = field(default_factory=set)
    _obeyed: int = 0
    _needed: dict[int, frozenset[tuple[tuple[int, int], ...]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.problem: Problem = self.board.problem
        self.purse = Purse(self.problem)
        self.tariff = Tariff(self.board, self.purse)

    def run(self) -> list[tuple[Leg, int]]:
        """Give the cheapest paths, of those the ones with fewest visits; with their cost. Empty if there is no path.

        Raises: `TooFar`; and what the judge raises.
        """
        self._push_choice(Choice(self._fixed(), 0))
        found: list[tuple[Leg, int]] = []
        best: tuple[int, int] | None = None
        while self._heap and (best is None or self._heap[0][1:3] <= best):
            self.work += LOOK + len(self.board.items) // PARTS
            if self.work > self.limit:
                raise TooFar
            _, cost, visits, _, _, node = heappop(self._heap)
            if isinstance(node, Choice):
                self._choose(node, (cost, visits))
            elif isinstance(node, Others):
                self._decide_otherwise(node)
            elif isinstance(node, Whole):
                self._begin(node)
            elif node.ways is None and not self._arrive(node):
                continue
            elif (now := self._worth(node)) > (cost, visits):
                self._push(*now, node)
            elif node.visit == self.problem.last:
                best = now
                found.append((node, cost))
                if self.any_will_do:
                    break
            else:
                self._go_on(node)
        return found

    def _push(self, cost: int, visits: int, node: Node) -> None:
        if cost >= NEVER // 2:
            return
        most = self.problem.most_total
        if most is not None and cost > most:
            return
        depth = 2 if isinstance(node, Others) else 0
        if not isinstance(node, Whole | Others):
            leg = node.after if isinstance(node, Choice) else node
            depth = 1 if leg is None else -leg.visit
        first = depth if self.any_will_do else 0
        counted = visits if self.by_visits else 0
        heappush(self._heap, (first, cost, counted, depth, next(self._counter), node))

    # --- builds, one decision after the other -------------------------------------------------------------------

    def _push_choice(self, choice: Choice) -> None:
        if choice in self._seen or choice.inside & choice.outside:
            return
        self._seen.add(choice)
        after = choice.after
        worth = self._worth_of_last(choice) if after is None else self._worth_of_next(choice, after)
        if worth is not None:
            self._push(*worth, choice)

    def _choose(self, choice: Choice, worth: tuple[int, int]) -> None:
        """Take the first thing that a build breaks, and decide it in each way; or take the build, and others that go further."""
        self._learn()
        sitting = self.board.start if choice.after is None else choice.after.builds[-1]
        build = choice.inside | sitting & ~choice.outside
        is_started = build != sitting or (choice.after is not None and choice.after.visits_made > 0)
        ways = self._to_make_room(choice, build)
        if ways is None:
            ways = self._repairs(choice, build, is_judged=is_started or self.start_counts)
        if ways is not None:
            for inside, outside in ways:
                self._push_choice(Choice(choice.inside | inside, choice.outside | outside, choice.after))
        elif choice.after is None:
            self._push_whole(Whole(build, 0, 0))
            self._push_others(Others(choice, 0, worth))
        else:
            self._go_to(choice.after, build)
            for i in bits(self.board.all & ~(choice.inside | choice.outside)):
                flipped, choice = self._decided(choice, i, sitting)
                self._push_choice(flipped)

    def _decided(self, choice: Choice, i: int, sitting: int) -> tuple[Choice, Choice]:
        """Decide of one part that it is otherwise than now, and that it is as now."""
        bit = 1 << i
        there = Choice(choice.inside | bit, choice.outside, choice.after)
        gone = Choice(choice.inside, choice.outside | bit, choice.after)
        return (gone, there) if sitting & bit else (there, gone)

    def _push_others(self, others: Others) -> None:
        choice, following, (cost, visits) = others
        decided = choice.inside | choice.outside
        while following < len(self._by_cost) and decided >> self._by_cost[following][1] & 1:
            following += 1
        if following < len(self._by_cost):
            more = self._by_cost[following][0]
            self._push(cost + more, visits, Others(choice, following, others.worth))

    def _decide_otherwise(self, others: Others) -> None:
        flipped, kept = self._decided(others.choice, self._by_cost[others.following][1], self.board.start)
        self._push_choice(flipped)
        self._push_others(Others(kept, others.following + 1, others.worth))

    @cached_property
    def _by_cost(self) -> list[tuple[int, int]]:
        """Give what it costs at the least to decide otherwise than now of each part, and the part; the least first."""
        found = []
        for i in range(len(self.board.items)):
            spent, back = self.tariff.own_ever(i, is_there=bool(self.board.start >> i & 1))
            found.append((max(0, spent - back), i))
        return sorted(found)

    def _repairs(self, choice: Choice, build: int, *, is_judged: bool) -> list[tuple[int, int]] | None:
        """Give the ways to mend the first thing that a build breaks; None if it breaks nothing."""
        visit = self.problem.last if choice.after is None else choice.after.visit + 1
        for since, options in self.board.demands:
            if since <= visit and not build & options:
                return self._any_of(options & ~choice.outside)
        for members, capacity in self.board.slots:
            if (build & members).bit_count() > capacity:
                return [(0, 1 << i) for i in bits(build & members & ~choice.inside)]
        for clause in self.board.clauses if is_judged else ():
            if clause.is_broken_by(build):
                mended = self._any_of(clause.repairs & ~choice.outside)
                return mended + [(0, build & x) for x in clause.groups if not build & x & choice.inside]
        return None

    def _to_make_room(self, choice: Choice, build: int) -> list[tuple[int, int]] | None:
        """Give the ways to let the first part go that goes in a visit for which nothing comes in; None if all may go."""
        if choice.after is None:
            return None
        now = choice.after.builds[-1]
        stuck = self.board.first_held(now & ~build, build & ~now)
        return None if stuck is None else self._any_of(self.board.room[stuck] & ~(now | choice.outside))

    @staticmethod
    def _any_of(members: int) -> list[tuple[int, int]]:
        """Decide for each in turn, and against those before it."""
        found, before = [], 0
        for i in bits(members):
            found.append((1 << i, before))
            before |= 1 << i
        return found

    # --- what is there in the end -------------------------------------------------------------------------------

    def _fixed(self) -> int:
        """Give what is there and never goes."""
        may_go = 0
        for k in self.board.visits:
            may_go |= self.board.removable[k]
        has_room = sum(1 << i for i in bits(self.board.start) if self.board.room[i])
        return self.board.start & ~(may_go & has_room)

    def _worth_of_last(self, choice: Choice) -> tuple[int, int] | None:
        added, gone = choice.inside & self.board.new, choice.outside & self.board.start
        spent, back = self.tariff.ever(added, gone)
        back += sum(self._gains[i] for i in bits(self._gainful & ~(choice.inside | choice.outside)))
        if self._is_over(added, spent, back):
            return None
        return spent - back, 1 if added | gone else 0

    @cached_property
    def _gains(self) -> dict[int, int]:
        """Give what is gained at most by letting a part go that is there, where that is more than nothing."""
        costs = ((i, *self.tariff.ever(0, 1 << i)) for i in bits(self.board.start))
        return {i: fetched - paid for i, paid, fetched in costs if fetched > paid}

    @cached_property
    def _gainful(self) -> int:
        return sum(1 << i for i in self._gains)

    def _is_over(self, added: int, spent: int, back: int) -> bool:
        """Tell whether no budget bears that this comes in and goes, whenever it does."""
        if any((added & members).bit_count() > most for members, most in self.board.pieces_limits):
            return True
        most_total = self.problem.most_total
        return not self.purse.may_bear(spent, back) or (most_total is not None and spent - back > most_total)

    # --- what is there for a while ------------------------------------------------------------------------------

    def _push_whole(self, whole: Whole) -> None:
        if not whole.passing and whole.final in self._seen:
            return
        if not whole.passing:
            self._seen.add(whole.final)
        moves = self._moves(whole)
        spent, back = self.tariff.ever(*moves)
        self._push(spent - back, 1 if any(moves) else 0, whole)

    def _moves(self, whole: Whole) -> Moves:
        """Give all that comes, and all that goes."""
        board = self.board
        return Moves(whole.final & board.new | whole.passing, board.start & ~whole.final | whole.passing)

    def _begin(self, whole: Whole) -> None:
        board = self.board
        for i in range(whole.following, len(board.items)):
            bit = 1 << i
            if bit & board.new & ~whole.final and board.room[i] and self.problem.last > 1:
                self._push_whole(Whole(whole.final, whole.passing | bit, i + 1))
        added, gone = moves = self._moves(whole)
        if board.first_held(gone, added) is not None:
            return
        outlook = Outlook(board, self.tariff, whole.final, whole.passing, start_counts=self.start_counts)
        if not outlook.is_hopeful or self._is_over(added, *outlook.least(0, moves)):
            return
        leg = Leg(outlook, (board.start,), None, (), board.start)
        leg.rest = self._ahead_of(leg)
        self._push(*self._worth(leg), leg)

    # --- when it comes and goes ---------------------------------------------------------------------------------

    def _go_on(self, leg: Leg) -> None:
        """Go to the builds that may come next."""
        now, k, whole = leg.builds[-1], leg.visit + 1, leg.whole
        possible, later = whole.possible_in[k], whole.possible_after[k]
        coming, going = leg.ahead & possible.added, leg.leaving & possible.gone
        due = Moves(leg.ahead & ~later.added, leg.leaving & ~later.gone)
        if due.added & ~coming or due.gone & ~going:
            return
        outside = self.board.all & ~(now | coming) | due.gone
        self._push_choice(Choice(now & ~going | due.added, outside, leg))

    def _worth_of_next(self, choice: Choice, leg: Leg) -> tuple[int, int] | None:
        """Give the least that follows where this is decided of a build: what is not may be done then or later."""
        k, whole, ahead, leaving = leg.visit + 1, leg.whole, leg.ahead, leg.leaving
        passing = whole.passing & ~leg.ever
        done = Moves(choice.inside & ahead, choice.outside & leaving)
        later = Moves(choice.outside & ahead, choice.inside & leaving | passing)
        opened = Moves(ahead & ~(done.added | later.added), leaving & ~(done.gone | later.gone))
        spent, back = whole.with_now(k, done, later, opened)
        if spent >= NEVER or (not self.purse.is_free and self._is_too_much(k, leg, done, later)):
            return None
        spent += self._presets_ahead(whole, k, choice.inside, choice.outside)
        visits = max(any(done) + any(later), any(done) or any(later) or any(opened))
        return leg.net + spent - back, leg.visits_made + visits

    def _is_too_much(self, k: int, leg: Leg, done: Moves, later: Moves) -> bool:
        """Tell whether what is decided for one visit, or for those after it, is more than these may cost."""
        if self.tariff.now(k, *done)[0] > self.purse.caps[k]:
            return True
        most = self.purse.caps_after[k]
        return most < ENDLESS and leg.whole.least(k, later)[0] > most

    def _go_to(self, leg: Leg, build: int) -> None:
        now, k = leg.builds[-1], leg.visit + 1
        builds = (*leg.builds, build)
        cost = self._cost(builds, k, self._sure_presets(builds, k), frozenset())
        if cost is None:
            return
        new = Leg(
            leg.whole,
            builds,
            leg,
            (*leg.fetched, cost[1]),
            leg.ever | build,
            leg.visits_made + (build != now),
            sure=cost[0],
        )
        new.rest = self._ahead_of(new)
        so_far = {(*way.paid, cost[0]) for way in leg.ways or ()}
        if any(self.purse.bears(x, new.fetched, *new.rest) for x in so_far):
            self._push(*self._worth(new), new)

    def _worth(self, leg: Leg) -> tuple[int, int]:
        """Give the least that a path may cost in the end, and in how many visits."""
        ways = leg.ways if leg.before is None or leg.ways is not None else leg.before.ways
        sure = leg.sure if leg.ways is None else 0
        paid = min((sum(way.paid) for way in ways or ()), default=0) + sure
        spent, back = leg.rest
        is_whole = leg.builds[-1] == leg.whole.final and not leg.ahead
        visits = leg.visits_made + (not is_whole) if self.by_visits else 0
        return paid - sum(leg.fetched) + spent - back, visits

    def _ahead_of(self, leg: Leg) -> tuple[int, int]:
        """Give what is still to be spent at the least, and fetched at most."""
        final, now = leg.whole.final, leg.builds[-1]
        leaving = leg.leaving | leg.whole.passing & ~leg.ever
        spent, back = leg.whole.least(leg.visit, Moves(leg.ahead, leaving))
        # The last build is judged, and its wirings are known, once the path begins.
        if leg.before is not None or leg.ways is not None:
            is_begun = leg.visits_made > 0 or (final == self.board.start and not leg.whole.passing)
            unpreset = 0 if is_begun else self.tariff.unpreset
            spent += self._presets_ahead(leg.whole, leg.visit, now, ~now, unpreset)
        return spent, back

    def _presets_ahead(self, whole: Outlook, visit: int, inside: int, outside: int, unpreset: int = 0) -> int:
        """Give the least that presets will cost after a visit which no addition brings along by itself.

        What is in force in the end was made when all of its chain was there; so where something of it is missing now, it is
        still to be made. So it is where an amplifier stands there without one and nothing is done yet.

        Args:
            inside: What is there after the visit.
            outside: What is not.
            unpreset: Amplifiers whose preset is still to be made in any case.
        """
        if visit == self.problem.last or self.settler.hopeful:
            return 0
        is_other_head = self.tariff.heads & (inside & ~whole.final | outside & whole.final)
        least = NEVER
        for chains in self._chains(whole.final):
            due = 0
            for amplifier, members in chains:
                bit = 1 << amplifier
                if bit & self.tariff.chained & ~inside:
                    # It comes with a preset, and takes another one only if the rest of its chain cannot be there by then.
                    is_due = members & whole.later_than(amplifier)
                else:
                    is_due = is_other_head or members & outside or bit & unpreset
                if is_due:
                    due += self.tariff.least_preset(visit, amplifier)
            least = min(least, due)
        if least:
            # What might spare them comes into play before they count: with them, the path may never come up to be judged.
            final = self.board.build(whole.final)
            self.dear(final, final)
        return least

    def _chains(self, final: int) -> frozenset[tuple[tuple[int, int], ...]]:
        """Give the chains for which presets must be in force in the end, for each wiring: the amplifier, and all in the chain."""
        if final not in self._needed:
            is_untouched = final == self.board.start and not self.start_counts
            found = set()
            for chains in () if is_untouched else self.settler.chains(self.board.build(final)):
                found.add(
                    tuple(
                        (self.board.number(x), self.board.mask((x, *chains.now[x][0], *chains.now[x][2])))
                        for x in sorted(chains.needing)
                    )
                )
            self._needed[final] = frozenset(found) or frozenset({()})
        return self._needed[final]

    # --- judging ------------------------------------------------------------------------------------------------

    def _learn(self) -> None:
        laws = self.laws.since(self._obeyed)
        self._obeyed += len(laws)
        self.board.obey(laws)

    def _set_out(self, leg: Leg) -> bool:
        """Judge the last build of a path before its first visit; tell whether it is valid."""
        final = leg.whole.final
        is_judged = final != self.board.start or self.start_counts or leg.whole.passing
        if is_judged and not (self.board.is_fine(final) and self.judge(self.board.build(final))):
            return False
        leg.ways = [Way(x, ()) for x in first_states(self.desk)]
        leg.rest = self._ahead_of(leg)
        return True

    def _arrive(self, leg: Leg) -> bool:
        """Judge the build of a path after a visit, and find its ways; tell whether there is one."""
        self._learn()
        if leg.before is None:
            return self._set_out(leg)
        before, mask, k = leg.builds[-2], leg.builds[-1], leg.visit
        old, build = self.board.build(before), self.board.build(mask)
        is_judged = leg.visits_made > 0 or self.start_counts
        if is_judged and not (self.board.is_fine(mask) and self.judge(build)):
            return False
        former = leg.before.ways or ()
        if self.settler.hopeful:
            leg.ways = self._hoped_for(leg, former)
            return bool(leg.ways)
        paid = {(way.state.presets, way.state.replugs): way.paid for way in former}
        leg.ways = []
        states = self.settler.advance([x.state for x in former], Step(old, build, k))
        if not states:
            self.stuck(old, build)
        sure = self._sure_presets(leg.builds, k)
        if any(x.presets[k] - sure or x.replugs[k] for x in states):
            self.dear(old, build)
        for state in states:
            cost = self._cost(leg.builds, k, state.presets[-1], state.replugs[-1])
            if cost is not None:
                way = Way(state, (*paid[state.presets[:-1], state.replugs[:-1]], cost[0]))
                if self._bears(leg, way.paid):
                    leg.ways.append(way)
        return bool(leg.ways)

    def _bears(self, leg: Leg, paid: tuple[int, ...]) -> bool:
        return self.purse.bears(paid, leg.fetched, 0, NEVER)

    def _hoped_for(self, leg: Leg, former: Sequence[Way]) -> list[Way]:
        """Give what a path costs without its wirings; only a whole one is wired, if all its builds are known to be sound."""
        builds = tuple(map(self.board.build, leg.builds))
        sure = self._sure_presets(leg.builds, leg.visit)
        way = Way(_unwired(former[0].state, sure), (*former[0].paid, leg.sure))
        if leg.visit < self.problem.last or not all(self._is_sound(x) for x in builds[1:]):
            return [way] if self._bears(leg, way.paid) else []
        found = []
        states = self.settler.states(builds)
        if not states:
            k = next(k for k in self.board.visits if not self.settler.states(builds[: k + 1]))
            self.stuck(builds[k - 1], builds[k])
        for state in states:
            costs = [self._cost(leg.builds, k, state.presets[k], state.replugs[k]) for k in self.board.visits]
            paid = tuple(cost[0] for cost in costs if cost is not None)
            if len(paid) == self.problem.last and self._bears(leg, paid):
                found.append(Way(state, paid))
        return found

    def _is_sound(self, build: Build) -> bool:
        is_judged = build != self.problem.start or self.start_counts
        return not is_judged or bool(self.desk.examine(build).options)

    def _sure_presets(self, builds: Sequence[int], k: int) -> Build:
        before, now = builds[k - 1 : k + 1]
        return self.tariff.sure_presets(now & ~before, before & ~now, now) if now != before else frozenset()

    def _cost(self, builds: Sequence[int], k: int, presets: Build, replugs: Build) -> tuple[int, int] | None:
        """Give what a visit costs and fetches; nothing where nothing is done."""
        before, now = builds[k - 1 : k + 1]
        return (
            (0, 0) if before == now else self.tariff.cost(k, now & ~before, before & ~now, presets, replugs)
        )


def _unwired(former: State, presets: Build) -> State:
    none = frozenset[Placement]()
    return State((), Feeding(()), frozenset(), (*former.presets, presets), (*former.replugs, none))
