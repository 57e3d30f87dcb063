"""Inheritance as merging of trees: keys are merged, everything else replaces, `absent` removes."""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Mapping as MappingType
from dataclasses import dataclass, field

from rules.catalog.catalog import Origin
from rules.catalog.facts import Source, YearSpan
from rules.diagnostics import Code, Collector, Span, quote
from rules.shape import read_entry
from rules.yaml_nodes import KeyValue, Mapping, Node, Scalar, plain

NO_CHANGE = Code(
    name="no-change",
    about="An entry that repeats the value that it inherits, for every bike that it applies to.",
    why="a later correction of the inherited value would stop here unseen",
    hint="delete the line, or give the value a source of its own with `{value: ..., source: ...}`",
    example="depth_mm: 62.0  # and the entry before says 62.0",
    severity="warning",
)
NOTHING_TO_REMOVE = Code(
    name="nothing-to-remove",
    about="`absent` for something that no bike inherits here.",
    why="the key is probably misspelt, so that what should go stays",
    hint="check the key against the entries before",
    example="rear_takeof: absent",
)

CODES = (NO_CHANGE, NOTHING_TO_REMOVE)

ABSENT = "absent"


@dataclass(frozen=True, slots=True)
class Leaf:
    """A value as one entry wrote it, with the source that vouches for it."""

    node: Node
    key: Span
    source: Source
    years: YearSpan
    has_own_source: bool = False


@dataclass(frozen=True, slots=True)
class Removed:
    """The word `absent`."""

    key: Span
    span: Span


@dataclass(frozen=True, slots=True)
class Branch:
    """Keys with what is below them; `key` is where the branch itself was first written."""

    children: MappingType[str, Branch | Leaf | Removed]
    key: Span


@dataclass(slots=True)
class Effects:
    """Whether each override changed something for at least one bike."""

    _changed: dict[Span, tuple[Code, str, bool]] = field(default_factory=dict)

    def note(self, code: Code, span: Span, message: str, *, changed: bool) -> None:
        """Take in what an override did to one bike."""
        before = self._changed.get(span)
        self._changed[span] = (code, message, changed or (before is not None and before[2]))

    def report(self, collector: Collector) -> None:
        """Report the overrides that changed nothing for any bike."""
        for span, (code, message, changed) in self._changed.items():
            if not changed:
                collector.report(code, span, message)


def read_tree(tree: Node, source: Source, years: YearSpan, collector: Collector) -> Branch | Leaf | Removed:
    """Read an entry's tree of changes.

    Args:
        tree: As written under `all`, or under one trim or side.
        source: The entry's own, for values that give none.
        years: The entry's span.
    """
    return _read(tree, tree.head, source, years, collector)


def _read(
    node: Node, key: Span, source: Source, years: YearSpan, collector: Collector
) -> Branch | Leaf | Removed:
    if _is_absent(node):
        return Removed(key, node.span)
    if not isinstance(node, Mapping) or set(node.entries) == {"unknown"}:
        return Leaf(node, key, source, years)
    if "value" in node.entries and set(node.entries) <= {"value", "source"}:
        return _sourced(node, key, source, years, collector)
    children = {
        name: _read(entry.value, entry.key, source, years, collector) for name, entry in node.entries.items()
    }
    return Branch(children, key)


def _sourced(node: Mapping, key: Span, source: Source, years: YearSpan, collector: Collector) -> Leaf:
    own = node.get("source")
    read = read_entry(Source, own, collector)[0] if own else None
    return Leaf(node.entries["value"].value, key, read or source, years, has_own_source=own is not None)


def _is_absent(node: Node) -> bool:
    return isinstance(node, Scalar) and node.value == ABSENT and not node.quoted


def merge(base: Branch, changes: Branch, effects: Effects) -> Branch:
    """Lay an entry's changes over what is inherited."""
    children = dict(base.children)
    for name, change in changes.children.items():
        old = children.get(name)
        match change:
            case Removed():
                _note_removal(name, old, change, effects)
                children.pop(name, None)
            case Leaf():
                _note_value(name, old, change, effects)
                children[name] = change
            case Branch():
                inherited = old if isinstance(old, Branch) else Branch({}, change.key)
                children[name] = merge(inherited, change, effects)
    return Branch(children, base.key)


def _note_removal(name: str, old: object, change: Removed, effects: Effects) -> None:
    message = f"{quote(name)} is not inherited here, so there is nothing to remove"
    effects.note(NOTHING_TO_REMOVE, change.key, message, changed=old is not None)


def _note_value(name: str, old: object, change: Leaf, effects: Effects) -> None:
    same = isinstance(old, Leaf) and plain(old.node) == plain(change.node)
    before = f"{old.key.place}" if isinstance(old, Leaf) else ""
    message = f"{quote(name)} has this value already, from {before}"
    effects.note(NO_CHANGE, change.node.span, message, changed=not same or change.has_own_source)


def to_node(branch: Branch) -> Mapping:
    """A merged tree as a node, each value at the place where it was written."""
    entries = {
        name: KeyValue(child.key, to_node(child) if isinstance(child, Branch) else child.node)
        for name, child in sorted(branch.children.items())
        if not isinstance(child, Removed)
    }
    return Mapping(entries, branch.key, branch.key)


def origins(branch: Branch, prefix: str = "") -> Iterator[tuple[str, Origin]]:
    """The dotted path of each leaf with where it was written."""
    for name, child in sorted(branch.children.items()):
        if isinstance(child, Branch):
            yield from origins(child, f"{prefix}{name}.")
        elif isinstance(child, Leaf):
            yield f"{prefix}{name}", _origin(child)


def _origin(leaf: Leaf) -> Origin:
    span = leaf.node.span
    return Origin(source=leaf.source, years=leaf.years, file=span.file, line=span.line, column=span.column)
