"""In which order the work of a visit is done: what comes off first, what goes on last."""

from __future__ import annotations

from dataclasses import dataclass

from rules.answer import Visit
from rules.bench import Bench
from rules.build import Placement
from rules.pricing import Doings, Pricer, Work

_FIRST_TO_LAST = (
    "carrier",
    "deadening",
    "ring",
    "hardware",
    "harness",
    "adapter",
    "amplifier",
    "speaker",
    "grille",
    "head_unit",
    "antenna_lead",
    "control_interface",
    "microphone",
    "bezel",
    "flash",
    "power_kit",
)
"""Kinds in the order in which they are fitted; the power lead with its fuse is last. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One piece of work.

    Attributes:
        says: What is done.
        of: The placement that it is done for; None for what only comes off and goes back.
        depth: How many things must be off before it: how far in it is.
        at_home: Whether a home fitter may do it.
        is_preset: Whether it is done with the current on: a preset is put in, and listened to.
    """

    operation: str
    says: str
    of: Placement | None
    minutes: int
    depth: int
    at_home: bool
    is_preset: bool = False

    @property
    def is_tear_down(self) -> bool:
        """Tell whether it is done only to reach something."""
        return self.of is None


def doings_in(visit: Visit) -> Doings:
    """Give what is done in a visit, for a pricer."""
    moved = {
        end.partition(":")[0] for x in visit.changes if x.kind == "re-plugged" for end in (x.first, x.second)
    }
    return Doings(
        on=visit.on,
        fitter=visit.fitter,
        adds=frozenset(visit.adds),
        removes=frozenset(visit.removes),
        presets=frozenset(x.amplifier for x in visit.presets),
        replugs=frozenset(x for x in visit.build if str(x) in moved) - frozenset(visit.adds),
    )


def fitting_order(bench: Bench, visit: Visit) -> tuple[Step, ...]:
    """Give the work of a visit in an order in which one person can do it.

    Source: common practice, no source; what must be off before what is in the catalog.
    """
    pricer = Pricer(bench)
    work = pricer.work(doings_in(visit))
    order = _Order(bench, visit, pricer, frozenset(x.operation for x in work if x.of is None))
    return tuple(order.step(x) for x in sorted(work, key=order.place))


@dataclass(frozen=True, slots=True)
class _Order:
    """Tear down, take off, fit kind by kind, set last."""

    bench: Bench
    visit: Visit
    pricer: Pricer
    torn: frozenset[str]

    def place(self, work: Work) -> tuple[int, int, int, str, str]:
        return (*self._rank(work), self._depth(work), work.operation, str(work.of))

    def step(self, work: Work) -> Step:
        rule = self.pricer.operation(work)
        return Step(
            operation=rule.id,
            says=rule.says,
            of=work.of,
            minutes=rule.minutes,
            depth=self._depth(work),
            at_home=rule.home,
            is_preset=rule.action == "preset",
        )

    def _rank(self, work: Work) -> tuple[int, int]:
        if work.of is None:
            return 0, 0
        if work.of in self.visit.removes:
            return 1, 0
        if self.pricer.operation(work).action == "preset":
            return 3, 0
        kind = self.bench.part(work.of).kind
        return 2, _FIRST_TO_LAST.index(kind) if kind in _FIRST_TO_LAST else len(_FIRST_TO_LAST)

    def _depth(self, work: Work) -> int:
        """Count how many things must be off before, one within the other."""
        before = (x for x in self.pricer.operation(work).after if x in self.torn)
        return 1 + max((self._depth(Work(x, None)) for x in before), default=-1)
