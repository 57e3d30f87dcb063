"""What parts and channels need, and what would meet it."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from rules.catalog.rule import FlashNeeded, Requires
from rules.graph.thing import Graph, Thing, ahead, join, known, put, thing
from rules.tables import Tables, rules_of_kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Dependence:
    """One need of one part: any one of these parts meets it.

    Attributes:
        need: `rule` and its id, `host` and the part, `preset` and the amplifier, or `tag` and what wakes a channel.
        sometimes: It is needed only where a condition holds, or for one of the part's channels.
    """

    part: str
    need: tuple[str, ...]
    any_of: tuple[str, ...]
    sometimes: bool


def add_needs(graph: Graph, tables: Tables) -> None:
    """Add needs: of rules, of hosts, of channels that wait for a flash, of amplifiers that want a preset."""
    requires, flashes = rules_of_kind(tables.catalog, Requires), rules_of_kind(tables.catalog, FlashNeeded)
    rules: tuple[Requires | FlashNeeded, ...] = (*requires, *flashes)
    for rule in rules:
        _add_rule(graph, tables, rule)
    for part in tables.catalog.parts.values():
        _add_need(graph, thing("need", "host", part.id), [thing("part", part.id)], part.host)
    _add_channel_needs(graph, tables)
    for chain in tables.preset_chains:
        for amplifier in sorted(tables.selected(chain.subject)):
            need = thing("need", "preset", amplifier)
            _add_need(graph, need, [thing("part", amplifier)], tables.services.get(amplifier, ()))


def depends_on(graph: Graph, part: str) -> tuple[Dependence, ...]:
    """Give what a part needs, then what those parts would need, and so on; nearest first, each once.

    Raises: `UnknownPart`.

    Example:
        >>> import networkx as nx
        >>> graph = nx.DiGraph()
        >>> join(graph, thing("part", "tern-flash"), "needs", thing("need", "host", "tern-flash"))
        >>> join(graph, thing("need", "host", "tern-flash"), "met_by", thing("part", "tern-2"))
        >>> [(one.need, one.any_of) for one in depends_on(graph, "tern-flash")]
        [(('host', 'tern-flash'), ('tern-2',))]
    """
    found: dict[tuple[str, tuple[str, ...]], Dependence] = {}
    reached, waiting = {part}, deque([known(graph, thing("part", part))])
    while waiting:
        for one in _dependences(graph, waiting.popleft()):
            found.setdefault((one.part, one.need), one)
            waiting.extend(thing("part", name) for name in one.any_of if name not in reached)
            reached.update(one.any_of)
    return tuple(found.values())


def _dependences(graph: Graph, part: Thing) -> list[Dependence]:
    channels = ahead(graph, part, "has_channel")
    return [
        Dependence(
            part=part.path[0],
            need=need.path,
            any_of=tuple(one.path[0] for one in ahead(graph, need, "met_by")),
            sometimes=asks.kind == "channel" or bool(graph.nodes[need].get("sometimes")),
        )
        for asks in (part, *channels)
        for need in ahead(graph, asks, "needs")
    ]


def _add_rule(graph: Graph, tables: Tables, rule: Requires | FlashNeeded) -> None:
    need = put(
        graph, thing("need", "rule", rule.id), sometimes=rule.when is not None, same_place=rule.same_place
    )
    for part in sorted(tables.selected(rule.subject)):
        join(graph, thing("part", part), "needs", need, at=rule.subject.at)
    for part in sorted(tables.selected(rule.needs)):
        join(graph, need, "met_by", thing("part", part), at=rule.needs.at)


def _add_channel_needs(graph: Graph, tables: Tables) -> None:
    parts = tables.catalog.parts.values()
    channels = [(part.id, channel) for part in parts if part.slot for channel in part.channels]
    for tag in sorted(tables.needs_tags):
        waiting = [thing("channel", part, channel.id) for part, channel in channels if channel.needs == tag]
        wakes = [part.id for part in parts if tag in part.tags]
        _add_need(graph, thing("need", "tag", tag), waiting, wakes)


def _add_need(graph: Graph, need: Thing, askers: list[Thing], meets: list[str] | tuple[str, ...]) -> None:
    if need.path[0] == "host" and not meets:
        return
    put(graph, need, sometimes=False, same_place=need.path[0] != "preset")
    for asks in askers:
        join(graph, asks, "needs", need, at=())
    for part in sorted(meets):
        join(graph, need, "met_by", thing("part", part), at=())
