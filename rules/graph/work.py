"""Operations, for which parts they are done, and in which order things come apart."""

from __future__ import annotations

from collections.abc import Collection

import networkx as nx

from rules.catalog.rule import Operation
from rules.graph.thing import Graph, Thing, behind, join, known, put, thing
from rules.tables import Tables, rules_of_kind


class ComesOffInCircle(ValueError):  # noqa: N818 - says what is wrong, as `CatalogRefused` does.
    """Operations that each come after another of them. A catalog that was read has none.

    Attributes:
        circle: The operations, the first one again at the end.
    """

    def __init__(self, circle: tuple[str, ...]) -> None:
        self.circle = circle
        super().__init__(f"work could not begin anywhere: {' before '.join(circle)}")


def add_operations(graph: Graph, tables: Tables) -> None:
    """Add operations."""
    operations = rules_of_kind(tables.catalog, Operation)
    for rule in operations:
        put(graph, thing("operation", rule.id), action=rule.action, sometimes=rule.when is not None)
    for rule in operations:
        for first in sorted(rule.after):
            join(graph, thing("operation", first), "comes_off_before", thing("operation", rule.id))
        for part in sorted(tables.selected(rule.subject)) if rule.subject else ():
            at = rule.subject.at if rule.subject else ()
            join(graph, thing("operation", rule.id), "done_for", thing("part", part), at=at)


def operations_for(graph: Graph, part: str, action: str) -> tuple[str, ...]:
    """Give the operations of one action on a part, wherever it is, whatever the bike.

    Raises: `UnknownPart`.

    Example:
        >>> graph = nx.DiGraph()
        >>> fit = put(graph, thing("operation", "fit_rears"), action="add")
        >>> join(graph, fit, "done_for", thing("part", "tern-2"))
        >>> operations_for(graph, "tern-2", "add"), operations_for(graph, "tern-2", "remove")
        (('fit_rears',), ())
    """
    done = behind(graph, known(graph, thing("part", part)), "done_for")
    return tuple(x.path[0] for x in done if graph.nodes[x]["action"] == action)


def tear_down_order(
    graph: Graph, operations: Collection[str], left_out: Collection[str] = ()
) -> tuple[str, ...]:
    """Give operations with all that must come off for them, each after what it waits for; of equals by name.

    Args:
        left_out: Tear-down that this bike does not ask for, and so nothing that only it would wait for.

    Raises: `UnknownId`; `ComesOffInCircle`.

    Example:
        >>> graph = nx.DiGraph()
        >>> join(graph, thing("operation", "seat_off"), "comes_off_before", thing("operation", "tank_raised"))
        >>> join(graph, thing("operation", "tank_raised"), "comes_off_before", thing("operation", "run_lead"))
        >>> tear_down_order(graph, ["run_lead"])
        ('seat_off', 'tank_raised', 'run_lead')
    """
    asked = [known(graph, thing("operation", name)) for name in sorted(operations)]
    hidden = {thing("operation", name) for name in left_out} - set(asked)
    # A graph of their own, in order: a view would name a circle in another order on every run.
    steps: Graph = nx.DiGraph()
    waiting = list(asked)
    while waiting:
        one = waiting.pop()
        if one not in steps:
            steps.add_node(one)
            waiting.extend(x for x in behind(graph, one, "comes_off_before") if x not in hidden)
    steps.add_edges_from(
        [
            (first, one)
            for one in sorted(steps)
            for first in behind(graph, one, "comes_off_before")
            if first in steps
        ]
    )
    try:
        return tuple(x.path[0] for x in nx.lexicographical_topological_sort(steps))
    except nx.NetworkXUnfeasible:
        raise ComesOffInCircle(_circle(steps)) from None


def _circle(steps: Graph) -> tuple[str, ...]:
    ring: list[Thing] = [edge[0] for edge in nx.find_cycle(steps)]
    at = ring.index(min(ring))
    return tuple(x.path[0] for x in (*ring[at:], *ring[:at], ring[at]))
