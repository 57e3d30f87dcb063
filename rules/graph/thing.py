"""The nodes and edges of the graph: things of a catalog, each of a kind, and how one relates to another."""

from __future__ import annotations

from typing import Literal, NamedTuple, TypeAlias

import networkx as nx

from rules.errors import UnknownBike, UnknownId, UnknownPart, UnknownPlace

Kind = Literal[
    "family",
    "bike",
    "place",
    "slot",
    "part",
    "connector_type",
    "connector",
    "lane",
    "channel",
    "need",
    "operation",
]

Relation = Literal[
    "has_bike",  # family -> bike
    "has_place",  # bike -> place
    "has_slot",  # place -> slot
    "accepts",  # slot -> part
    "holds",  # bundle -> part
    "carries",  # part or bike -> connector
    "of_type",  # connector -> connector type
    "lies_in",  # connector with a place of its own -> place
    "mates_with",  # connector -> connector, always both ways
    "has_lane",  # connector -> lane
    "leads_to",  # lane -> lane inside one owner, the way the signal goes
    "has_channel",  # part -> channel
    "comes_out_at",  # channel -> lane
    "needs",  # part or channel -> need
    "met_by",  # need -> part, any one of which will do
    "done_for",  # operation -> part
    "comes_off_before",  # operation -> operation
]


class Thing(NamedTuple):
    """One node.

    `path` is an id, led by the ids of what it belongs to: `("rears", "speaker")` is a slot,
    `("part", "tern-2", "in")` a connector of a part, `("bike", "plover", "rear", "left", "drive")` a lane on
    the left one of a bike's own pair of plugs (with `""` for the side, if there is one plug).
    """

    kind: Kind
    path: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.kind} {'/'.join(step for step in self.path if step)}"


Graph: TypeAlias = "nx.DiGraph[Thing]"
"""Nodes have the attribute `kind`, edges the attribute `relation`. No two things are related in two ways."""


class UnknownThing(UnknownId):
    """No thing of this kind and id."""

    def __init__(self, asked: Thing, graph: Graph) -> None:
        self.what = asked.kind.replace("_", " ")
        super().__init__(asked.path[-1], [known.path[-1] for known in things(graph, asked.kind)])


_UNKNOWN: dict[Kind, type[UnknownId]] = {"bike": UnknownBike, "part": UnknownPart, "place": UnknownPlace}


def thing(kind: Kind, *path: str) -> Thing:
    """Name a thing.

    Example:
        >>> str(thing("slot", "rears", "speaker"))
        'slot rears/speaker'
    """
    return Thing(kind, path)


def put(graph: Graph, new: Thing, **known: object) -> Thing:
    """Put a thing into the graph, with what is known of it."""
    graph.add_node(new, kind=new.kind, **known)
    return new


def join(graph: Graph, one: Thing, relation: Relation, other: Thing, **known: object) -> None:
    """Relate two things; one that the graph does not have yet is put in.

    Example:
        >>> graph = nx.DiGraph()
        >>> join(graph, thing("place", "rears"), "has_slot", thing("slot", "rears", "speaker"))
        >>> [str(slot) for slot in ahead(graph, thing("place", "rears"), "has_slot")]
        ['slot rears/speaker']
    """
    for end in (one, other):
        if end not in graph:
            put(graph, end)
    graph.add_edge(one, other, relation=relation, **known)


def things(graph: Graph, kind: Kind) -> list[Thing]:
    """Give all things of a kind, in order."""
    return sorted(one for one in graph if one.kind == kind)


def ahead(graph: Graph, one: Thing, *relations: Relation) -> list[Thing]:
    """Give what a thing is related to, in order."""
    return sorted(other for other, known in graph.succ[one].items() if known["relation"] in relations)


def behind(graph: Graph, one: Thing, *relations: Relation) -> list[Thing]:
    """Give what is related to a thing, in order."""
    return sorted(other for other, known in graph.pred[one].items() if known["relation"] in relations)


def known(graph: Graph, asked: Thing) -> Thing:
    """Give back a thing that the graph has.

    Raises: `UnknownId`, with the nearest ids of the same kind.
    """
    if asked in graph:
        return asked
    if asked.kind in _UNKNOWN:
        raise _UNKNOWN[asked.kind](asked.path[-1], [one.path[-1] for one in things(graph, asked.kind)])
    raise UnknownThing(asked, graph)
