"""What is still to be done on a path, in which visits it can be, and what it costs at the least."""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

from rules.plan.board import Board, bits
from rules.plan.purse import ENDLESS
from rules.plan.tariff import Tariff


class Moves(NamedTuple):
    """Parts that come and parts that go, as bits."""

    added: int = 0
    gone: int = 0


NONE = Moves()


class Outlook:
    """The visits in which all that a path brings and takes can come and go, by what is due when, and by the laws known so far.

    Attributes:
        is_hopeful: False where something is due that cannot be there in time.
    """

    def __init__(
        self,
        board: Board,
        tariff: Tariff,
        final: int,
        passing: int,
        *,
        start_counts: bool,
    ) -> None:
        self.board = board
        self.tariff = tariff
        self.last = board.problem.last
        self.is_hopeful = True
        self.final, self.passing = final, passing
        self.start_counts = start_counts
        size = len(board.items)
        self.first, self.latest = [1] * size, [self.last] * size
        self._first_gone, self._latest_gone = [1] * size, [self.last] * size
        self._look()
        self._comes, self._goes = (self.first, self.latest), (self._first_gone, self._latest_gone)
        self._coming = (final | passing) & board.new
        self._going = board.start & ~final | passing
        self._known: dict[tuple[int, Moves], tuple[int, int]] = {}
        self._owns: dict[tuple[int, Moves], tuple[int, int]] = {}
        self._spans: dict[tuple[int, ...], int] = {}
        self._later: dict[int, int] = {}

    @cached_property
    def _adding(self) -> dict[int, list[int]]:
        """Give for what comes the least cost of that after each visit."""
        return {i: self.tariff.least_added(i, self.first[i], self.latest[i]) for i in bits(self._coming)}

    @cached_property
    def _removing(self) -> dict[int, list[int]]:
        """Give for what goes the same."""
        return {
            i: self.tariff.least_gone(i, self._first_gone[i], self._latest_gone[i]) for i in bits(self._going)
        }

    # --- when it can be -----------------------------------------------------------------------------------------

    def _look(self) -> None:
        board, tariff = self.board, self.tariff
        ours = self.final | self.passing
        fixed = board.start & self.final
        there, possible = fixed, fixed | board.start
        could_hold = ours | board.start
        self._clauses = [x for x in board.clauses if all(group & could_hold for group in x.groups)]
        for k in board.visits:
            for i in bits(ours & board.new & ~possible):
                if tariff.added_at[k - 1][i] < ENDLESS:
                    possible |= 1 << i
            if k == self.last:
                there, possible = there | self.final, possible & self.final
            there, able = self._close(k, there, possible)
            for i in bits(ours & board.new):
                if not able >> i & 1 and k < self.last:
                    self.first[i] = k + 1 if self.first[i] == k else self.first[i]
                if there >> i & 1:
                    self.latest[i] = min(self.latest[i], k)
            there &= self.final
        for i in bits(self.passing):
            self.latest[i] = min(self.latest[i], self.last - 1)
            self._first_gone[i] = self.first[i] + 1
        self._let_go(ours & board.new)

    def _close(self, k: int, there: int, possible: int) -> tuple[int, int]:
        """Give what must be there after a visit, and what can, given what must and can by its date alone."""
        board = self.board
        while True:
            must, can = there, possible
            for since, options in board.demands:
                if since <= k:
                    must |= self._only(options & can)
            if must & board.new or self.start_counts:
                for groups, repairs in self._clauses:
                    missing = [group for group in groups if not group & must]
                    if not missing:
                        must |= self._only(repairs & can)
                    elif len(missing) == 1 and not repairs & can:
                        can &= ~missing[0]
            if (must, can) == (there, possible):
                return there, possible
            if must & ~can:
                self.is_hopeful = False
                return there, possible
            there, possible = must, can

    def _only(self, options: int) -> int:
        """Give the only one there is, if it is one; what has none at all can never be."""
        if not options:
            self.is_hopeful = False
        return options if options & (options - 1) == 0 else 0

    def _let_go(self, added: int) -> None:
        """What goes only where something comes in at its place goes while that can come."""
        board = self.board
        for i in bits(board.start & ~self.final):
            if board.room[i] >= 0:
                coming = list(bits(board.room[i] & added))
                self._first_gone[i] = min((self.first[j] for j in coming), default=1)
                self._latest_gone[i] = max((self.latest[j] for j in coming), default=self.last)

    # --- what it costs ------------------------------------------------------------------------------------------

    def least(self, k: int, later: Moves) -> tuple[int, int]:
        """Give the least that is spent on moves after a visit, and the most that is fetched."""
        key = k, later
        found = self._known.get(key)
        if found is None:
            spent, back = self._own(k, later)
            found = self._known[key] = spent + self._shared(k, later, NONE, 0), back
        return found

    def _own(self, k: int, moves: Moves) -> tuple[int, int]:
        """Give what moves after a visit cost at the least, what they share with others aside; and what they fetch at most."""
        key = k, moves
        found = self._owns.get(key)
        if found is None:
            spent = back = 0
            for i in bits(moves.added):
                spent += self._adding[i][k]
            for i in bits(moves.gone):
                spent += self._removing[i][k]
                back += self.tariff.most_fetched[k][i]
            found = self._owns[key] = spent, back
        return found

    def with_now(self, k: int, now: Moves, later: Moves, opened: Moves) -> tuple[int, int]:
        """Give the same, with moves that are made in the visit, and others that may be made then or later."""
        spent, back, common = self.tariff.now(k, *now)
        rest, most = self._own(k, later)
        more, much = self._own(k - 1, opened)
        return spent + rest + more + self._shared(k, later, opened, common), back + most + much

    def _shared(self, k: int, later: Moves, opened: Moves, done: int) -> int:
        """Give what shared work costs at the least.

        Args:
            done: Work that is done in the visit, so that what may be done then needs no more of it.
        """
        spent, takers = 0, self.tariff.takers
        for w in bits(self.tariff.common(*later) | self.tariff.common(*opened)):
            adding, going = takers[w]
            key = (
                w,
                k,
                done >> w & 1,
                later.added & adding,
                later.gone & going,
                opened.added & adding,
                opened.gone & going,
            )
            found = self._spans.get(key)
            if found is None:
                found = self._spans[key] = self._spanned(*key)
            spent += found
        return spent

    def _spanned(self, w: int, k: int, done: int, coming: int, going: int, may_come: int, may_go: int) -> int:
        """Give what one shared work costs: once for each of the spans of visits that do not overlap."""
        spans = [
            (latests[i], max(start, firsts[i]))
            for mask, start, (firsts, latests) in (
                (coming, k + 1, self._comes),
                (going, k + 1, self._goes),
                (may_come, k, self._comes),
                (may_go, k, self._goes),
            )
            for i in bits(mask)
        ]
        spans.sort()
        spent, end = 0, k if done else 0
        for latest, first in spans:
            if first > end:
                spent += self.tariff.least_shared(w, first, latest)
                end = latest
        return spent

    def later_than(self, i: int) -> int:
        """Give what cannot come before a part has."""
        if i not in self._later:
            self._later[i] = sum(1 << j for j in bits(self._coming) if self.first[j] > self.latest[i])
        return self._later[i]

    # --- what can be done when ----------------------------------------------------------------------------------

    @cached_property
    def possible_in(self) -> list[Moves]:
        """Give what can come and go in each visit; nothing before the first."""
        return [NONE, *(self._possible_in(k) for k in self.board.visits)]

    @cached_property
    def possible_after(self) -> list[Moves]:
        """Give what can come and go after each visit, and before the first."""
        return [self._possible_after(k) for k in range(self.last + 1)]

    def _possible_in(self, k: int) -> Moves:
        return Moves(
            self._possible(k, self._coming, self.tariff.added_at, *self._comes),
            self._possible(k, self._going, self.tariff.gone_at, *self._goes),
        )

    @staticmethod
    def _possible(k: int, mask: int, costs: list[list[int]], firsts: list[int], latests: list[int]) -> int:
        return sum(1 << i for i in bits(mask) if firsts[i] <= k <= latests[i] and costs[k - 1][i] < ENDLESS)

    def _possible_after(self, k: int) -> Moves:
        return Moves(
            sum(1 << i for i, costs in self._adding.items() if costs[k] < ENDLESS),
            sum(1 << i for i, costs in self._removing.items() if costs[k] < ENDLESS),
        )
