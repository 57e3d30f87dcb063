"""How a bike may be wired now: as somebody has seen, else in every way that its plugs allow; and where to look if that matters."""

from __future__ import annotations

from dataclasses import replace

from rules.bench import Bench
from rules.build import AsFound
from rules.catalog.facts import Unknown
from rules.errors import MalformedQuestion
from rules.net import LOOM, Node
from rules.verdict import Cause
from rules.wiring import Option, mated_nodes

WIRINGS_ASKED = 8
"""Present wirings for each of which a question is asked; where there are more, somebody must look first."""


def check_seen(bench: Bench, wirings: tuple[Option, ...]) -> None:
    """Refuse seen mates that no wiring of the bike has.

    Raises: `MalformedQuestion`.
    """
    if bench.seen and not wirings:
        raise MalformedQuestion(
            "found.wiring",
            "these plugs cannot be mated like that with the parts that are on the bike",
            "name plugs as PART@PLACE:CONNECTOR or loom:CONNECTOR, and all parts that are fitted",
        )


def as_seen(found: AsFound, wiring: Option) -> AsFound:
    """Give the bike as found, with one of its wirings seen whole."""
    return replace(found, wiring=frozenset((str(one), str(other)) for one, other in wiring.mates))


def may_be_missing(bench: Bench, wiring: Option) -> bool:
    """Tell whether a wiring goes over a plug of the loom that nobody knows to be there."""
    return any(bench.presence_cause(node) is not None for pair in wiring.mates for node in pair)


def plugs_to_look_at(bench: Bench, wirings: tuple[Option, ...]) -> tuple[Cause, ...]:
    """Name the plugs that are not mated alike in all these wirings."""
    mated = [mated_nodes(x.mates) for x in wirings]
    nodes = {node for found in mated for node in found}
    differing = sorted(x for x in nodes if len({frozenset(found.get(x, ())) for found in mated}) > 1)
    return tuple(
        Cause(fact=f"wiring.{node}", of=bench.bike.id, value=Unknown(unknown=_how_to_look(bench, node)))
        for node in differing
    )


def _how_to_look(bench: Bench, node: Node) -> str:
    plug = node.connector.replace("_", " ").replace("-", " ")
    owner = "the bike's own loom" if node.owner == LOOM else bench.part(node.owner).name
    return f"see what the plug {plug} of {owner} is mated with"
