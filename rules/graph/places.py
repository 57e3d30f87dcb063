"""Families, bikes, places and slots; and where a part can go."""

from __future__ import annotations

from rules.catalog.catalog import Catalog
from rules.graph.thing import Graph, ahead, behind, join, known, put, thing


def add_places(graph: Graph, catalog: Catalog) -> None:
    """Add the shop's places with their slots."""
    for place in catalog.places.values():
        here = put(graph, thing("place", place.id), pair=place.pair)
        for slot, capacity in sorted(place.slots.items()):
            join(graph, here, "has_slot", put(graph, thing("slot", place.id, slot), capacity=capacity))


def add_bikes(graph: Graph, catalog: Catalog) -> None:
    """Add families and bikes, each with the places that it has."""
    for bike in catalog.bikes.values():
        one = put(graph, thing("bike", bike.id), year=bike.year, trim=bike.trim)
        join(graph, thing("family", bike.family), "has_bike", one)
        for place in sorted(bike.has.places):
            join(graph, one, "has_place", thing("place", place))


def where_it_goes(graph: Graph, part: str) -> dict[str, tuple[str, ...]]:
    """Give the places of each bike where the part can be placed: whether it fits there is another question.

    Raises: `UnknownPart`.

    Example:
        >>> import networkx as nx
        >>> graph = nx.DiGraph()
        >>> join(graph, thing("bike", "plover"), "has_place", thing("place", "rears"))
        >>> join(graph, thing("place", "rears"), "has_slot", thing("slot", "rears", "speaker"))
        >>> join(graph, thing("slot", "rears", "speaker"), "accepts", thing("part", "tern-2"))
        >>> where_it_goes(graph, "tern-2")
        {'plover': ('rears',)}
    """
    found: dict[str, list[str]] = {}
    slots = behind(graph, known(graph, thing("part", part)), "accepts")
    for place in sorted(place for slot in slots for place in behind(graph, slot, "has_slot")):
        for bike in behind(graph, place, "has_place"):
            found.setdefault(bike.path[0], []).append(place.path[0])
    return {bike: tuple(places) for bike, places in sorted(found.items())}


def places_for(graph: Graph, bike: str, part: str) -> tuple[str, ...]:
    """Give the places of one bike where a part can go."""
    has = set(ahead(graph, thing("bike", bike), "has_place"))
    slots = behind(graph, thing("part", part), "accepts")
    return tuple(sorted(x.path[0] for slot in slots for x in behind(graph, slot, "has_slot") if x in has))
