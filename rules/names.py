"""Which ids a catalog defines, and where: read from the nodes, so that an entry with a fault keeps its id."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field

from rules.diagnostics import Code, Collector, Span, quote
from rules.nearest import nearest
from rules.yaml_nodes import Mapping, Node, Scalar, items, text

DUPLICATE_ID = Code(
    name="duplicate-id",
    about="Two entries of one kind with the same id, in one file or in two.",
    why="everything that names this id could mean either",
    hint="rename one of them, or delete the one that is out of date",
    example="parts:\n  - id: tern_pod\n  - id: tern_pod",
)

CODES = (DUPLICATE_ID,)

_LISTED = {
    "places": (("places", "id", "place"),),
    "connectors": (("connector_types", "id", "connector type"), ("contact_maps", "id", "contact map")),
    "parts": (("parts", "id", "part"),),
    "rules": (("rules", "id", "rule"),),
    "cases": (("cases", "name", "case"),),
}
_SINGLE = {
    "bikes": ("family", "bike family"),
    "parts": ("line", "part line"),
    "rules": ("topic", "rule topic"),
    "prices": ("price_list", "price list"),
}


_MOST_COMPARISONS = 300_000
"""Pairs of ids compared for suggestions in one run: a few seconds at most. Later faults go without."""


@dataclass(slots=True)
class Names:
    """Ids by kind. A kind is open when a file that may define more of them could not be read."""

    defined: dict[str, dict[str, Span]] = field(default_factory=dict)
    open_kinds: set[str] = field(default_factory=set)
    _comparisons_left: int = _MOST_COMPARISONS

    def add(self, kind: str, name: str, span: Span, collector: Collector) -> None:
        """Take in an id; a second one of the same kind is reported with the place of the first."""
        known = self.defined.setdefault(kind, {})
        if name in known:
            first = known[name].place
            collector.report(DUPLICATE_ID, span, f"{kind} {quote(name)} is already defined at {first}")
        else:
            known[name] = span

    def add_file(self, folder: str, node: Node, collector: Collector) -> None:
        """Take in every id that a document defines."""
        for kind, word in _ids(folder, node):
            self.add(kind, str(word.value), word.span, collector)

    def leave_open(self, folder: str) -> None:
        """Note that a file of a folder could not be read, so that ids it may define are not unknown."""
        self.open_kinds |= set(kinds_of(folder))

    def knows(self, kind: str, name: str) -> bool:
        """Tell whether the id is defined, or may be in a file that could not be read."""
        return kind in self.open_kinds or name in self.defined.get(kind, {})

    def suggest(self, kind: str, name: str) -> str | None:
        """A hint that names the nearest id and where it is defined."""
        known = self.defined.get(kind, {})
        near = self._nearest(name, known)
        return f"did you mean `{near}`, defined at {known[near].place}?" if near else None

    def suggest_word(self, word: str, known: Collection[str]) -> str | None:
        """A hint that names the nearest of some words."""
        near = self._nearest(word, known)
        return f"did you mean `{near}`?" if near else None

    def _nearest(self, word: str, known: Collection[str]) -> str | None:
        # A price list of a catalog that has lost its parts would compare thousands of ids with thousands.
        self._comparisons_left -= len(known)
        return nearest(word, known) if self._comparisons_left >= 0 else None


def kinds_of(folder: str) -> Iterable[str]:
    """The kinds of ids that files of a folder define."""
    listed = [kind for _, _, kind in _LISTED.get(folder, ())]
    return [*listed, _SINGLE[folder][1]] if folder in _SINGLE else listed


def _ids(folder: str, node: Node) -> Iterator[tuple[str, Scalar]]:
    if not isinstance(node, Mapping):
        return
    if folder in _SINGLE:
        key, kind = _SINGLE[folder]
        yield from _word(kind, node, key)
    for key, name, kind in _LISTED.get(folder, ()):
        for item in items(node.get(key)):
            yield from _word(kind, item, name)


def _word(kind: str, node: Node, key: str) -> Iterator[tuple[str, Scalar]]:
    found = node.get(key) if isinstance(node, Mapping) else None
    if isinstance(found, Scalar) and text(found) is not None:
        yield kind, found
