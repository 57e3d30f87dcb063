"""A rider's own parts: described like parts of the catalog, checked like them, and set beside them for one question."""

from __future__ import annotations

from collections.abc import Mapping as MappingType
from dataclasses import dataclass, replace
from functools import cached_property

from pydantic import BaseModel

from rules.catalog.catalog import Catalog
from rules.catalog.connector import ConnectorType, ContactMap
from rules.catalog.part import Part
from rules.catalog.place import Place
from rules.check.context import Context
from rules.check.parts import check_own_parts
from rules.diagnostics import Collector, Diagnostic, Span
from rules.draft import Draft, Written
from rules.errors import MalformedQuestion
from rules.names import Names
from rules.registry import CODES
from rules.resolve import Resolution
from rules.yaml_nodes import KeyValue, Mapping, Node, Scalar, Sequence

FIELD = "found.own_parts"
NO_LINE = ""
"""The line and the maker of an own part: no rule can select it by a line."""


def widened(catalog: Catalog, own: tuple[Part, ...]) -> Catalog:
    """Give a catalog with a rider's own parts beside its own; it stays as it is."""
    if not own:
        return catalog
    parts = {**catalog.parts, **{part.id: part for part in own}}
    nameless = dict.fromkeys((part.id for part in own), NO_LINE)
    return replace(
        catalog,
        parts=dict(sorted(parts.items(), key=lambda entry: entry[0])),
        lines={**catalog.lines, **nameless},
        makers={**catalog.makers, **nameless},
    )


def must_be_sound(catalog: Catalog, own: tuple[Part, ...]) -> None:
    """Check own parts as parts of a catalog are checked.

    Raises:
        MalformedQuestion: With the place of the first fault, and what to do.
    """
    if not own:
        return
    collector = Collector()
    names = Names(defined=_names(catalog))
    context = _AgainstCatalog(Draft(names=names), Resolution(), collector, catalog=catalog)
    written = [Written(part, _node(part, f"{FIELD}.{index}")) for index, part in enumerate(own)]
    check_own_parts(context, written)
    for fault in collector.sorted({}):
        raise _malformed(fault)


def _malformed(fault: Diagnostic) -> MalformedQuestion:
    # The hint of the code, not a closer one: that may name what the rider wrote.
    return MalformedQuestion(fault.span.file, fault.message, f"{CODES[fault.code].hint} ({fault.code})")


def _names(catalog: Catalog) -> dict[str, dict[str, Span]]:
    there = Span("the catalog", 1, 1, 1)
    kinds: dict[str, MappingType[str, object]] = {
        "part": catalog.parts,
        "place": catalog.places,
        "connector type": catalog.connector_types,
        "contact map": catalog.contact_maps,
    }
    return {kind: dict.fromkeys(known, there) for kind, known in kinds.items()}


@dataclass(frozen=True, kw_only=True)
class _AgainstCatalog(Context):
    """Looks things up in a catalog that has been read, instead of in its draft."""

    catalog: Catalog

    @cached_property
    def places(self) -> dict[str, Place]:
        return dict(self.catalog.places)

    @cached_property
    def types(self) -> dict[str, ConnectorType]:
        return dict(self.catalog.connector_types)

    @cached_property
    def maps(self) -> dict[str, ContactMap]:
        return dict(self.catalog.contact_maps)

    @cached_property
    def parts(self) -> dict[str, Part]:
        return dict(self.catalog.parts)


def _node(value: object, field: str) -> Node:
    """Give a value the tree that checks look for places in; a place is the dotted field of the question.

    Words of the rider (names of plugs, keys of figures) are left out of the field: answers do not repeat them.
    """
    span = Span(field, 1, 1, 1)
    match value:
        case BaseModel():
            named = {
                name: _node(getattr(value, name), f"{field}.{name}") for name in type(value).model_fields
            }
            return Mapping(_keyed(named), span, span)
        case dict():
            return Mapping(_keyed({str(key): _node(one, field) for key, one in value.items()}), span, span)
        case tuple():
            return Sequence(tuple(_node(one, f"{field}.{at}") for at, one in enumerate(value)), span, span)
    return Scalar(str(value), span)


def _keyed(nodes: dict[str, Node]) -> dict[str, KeyValue]:
    return {key: KeyValue(node.span, node) for key, node in nodes.items()}
