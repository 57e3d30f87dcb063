"""The placements of a search as bits of whole numbers, with what laws, slots, demands and removals allow."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from rules.build import Build, Placement, Slot
from rules.catalog.part import RUN_KINDS
from rules.electrical.load import exact
from rules.laws import Law
from rules.plan.problem import Problem
from rules.pricing import Pricer
from rules.scene import number

MILLIGRAMS = 1_000_000
"""In a kilogram: masses are whole numbers."""


@lru_cache(maxsize=100_000)
def bits(mask: int) -> tuple[int, ...]:
    """Give the numbers of the bits that are set, lowest first."""
    return tuple(i for i in range(mask.bit_length()) if mask >> i & 1)


class Clause(NamedTuple):
    """A law in bits: a build with one of each group and none of the repairs is not valid."""

    groups: tuple[int, ...]
    repairs: int

    def is_broken_by(self, build: int) -> bool:
        """Tell whether a build breaks the law."""
        return not build & self.repairs and all(build & group for group in self.groups)


class Board:
    """Placements as bits. Visits are counted from 1."""

    def __init__(self, problem: Problem, pricer: Pricer, candidates: Iterable[Placement]) -> None:
        self.problem = problem
        self.pricer = pricer
        self.bench = pricer.bench
        self.items = tuple(sorted(problem.start | frozenset(candidates)))
        self._number = {x: i for i, x in enumerate(self.items)}
        self.start = self.mask(problem.start)
        self.all = (1 << len(self.items)) - 1
        self.new = self.mask(self.items) & ~self.start
        self.visits = range(1, problem.last + 1)
        self.clauses: list[Clause] = []
        self.demands = [(demand.since, self.mask(demand.options)) for demand in problem.demands]
        self.wanted = self.mask(frozenset().union(*(x.options for x in problem.demands)))
        self.slots = self._slots()
        self.grams = self._grams()
        self._fine: dict[int, tuple[int, bool]] = {}
        self.addable = [0, *(self._addable(k) for k in self.visits)]
        self.removable = [0, *(self._removable(k) for k in self.visits)]
        self.room = [self._room(x) for x in self.items]
        self.pieces_limits = [
            (self.mask(x for x in self.items if x.part == part) & self.new, most)
            for part, most in sorted(problem.most_pieces.items())
        ]

    def mask(self, placements: Iterable[Placement]) -> int:
        """Give placements as bits; what is not on the board is left out."""
        found = 0
        for x in placements:
            if x in self._number:
                found |= 1 << self._number[x]
        return found

    def number(self, placed: Placement) -> int:
        """Give the bit of a placement."""
        return self._number[placed]

    def build(self, mask: int) -> Build:
        """Give the placements of some bits."""
        return frozenset(self.items[i] for i in bits(mask))

    # --- builds -------------------------------------------------------------------------------------------------

    def obey(self, laws: Iterable[Law]) -> None:
        """Take in laws that may count here."""
        for law in laws:
            groups = tuple(self.mask(group) for group in law.groups)
            if all(groups):
                self.clauses.append(Clause(groups, self.mask(law.repairs)))

    def is_fine(self, build: int) -> bool:
        """Tell whether a build fits its slots, is no heavier than it may be, and breaks no law that is known by now."""
        seen, fine = self._fine.get(build, (0, True))
        if fine and not seen:
            fine = self._is_held(build)
        if fine and seen < len(self.clauses):
            fine = not any(x.is_broken_by(build) for x in self.clauses[seen:])
        self._fine[build] = (len(self.clauses), fine)
        return fine

    def _is_held(self, build: int) -> bool:
        if any((build & slot).bit_count() > capacity for slot, capacity in self.slots):
            return False
        return self.problem.most_added_kg is None or self._is_light(build)

    def _is_light(self, build: int) -> bool:
        assert self.problem.most_added_kg is not None  # noqa: S101 - the callers looked
        more = sum(self.grams[i] for i in bits(build & ~self.start))
        less = sum(self.grams[i] for i in bits(self.start & ~build))
        return more - less <= round(exact(self.problem.most_added_kg) * MILLIGRAMS)

    def first_held(self, gone: int, added: int) -> int | None:
        """Give the first of what goes that may not go beside what comes in then; None if all of it may."""
        return next((i for i in bits(gone) if self.room[i] >= 0 and not self.room[i] & added), None)

    def _slots(self) -> list[tuple[int, int]]:
        slots: dict[Slot, int] = {}
        for i, x in enumerate(self.items):
            slot = self.bench.slot(x)
            slots[slot] = slots.get(slot, 0) | 1 << i
        found = ((members, self.bench.capacity(*slot)) for slot, members in slots.items())
        return [(members, capacity) for members, capacity in found if members.bit_count() > capacity]

    def _grams(self) -> list[int]:
        if self.problem.most_added_kg is None:
            return []
        return [round(exact(number(self.bench.part(x).mass_kg) or 0.0) * MILLIGRAMS) for x in self.items]

    # --- changes ------------------------------------------------------------------------------------------------

    def _addable(self, k: int) -> int:
        return self.mask(
            self.items[i]
            for i in bits(self.new)
            if self.problem.may_add(self.items[i], k) and self._may_splice(self.items[i])
        )

    def _may_splice(self, placed: Placement) -> bool:
        spliced = self.problem.keeps_wires and self.bench.part(placed).rewires
        return not spliced or placed.part in self.problem.rewirable

    def _removable(self, k: int) -> int:
        return self.mask(x for x in self.items if self._may_remove(x, k))

    def _may_remove(self, placed: Placement, k: int) -> bool:
        if not self.problem.may_remove(placed, k):
            return False
        is_run = self.bench.part(placed).kind in RUN_KINDS and placed not in self.bench.stock
        return not self.problem.keeps_wires or not is_run or placed.part in self.problem.rewirable

    def _room(self, placed: Placement) -> int:
        """Give what makes room for a part by coming in: something wanted at its place; -1 where it may go anyway."""
        if placed in self.problem.may_go or placed.part in self.problem.rewirable:
            return -1
        return self.mask(
            self.items[i] for i in bits(self.wanted & self.new) if self.items[i].place == placed.place
        )
