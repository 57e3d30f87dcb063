"""Cycles in what comes before what, named."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter

from rules.check.context import Context, Where
from rules.diagnostics import Code, quote

HOST_CYCLE = Code(
    name="host-cycle",
    about="Parts that each need another of them to be there first.",
    why="none of them could be fitted",
    hint="take one of them out of a `host` list",
    example="host: [tern_flash] in tern_flash itself",
)
OPERATION_CYCLE = Code(
    name="operation-cycle",
    about="Operations that each come after another of them.",
    why="work could not begin anywhere",
    hint="take one of them out of an `after` list",
    example="seat_off after tank_up, and tank_up after seat_off",
)

CODES = (HOST_CYCLE, OPERATION_CYCLE)


def report_cycles(
    context: Context, code: Code, after: Mapping[str, Iterable[str]], spans: Mapping[str, Where]
) -> None:
    """Report one cycle for each knot, at its first member in the order of ids.

    Args:
        after: What each id comes after.
        spans: Where each id says so.
    """
    if not _has_cycle(after):
        return
    # Importing networkx takes longer than reading all files of a catalog, and most have no cycle to name.
    import networkx as nx  # noqa: PLC0415 - see above.

    graph = nx.DiGraph((one, other) for one in sorted(after) for other in after[one] if other in after)
    for knot in sorted(map(sorted, nx.strongly_connected_components(graph))):
        if len(knot) > 1 or graph.has_edge(knot[0], knot[0]):
            # A subgraph view would give its edges in another order on every run.
            inside = nx.DiGraph((one, other) for one, other in graph.edges if {one, other} <= set(knot))
            cycle = [one for one, _ in nx.find_cycle(inside, source=knot[0])]
            at = cycle.index(min(cycle))
            ring = [*cycle[at:], *cycle[:at], min(cycle)]
            context.report(code, spans[min(cycle)], f"cycle: {' after '.join(map(quote, ring))}")


def _has_cycle(after: Mapping[str, Iterable[str]]) -> bool:
    try:
        TopologicalSorter(after).prepare()
    except CycleError:
        return True
    return False
