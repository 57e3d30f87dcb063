"""Connectors, their lanes, what mates with what, and the channels that come out."""

from __future__ import annotations

from collections.abc import Iterator

from rules.build import Placement
from rules.catalog.connector import Connector
from rules.graph.places import places_for
from rules.graph.thing import Graph, Thing, ahead, behind, join, known, put, thing
from rules.mating import Face, MateTable, faces_mate
from rules.tables import Tables
from rules.wires import SIDES, End, Wires, wires_of_loom

_Faces = dict[Face, list[Thing]]


def add_plugs(graph: Graph, tables: Tables) -> None:
    """Add the connectors of all parts and looms with their wires, and mate them."""
    catalog = tables.catalog
    for name in catalog.connector_types:
        put(graph, thing("connector_type", name))
    on_parts: _Faces = {}
    for part, wires in sorted(tables.wires.items()):
        _add_wires(graph, thing("part", part), wires, on_parts)
        _add_channels(graph, tables, part)
    on_looms: _Faces = {}
    table = MateTable()
    for bike in catalog.bikes.values():
        loom = wires_of_loom(bike.has.loom, catalog.contact_maps, table)
        _add_wires(graph, thing("bike", bike.id), loom, on_looms)
    _mate(graph, on_parts, on_parts)
    _mate(graph, on_looms, on_parts)  # Looms never meet each other.


def mates_of(graph: Graph, connector: Thing) -> tuple[Thing, ...]:
    """Give every connector that a connector mates with, if the two ever lie in one place.

    Raises: `UnknownId`.

    Example:
        >>> import networkx as nx
        >>> graph = nx.DiGraph()
        >>> plug = thing("connector", "part", "tern-2", "in")
        >>> socket = thing("connector", "part", "skua-8", "out")
        >>> join(graph, plug, "mates_with", socket)
        >>> [str(mate) for mate in mates_of(graph, plug)]
        ['connector part/skua-8/out']
    """
    return tuple(ahead(graph, known(graph, connector), "mates_with"))


def parts_that_mate(graph: Graph, part: str) -> tuple[str, ...]:
    """Give every part with a connector that mates with one of this part's, in order of id.

    Raises: `UnknownPart`.

    Example:
        >>> import networkx as nx
        >>> graph = nx.DiGraph()
        >>> plug = thing("connector", "part", "tern-2", "in")
        >>> socket = thing("connector", "part", "skua-8", "out")
        >>> join(graph, thing("part", "tern-2"), "carries", plug)
        >>> join(graph, plug, "mates_with", socket)
        >>> parts_that_mate(graph, "tern-2")
        ('skua-8',)
    """
    plugs = ahead(graph, known(graph, thing("part", part)), "carries")
    facing = {mate for plug in plugs for mate in ahead(graph, plug, "mates_with")}
    return tuple(sorted({mate.path[1] for mate in facing if mate.path[0] == "part"}))


def placements_that_mate(graph: Graph, bike: str, plug: str) -> tuple[Placement, ...]:
    """Give all that could be placed on a bike to mate with a plug of its own wiring.

    Raises: `UnknownId`.

    Example:
        >>> import networkx as nx
        >>> graph = nx.DiGraph()
        >>> plug = thing("connector", "bike", "plover", "rear")
        >>> socket = thing("connector", "part", "tern-2", "in")
        >>> join(graph, plug, "lies_in", thing("place", "rears"))
        >>> join(graph, plug, "mates_with", socket)
        >>> join(graph, thing("bike", "plover"), "has_place", thing("place", "rears"))
        >>> join(graph, thing("place", "rears"), "has_slot", thing("slot", "rears", "speaker"))
        >>> join(graph, thing("slot", "rears", "speaker"), "accepts", thing("part", "tern-2"))
        >>> [str(placed) for placed in placements_that_mate(graph, "plover", "rear")]
        ['tern-2@rears']
    """
    asked = known(graph, thing("connector", "bike", bike, plug))
    here = place_of(graph, asked)
    return tuple(
        sorted(
            {
                Placement(mate.path[1], place)
                for mate in ahead(graph, asked, "mates_with")
                if mate.path[0] == "part"
                for place in places_for(graph, bike, mate.path[1])
                if (place_of(graph, mate) or place) == here
            }
        )
    )


def place_of(graph: Graph, connector: Thing) -> str | None:
    """Give where a connector lies, if that is not simply where its part is."""
    places = ahead(graph, connector, "lies_in")
    return places[0].path[0] if places else None


def lanes_by_end(graph: Graph, connector: Thing) -> dict[tuple[str, str], Thing]:
    """Give a connector's lanes by side and name."""
    return {(lane.path[3], lane.path[4]): lane for lane in ahead(graph, connector, "has_lane")}


def channels_at(graph: Graph, lane: Thing) -> list[Thing]:
    """Give the channels that come out at a lane."""
    return behind(graph, lane, "comes_out_at")


def _add_wires(graph: Graph, owner: Thing, wires: Wires, by_face: _Faces) -> None:
    sounds = {end: side for side, end in wires.sinks}
    for name, connector in wires.connectors.items():
        face = wires.faces[name]
        new = _add_connector(graph, owner, name, connector, face)
        by_face.setdefault(face, []).append(new)
        for end in _ends(name, face):
            lane = put(graph, _lane(owner, end), sounds=sounds.get(end))
            join(graph, new, "has_lane", lane)
    for fed, feeding in sorted(wires.feeds.items()):
        join(graph, _lane(owner, feeding), "leads_to", _lane(owner, fed))


def _add_connector(graph: Graph, owner: Thing, name: str, connector: Connector, face: Face) -> Thing:
    new = put(
        graph,
        thing("connector", owner.kind, *owner.path, name),
        gender=connector.gender,
        needed=connector.needed,
        takes=connector.accepts,
        unsure=connector.presence is not None,
    )
    join(graph, owner, "carries", new)
    join(graph, new, "of_type", thing("connector_type", face.type))
    if connector.place is not None:
        join(graph, new, "lies_in", thing("place", connector.place))
    return new


def _ends(name: str, face: Face) -> Iterator[End]:
    for lane in sorted({contact.lane for _, contact in face.contacts}):
        for side in SIDES if face.paired else ("",):
            yield End(name, side, lane)


def _lane(owner: Thing, end: End) -> Thing:
    return thing("lane", owner.kind, *owner.path, *end)


def _add_channels(graph: Graph, tables: Tables, part: str) -> None:
    for channel in tables.catalog.parts[part].channels:
        new = put(graph, thing("channel", part, channel.id))
        join(graph, thing("part", part), "has_channel", new)
        name, _, lane = channel.output.partition(".")
        paired = tables.wires[part].faces[name].paired
        for side in SIDES if paired else ("",):
            join(graph, new, "comes_out_at", _lane(thing("part", part), End(name, side, lane)))


def _mate(graph: Graph, ones: _Faces, others: _Faces) -> None:
    for face in sorted(ones):
        for facing in sorted(others):
            if faces_mate(face, facing):
                for one in ones[face]:
                    for other in others[facing]:
                        join(graph, one, "mates_with", other)
                        join(graph, other, "mates_with", one)
