"""The wirings of a path in the CP-SAT model, and those of the bike as it stands."""

from __future__ import annotations

from types import SimpleNamespace
from typing import NamedTuple

from ortools.sat.python import cp_model

from rules.build import Placement
from tests.oracle.cpsat_feeds import Feeds
from tests.oracle.cpsat_limits import Limits
from tests.oracle.cpsat_logic import Logic
from tests.oracle.cpsat_moves import Moves
from tests.oracle.cpsat_presets import Presets
from tests.oracle.reading import End, Mate, Node, Sink


class Way(NamedTuple):
    """The way in which a sink is fed: the mates that it goes through, and the channel at its end."""

    mates: tuple[Mate, ...]
    source: Placement
    channel: str


class Standing(NamedTuple):
    """One wiring of the bike as it stands, and how it feeds every sink."""

    mates: frozenset[Mate]
    drives: frozenset[tuple[Sink, Way]]


class Wires:
    """Adds wirings to a path model, with all that depends on them."""

    def __init__(self, path, standing: Standing | None) -> None:
        self.feeds = Feeds(path, standing, looking=False)
        self.limits = Limits(path, self.feeds)
        self.moves = Moves(path, self.feeds)
        self.presets = Presets(path, self.feeds, self.limits.capped)


def standing_wirings(world) -> list[Standing]:
    """Give the wirings of the present build that hold what somebody has seen: the model without any visits."""
    here = {(one, 0): True for one in world.present}
    bare = SimpleNamespace(
        world=world, logic=Logic(), stages=range(0), last=0, universe=sorted(world.present), here=here
    )
    solver, seen = cp_model.CpSolver(), _Wirings(Feeds(bare, None, looking=True))
    solver.parameters.enumerate_all_solutions = True
    solver.solve(bare.logic.model, seen)
    found = [mates for mates in seen.found if world.may_be_wired(mates)]
    found.sort(key=lambda mates: sorted(sorted(node.name for node in mate) for mate in mates))
    return [Standing(mates, frozenset(_drives(world, mates))) for mates in found]


class _Wirings(cp_model.CpSolverSolutionCallback):
    """Collects the wirings that a solver comes across."""

    def __init__(self, feeds: Feeds) -> None:
        super().__init__()
        self.feeds = feeds
        self.found: set[frozenset[Mate]] = set()

    def on_solution_callback(self) -> None:
        mated = self.feeds.mated.items()
        self.found.add(frozenset(pair for (pair, _), one in mated if self._is_true(one)))

    def _is_true(self, literal) -> bool:
        return literal if isinstance(literal, bool) else self.boolean_value(literal)


def _drives(world, mates: frozenset[Mate]):
    """Follow every sink of the present build backwards through the mates of a wiring."""
    for one in world.present:
        for sink in world.sinks(one):
            paired = world.part(one).connectors["terminals"].paired
            end = End("terminals", "drive", sink.side if paired else None)
            yield sink, _way(world, mates, one, end)


def _way(world, mates: frozenset[Mate], owner: Placement | None, end: End) -> Way:
    through: list[Mate] = []
    while True:
        here = Node(owner, end.connector)
        pair = next(mate for mate in mates if here in mate)
        through.append(pair)
        (there,) = pair - {here}
        owner, arrived = there.owner, End(there.connector, end.lane, end.side)
        channels = world.part(owner).channels if owner else ()
        for channel in channels:
            if owner and channel.output == f"{arrived.connector}.{arrived.lane}":
                return Way(tuple(through), owner, channel.id)
        end = world.links(owner)[arrived]
