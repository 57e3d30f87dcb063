"""A catalog taken apart into its files, so that one can be changed and the whole put together again, quickly."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from rules.assemble import assemble
from rules.catalog.bike import Family
from rules.catalog.case import Case
from rules.catalog.catalog import Catalog
from rules.diagnostics import Collector, Span
from rules.draft import Draft, add_file
from rules.load import Document
from rules.names import Names
from rules.resolve import Resolution, resolve
from rules.yaml_nodes import KeyValue, Mapping, Node, Sequence, Step

_LISTS = (
    "shop",
    "places",
    "connector_types",
    "contact_maps",
    "families",
    "lines",
    "topics",
    "price_lists",
)
"""What a draft holds, but for its cases."""


class Workshop:
    """Puts a catalog together from its documents.

    Raises:
        ValueError: The documents as they are make no catalog.
    """

    def __init__(self, documents: Iterable[Document]) -> None:
        self.documents = tuple(documents)
        self._drafts = [_read(document) for document in self.documents]
        self._bikes = [_resolved(draft) for draft in self._drafts]
        self._cases: tuple[Case, ...] = tuple(
            sorted(
                (case.what for draft in self._drafts for case in draft.cases if not case.what.is_draft),
                key=lambda case: case.name,
            )
        )
        catalog = self.put_together({})
        if catalog is None:
            raise ValueError("these documents make no catalog")
        self.catalog: Catalog = catalog

    @property
    def families(self) -> tuple[Family, ...]:
        """Give the bike families as they are written."""
        return tuple(family.what for draft in self._drafts for family in draft.families)

    @property
    def rule_spans(self) -> dict[str, Span]:
        """Give where each rule's id stands."""
        return {rule.what.id: rule.at("id") for draft in self._drafts for rule in draft.rules}

    def put_together(self, changed: dict[int, Node]) -> Catalog | None:
        """Give the catalog with some documents replaced, by their index; None if the checks refuse it.

        Cases are not checked: one that names what is no longer there fails when it is asked.
        """
        collector = Collector()
        drafts, bikes = list(self._drafts), list(self._bikes)
        names = Names()
        for index, document in enumerate(self.documents):
            node = changed.get(index, document.node)
            names.add_file(document.folder, node, collector)
            if index in changed:
                drafts[index] = _read(Document(document.folder, document.file, node), collector)
                bikes[index] = _resolved(drafts[index], collector)
        if collector.has_errors:
            return None
        draft = Draft(names=names)
        for one in drafts:
            for name in _LISTS:
                getattr(draft, name).extend(getattr(one, name))
        catalog = assemble(draft, collector, _together(bikes))
        return None if catalog is None else replace(catalog, cases=self._cases)


def _read(document: Document, collector: Collector | None = None) -> Draft:
    draft = Draft(names=Names())
    add_file(draft, document.folder, document.node, collector or Collector())
    return draft


def _resolved(draft: Draft, collector: Collector | None = None) -> Resolution:
    return resolve(draft.families, collector or Collector())


def _together(resolutions: Iterable[Resolution]) -> Resolution:
    whole = Resolution()
    for one in resolutions:
        whole.bikes.update(one.bikes)
        whole.ambiguous.update(one.ambiguous)
        whole.trees.extend(one.trees)
        whole.complete = whole.complete and one.complete
    whole.bikes = dict(sorted(whole.bikes.items()))
    whole.ambiguous = dict(sorted(whole.ambiguous.items()))
    return whole


def replaced(node: Node, path: tuple[Step, ...], new: Node | None) -> Node:
    """Give a tree with the value at a path replaced; None takes it out."""
    if not path:
        assert new is not None  # noqa: S101 - a whole document is never taken out
        return new
    step, rest = path[0], path[1:]
    if isinstance(node, Mapping):
        entries = dict(node.entries)
        key = str(step)
        if not rest and new is None:
            del entries[key]
        elif key not in entries and new is not None:
            entries[key] = KeyValue(node.head, new)
        else:
            entries[key] = KeyValue(entries[key].key, replaced(entries[key].value, rest, new))
        return Mapping(entries, node.span, node.head)
    assert isinstance(node, Sequence)  # noqa: S101 - paths come from the tree itself
    listed = list(node.items)
    at = int(step)
    if not rest and new is None:
        del listed[at]
    else:
        listed[at] = replaced(listed[at], rest, new)
    return Sequence(tuple(listed), node.span, node.head)
