"""What visits cost over the bits of a board: to the cent for a visit, and at the least for what is still to be done."""

from __future__ import annotations

from collections import Counter
from datetime import date
from functools import cached_property

from rules.build import Build, Placement
from rules.plan.board import Board, bits
from rules.plan.purse import ENDLESS, Purse
from rules.pricing import Work
from rules.troubles import unpreset

NEVER = ENDLESS
"""What may not be done costs this."""


class Tariff:
    """Money in minor units. Of a visit: what is paid, and what is fetched for parts sold."""

    def __init__(self, board: Board, purse: Purse) -> None:
        self.purse = purse
        self.board = board
        self.problem = board.problem
        self.pricer = board.pricer
        bench = board.bench
        self.chained = board.mask(
            x for x in board.items if bench.part(x).kind == "amplifier" and bench.is_chained(x)
        )
        self.unpreset = board.mask(unpreset(bench))
        self.heads = board.mask(x for x in board.items if self._is_head(x))
        self._bought: dict[tuple[int, int], int] = {}
        self._costs: dict[tuple[int, int, int, Build, Build], tuple[int, int] | None] = {}
        self._commons: dict[tuple[int, int], int] = {}
        self._now: dict[tuple[int, int, int], tuple[int, int, int]] = {}
        self._presets: dict[int, list[int]] = {}
        self._least_added: dict[tuple[int, int, int], list[int]] = {}
        self._least_gone: dict[tuple[int, int, int], list[int]] = {}
        self._least_shared: dict[tuple[int, int, int], int] = {}
        self._prices: dict[tuple[str, int], int] = {}
        self._works: dict[tuple[Placement, str], tuple[list[Work], int]] = {}
        self._shared: list[Work] = []
        self._numbers: dict[Work, int] = {}
        self._adding = [self._work_on(x, "add") for x in board.items]
        self._going = [self._work_on(x, "remove") for x in board.items]

    def _is_head(self, placed: Placement) -> bool:
        part = self.board.bench.part(placed)
        kinds = (self.board.bench.tables.catalog.parts[host].kind for host in part.host)
        return part.kind == "head_unit" or "head_unit" in kinds

    def _work_on(self, placed: Placement, action: str) -> tuple[list[Work], int]:
        """Give the work on one placement that is its own, and as bits what it shares with others."""
        key = placed, action
        if key not in self._works:
            works = sorted(self.pricer.operations(placed, action), key=str)
            shared = [self._number(x) for x in works if x.of is None]
            self._works[key] = [x for x in works if x.of is not None], sum(1 << w for w in shared)
        return self._works[key]

    def _number(self, shared: Work) -> int:
        if shared not in self._numbers:
            self._numbers[shared] = len(self._shared)
            self._shared.append(shared)
        return self._numbers[shared]

    # --- one visit ----------------------------------------------------------------------------------------------

    def sure_presets(self, added: int, gone: int, build: int) -> Build:
        """Give the amplifiers that take a preset whatever the wiring: new in a chain, or beside a changed head unit."""
        made = self.chained & added
        if (added | gone) & self.heads:
            made |= self.chained & build
        return self.board.build(made)

    def cost(self, k: int, added: int, gone: int, presets: Build, replugs: Build) -> tuple[int, int] | None:
        """Give what a visit costs and what it fetches; None where somebody at home cannot do it, or no preset is for sale."""
        key = (k, added, gone, presets, replugs)
        if key not in self._costs:
            self._costs[key] = self._cost(*key)
        return self._costs[key]

    def _cost(self, k: int, added: int, gone: int, presets: Build, replugs: Build) -> tuple[int, int] | None:
        stage = self.problem.stages[k - 1]
        if any(self.pricer.service(x, stage.on) is None for x in presets):
            return None
        labour = self._labour(k, added, gone, presets, replugs)
        if labour is None:
            return None
        spent = labour + self._purchases(k, added)
        spent += sum(self.pricer.preset_price(x, stage.on) for x in presets)
        if presets and stage.fitter == "home" and (found := self.pricer.list_on(stage.on)) is not None:
            spent += found[0].freight
        return spent, sum(self.pricer.resale(self.board.items[i].part, stage.on) for i in bits(gone))

    def _purchases(self, k: int, added: int) -> int:
        if (k, added) not in self._bought:
            needed = Counter(self.board.items[i].part for i in bits(added))
            self._bought[k, added] = self._price_of(needed, self.problem.stages[k - 1].on)
        return self._bought[k, added]

    def _price_of(self, needed: Counter[str], on: date) -> int:
        if not self._bundled.isdisjoint(needed):
            lines = self.pricer.cover(needed, on)
            return NEVER if lines is None else sum(line.total for line in lines)
        found = [(self.pricer.price(part, on), pieces) for part, pieces in needed.items()]
        return sum(NEVER if price is None else pieces * price.amount for price, pieces in found)

    @cached_property
    def _bundled(self) -> frozenset[str]:
        """Give what comes in some bundle."""
        parts = self.pricer.catalog.parts
        return frozenset(x for bundle in self.board.bench.tables.bundles for x in parts[bundle].members)

    def _labour(self, k: int, added: int, gone: int, presets: Build, replugs: Build) -> int | None:
        kinds = [self._adding[i] for i in bits(added)] + [self._going[i] for i in bits(gone)]
        kinds += [self._work_on(x, "replug") for x in replugs]
        if not all(self._may_do(own, k) for own, _ in kinds):
            return None
        common = at_bench = 0
        for _, shared in kinds:
            common |= shared
        spent = sum(self._own_work(own, k) for own, _ in kinds)
        # A preset is made in the workshop: nobody does it, nor what it takes, for nothing at home.
        for own, shared in (self._work_on(x, "preset") for x in presets):
            spent += sum(self._price(x, k) for x in own)
            at_bench |= shared
        others = [self._shared[w] for w in bits(common & ~at_bench)]
        if not self._may_do(others, k):
            return None
        spent += sum(self._price(self._shared[w], k) for w in bits(at_bench))
        return spent + self._own_work(others, k)

    def _price(self, work: Work, k: int) -> int:
        key = (work.operation, k)
        if key not in self._prices:
            self._prices[key] = self.pricer.work_price(work, self.problem.stages[k - 1].on)
        return self._prices[key]

    # --- at the least -------------------------------------------------------------------------------------------

    def ever(self, added: int, gone: int) -> tuple[int, int]:
        """Give what changes cost at the least, whenever they are made, and what they fetch at most."""
        spent = sum(self._ever_added[i] for i in bits(added)) + sum(self._ever_gone[i] for i in bits(gone))
        spent += sum(self._ever_shared[w] for w in bits(self.common(added, gone)))
        return spent, sum(self.most_fetched[0][i] for i in bits(gone))

    def own_ever(self, i: int, *, is_there: bool) -> tuple[int, int]:
        """Give the same for one part that comes, or goes if it is there, what it shares with others aside."""
        return (self._ever_gone[i], self.most_fetched[0][i]) if is_there else (self._ever_added[i], 0)

    @cached_property
    def _ever_added(self) -> list[int]:
        return list(map(min, zip(*self.added_at, strict=True)))

    @cached_property
    def _ever_gone(self) -> list[int]:
        return list(map(min, zip(*self.gone_at, strict=True)))

    @cached_property
    def _ever_shared(self) -> list[int]:
        return list(map(min, zip(*self.shared_at, strict=True)))

    def common(self, added: int, gone: int) -> int:
        """Give as bits the work that some changes share with others."""
        key = added, gone
        if key not in self._commons:
            found = 0
            for i in bits(added):
                found |= self._adding[i][1]
            for i in bits(gone):
                found |= self._going[i][1]
            self._commons[key] = found
        return self._commons[key]

    def now(self, k: int, added: int, gone: int) -> tuple[int, int, int]:
        """Give what changes cost at the least in one visit, what they fetch, and as bits what work they share with others."""
        key = k, added, gone
        if key not in self._now:
            common = self.common(added, gone)
            at = k - 1
            spent = sum(self.shared_at[at][w] for w in bits(common))
            spent += sum(self.added_at[at][i] for i in bits(added)) + sum(
                self.gone_at[at][i] for i in bits(gone)
            )
            self._now[key] = spent, sum(self.fetched_at[at][i] for i in bits(gone)), common
        return self._now[key]

    @cached_property
    def takers(self) -> list[tuple[int, int]]:
        """Give for each shared work the parts whose coming, and those whose going, takes it."""
        return [
            (
                sum(1 << i for i, (_, common) in enumerate(self._adding) if common >> w & 1),
                sum(1 << i for i, (_, common) in enumerate(self._going) if common >> w & 1),
            )
            for w in range(len(self._shared))
        ]

    def least_preset(self, k: int, i: int) -> int:
        """Give the least that a preset of an amplifier costs after a visit."""
        if i not in self._presets:
            costs = [self._preset_at(i, j) for j in self.board.visits]
            self._presets[i] = [min(costs[j:]) for j in range(self.problem.last)]
        return self._presets[i][k]

    def _preset_at(self, i: int, k: int) -> int:
        placed, on = self.board.items[i], self.problem.stages[k - 1].on
        if self.pricer.service(placed, on) is None:
            return NEVER
        at_bench = (x for x in self.pricer.operations(placed, "preset") if x.of is not None)
        return self.pricer.preset_price(placed, on) + sum(self._price(x, k) for x in at_bench)

    def is_free(self, work: Work, k: int) -> bool:
        """Tell whether a home fitter does some work for nothing in a visit."""
        return self.problem.stages[k - 1].fitter == "home" and self.pricer.operation(work).home

    @cached_property
    def added_at(self) -> list[list[int]]:
        """Give what each addition costs at the least in each visit, what it shares with others aside."""
        return [[self._adding_at(i, k) for i in range(len(self.board.items))] for k in self.board.visits]

    @cached_property
    def gone_at(self) -> list[list[int]]:
        """Give what each removal costs, likewise."""
        return [[self._going_at(i, k) for i in range(len(self.board.items))] for k in self.board.visits]

    def least_added(self, i: int, first: int, latest: int) -> list[int]:
        """Give the least cost of an addition after each visit, where it is made in one of the visits from one to another."""
        key = i, first, latest
        if key not in self._least_added:
            self._least_added[key] = self._least_after(self.added_at, *key)
        return self._least_added[key]

    def least_gone(self, i: int, first: int, latest: int) -> list[int]:
        """Give the least cost of a removal likewise."""
        key = i, first, latest
        if key not in self._least_gone:
            self._least_gone[key] = self._least_after(self.gone_at, *key)
        return self._least_gone[key]

    def _least_after(self, costs: list[list[int]], i: int, first: int, latest: int) -> list[int]:
        least = [ENDLESS] * (self.problem.last + 1)
        for k in range(latest - 1, -1, -1):
            least[k] = min(least[k + 1], costs[k][i]) if k + 1 >= first else least[k + 1]
        return least

    @cached_property
    def shared_at(self) -> list[list[int]]:
        """Give what each shared work costs at the least in each visit."""
        return [
            [0 if self.is_free(x, k) else self._price(x, k) for x in self._shared] for k in self.board.visits
        ]

    def least_shared(self, w: int, first: int, latest: int) -> int:
        """Give what a shared work costs at the least in one of the visits from one to another; nothing if there is none."""
        key = w, first, latest
        if key not in self._least_shared:
            costs = (self.shared_at[k - 1][w] for k in range(max(first, 1), latest + 1))
            self._least_shared[key] = min(costs, default=0)
        return self._least_shared[key]

    @cached_property
    def fetched_at(self) -> list[list[int]]:
        """Give what each part fetches in each visit."""
        days = [stage.on for stage in self.problem.stages]
        return [[self.pricer.resale(x.part, on) for x in self.board.items] for on in days]

    @cached_property
    def most_fetched(self) -> list[list[int]]:
        """Give what each part fetches at most after each visit."""
        found = [[0] * len(self.board.items)]
        for row in reversed(self.fetched_at):
            found.append([max(pair) for pair in zip(row, found[-1], strict=True)])
        return found[::-1]

    def _adding_at(self, i: int, k: int) -> int:
        """Give what an addition costs in one visit at the least, what it shares with others aside."""
        bit, placed = 1 << i, self.board.items[i]
        if not bit & self.board.addable[k] or not self._may_do(self._adding[i][0], k):
            return NEVER
        spent = self._least_price(placed.part, k) + self._own_work(self._adding[i][0], k)
        if bit & self.chained:
            spent += self._preset_at(i, k)
        return spent if spent <= self.purse.caps[k] else NEVER

    def _going_at(self, i: int, k: int) -> int:
        if not 1 << i & self.board.removable[k] or not self._may_do(self._going[i][0], k):
            return NEVER
        return self._own_work(self._going[i][0], k)

    def _may_do(self, own: list[Work], k: int) -> bool:
        at_home = self.problem.stages[k - 1].fitter == "home" and self.problem.strict_home
        return not at_home or all(self.pricer.operation(x).home for x in own)

    def _own_work(self, own: list[Work], k: int) -> int:
        return sum(self._price(x, k) for x in own if not self.is_free(x, k))

    def _least_price(self, part: str, k: int) -> int:
        """Give the least that a part costs, singly or in a bundle: shares rounded down, so that they never exceed its price."""
        on = self.problem.stages[k - 1].on
        price, found = self.pricer.price(part, on), self.pricer.list_on(on)
        if price is None or found is None:
            return NEVER
        parts, least = self.pricer.catalog.parts, price.amount
        for bundle in self.board.bench.tables.bundles:
            whole = self.pricer.price(bundle, on)
            if part in parts[bundle].members and whole is not None:
                singles = sum(found[0].prices.get(x, 0) for x in parts[bundle].members)
                least = min(least, found[0].prices.get(part, 0) * whole.amount // singles if singles else 0)
        return least
