"""A catalog as it is written, before inheritance: every entry beside the node that it was read from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Generic, TypeVar

from rules.catalog.bike import Family
from rules.catalog.case import Case, CaseFile
from rules.catalog.connector import ConnectorFile, ConnectorType, ContactMap
from rules.catalog.entry import Entry
from rules.catalog.part import Part, PartLine
from rules.catalog.place import Place, PlaceFile
from rules.catalog.price import PriceList
from rules.catalog.rule import Rule, RuleFile
from rules.catalog.shop import Shop
from rules.diagnostics import Collector, Span
from rules.names import Names
from rules.shape import read_entry
from rules.yaml_nodes import KeyValue, Mapping, Node, Sequence, Step, items, key_span, value_span

E = TypeVar("E", bound=Entry)
M_co = TypeVar("M_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Written(Generic[M_co]):
    """An entry and the node that says where each of its values stands."""

    what: M_co
    node: Node

    def at(self, *path: Step) -> Span:
        """Where a value of the entry stands."""
        return value_span(self.node, *path)

    def where(self, *path: Step) -> Callable[[], Span]:
        """Where a value of the entry stands, worked out only if somebody asks: most checks find no fault."""
        return partial(value_span, self.node, *path)

    def where_key(self, *path: Step) -> Callable[[], Span]:
        """Where a key of the entry stands, likewise."""
        return partial(key_span, self.node, *path)

    def key_at(self, *path: Step) -> Span:
        """Where a key of the entry stands."""
        return key_span(self.node, *path)


@dataclass(slots=True, kw_only=True)
class Draft:
    """Everything that could be read. Entries with a fault are left out; `names` still has their ids.

    `broken` lists the folders and files of which something is missing or at fault.
    """

    names: Names
    broken: set[str] = field(default_factory=set)
    shop: list[Written[Shop]] = field(default_factory=list)
    places: list[Written[Place]] = field(default_factory=list)
    connector_types: list[Written[ConnectorType]] = field(default_factory=list)
    contact_maps: list[Written[ContactMap]] = field(default_factory=list)
    families: list[Written[Family]] = field(default_factory=list)
    lines: list[Written[PartLine]] = field(default_factory=list)
    topics: list[Written[RuleFile]] = field(default_factory=list)
    price_lists: list[Written[PriceList]] = field(default_factory=list)
    case_files: list[Written[CaseFile]] = field(default_factory=list)

    @property
    def parts(self) -> Iterator[Written[Part]]:
        """Every part, in the order of files."""
        for line in self.lines:
            yield from _members(line.what.parts, line.node, "parts")

    @property
    def rules(self) -> Iterator[Written[Rule]]:
        """Every rule, in the order of files."""
        for topic in self.topics:
            yield from _members(topic.what.rules, topic.node, "rules")

    @property
    def cases(self) -> Iterator[Written[Case]]:
        """Every case, in the order of files."""
        for file in self.case_files:
            yield from _members(file.what.cases, file.node, "cases")


def _members(entries: Iterable[M_co], node: Node, key: str) -> Iterator[Written[M_co]]:
    listed = items(node.get(key) if isinstance(node, Mapping) else None)
    return (Written(entry, item) for entry, item in zip(entries, listed, strict=True))


def add_file(draft: Draft, folder: str, node: Node, collector: Collector) -> None:
    """Read one document into the draft.

    Args:
        folder: What the file is: the folder it stands in, or the name of a top-level file without its ending.
    """
    match folder:
        case "shop":
            draft.shop += _written(Shop, node, collector)
        case "places":
            for read in _written(PlaceFile, node, collector, "places"):
                draft.places += _members(read.what.places, read.node, "places")
        case "connectors":
            _add_connectors(draft, node, collector)
        case "bikes":
            draft.families += _written(Family, node, collector)
        case "parts":
            draft.lines += _written(PartLine, node, collector, "parts")
        case "rules":
            draft.topics += _written(RuleFile, node, collector, "rules")
        case "prices":
            draft.price_lists += _written(PriceList, node, collector)
        case "cases":
            draft.case_files += _written(CaseFile, node, collector, "cases")


def _add_connectors(draft: Draft, node: Node, collector: Collector) -> None:
    for read in _written(ConnectorFile, node, collector, "connector_types", "contact_maps"):
        draft.connector_types += _members(read.what.connector_types, read.node, "connector_types")
        draft.contact_maps += _members(read.what.contact_maps, read.node, "contact_maps")


def _written(model: type[E], node: Node, collector: Collector, *lists: str) -> list[Written[E]]:
    """Read a document, without those members of its lists that are at fault, so that the rest is checked."""
    entry, trails = read_entry(model, node, collector)
    if entry is None and lists and all(_is_member(trail.path, lists) for trail in trails):
        node = _without(node, {trail.path[:2] for trail in trails})
        # What remains was looked at already: a list that is empty now is no fault of its own.
        entry, _ = read_entry(model, node, Collector())
    return [] if entry is None else [Written(entry, node)]


def _is_member(path: tuple[Step, ...], lists: tuple[str, ...]) -> bool:
    return len(path) > 1 and path[0] in lists and isinstance(path[1], int)


def _without(node: Node, members: set[tuple[Step, ...]]) -> Node:
    if not isinstance(node, Mapping):
        return node
    kept = {key: KeyValue(entry.key, _drop(entry.value, key, members)) for key, entry in node.entries.items()}
    return Mapping(kept, node.span, node.head)


def _drop(node: Node, key: str, members: set[tuple[Step, ...]]) -> Node:
    if not isinstance(node, Sequence):
        return node
    kept = tuple(item for index, item in enumerate(node.items) if (key, index) not in members)
    return Sequence(kept, node.span, node.head)
