"""From a catalog to its graph."""

from __future__ import annotations

import networkx as nx

from rules.catalog.catalog import Catalog
from rules.graph.needs import add_needs
from rules.graph.places import add_bikes, add_places
from rules.graph.plugs import add_plugs
from rules.graph.thing import Graph, join, put, thing
from rules.graph.work import add_operations
from rules.tables import Tables


def build_graph(catalog: Catalog) -> Graph:
    """Build the graph of a catalog: every connector once per part and once per bike.

    Equal catalogs give equal graphs, in equal order.

    Example:
        >>> from pathlib import Path
        >>> from rules.load import load_catalog
        >>> graph = build_graph(load_catalog(Path("catalog_demo")))
        >>> sum(1 for one in graph if one.kind == "family")
        5
    """
    graph: Graph = nx.DiGraph()
    tables = Tables(catalog)
    add_places(graph, catalog)
    add_bikes(graph, catalog)
    _add_parts(graph, catalog)
    add_plugs(graph, tables)
    add_needs(graph, tables)
    add_operations(graph, tables)
    return graph


def _add_parts(graph: Graph, catalog: Catalog) -> None:
    for part in catalog.parts.values():
        put(graph, thing("part", part.id), part_kind=part.kind, line=catalog.lines[part.id])
    for part in catalog.parts.values():
        for member in sorted(part.members):
            join(graph, thing("part", part.id), "holds", thing("part", member))
        for place in catalog.places.values() if part.slot else ():
            if part.slot in place.slots and (not part.at or place.id in part.at):
                join(graph, thing("slot", place.id, part.slot), "accepts", thing("part", part.id))
