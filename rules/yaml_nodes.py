"""The tree that a catalog file is read into: mappings, sequences and scalars, each with its place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rules.diagnostics import Span

PlainScalar = str | int | float | bool


@dataclass(frozen=True, slots=True)
class Scalar:
    """A value. `quoted` text is always text, and never the word `absent`."""

    value: PlainScalar
    span: Span
    quoted: bool = False

    @property
    def head(self) -> Span:
        return self.span


@dataclass(frozen=True, slots=True)
class Sequence:
    """A list. `head` is its key, or its first item's place where it has none."""

    items: tuple[Node, ...]
    span: Span
    head: Span


@dataclass(frozen=True, slots=True)
class KeyValue:
    """One key of a mapping with its value."""

    key: Span
    value: Node


@dataclass(frozen=True, slots=True)
class Mapping:
    """Keys and values in the order of writing. `head` is its own key; without one, its first key."""

    entries: dict[str, KeyValue]
    span: Span
    head: Span

    def entry(self, key: str) -> KeyValue | None:
        """A key with its value, if the mapping has it."""
        return self.entries.get(key)

    def get(self, key: str) -> Node | None:
        """The value of a key, if the mapping has it."""
        entry = self.entry(key)
        return entry.value if entry else None


Node = Scalar | Sequence | Mapping
Step = str | int


def plain(node: Node) -> object:
    """A node without places. Keys are sorted, so that the order of writing never reaches an answer."""
    # What was just read has its plain values already, with sorted keys.
    known = getattr(node, "plain", None)
    if known is not None:
        return known
    match node:
        case Scalar():
            return node.value
        case Sequence():
            return [plain(item) for item in node.items]
        case Mapping():
            return {key: plain(entry.value) for key, entry in sorted(node.entries.items())}


def child(node: Node, step: Step) -> Node | None:
    """The value under a key, or the item at an index."""
    if isinstance(node, Mapping):
        return node.get(str(step))
    if isinstance(node, Sequence) and isinstance(step, int) and step < len(node.items):
        return node.items[step]
    return None


def find(node: Node, path: tuple[Step, ...]) -> tuple[Node, tuple[Step, ...]]:
    """Walk down a path as far as it goes.

    Returns: The last node that exists, and the steps that were left.
    """
    for index, step in enumerate(path):
        below = child(node, step)
        if below is None:
            return node, path[index:]
        node = below
    return node, ()


def walk(node: Node, path: tuple[Step, ...] = ()) -> Iterator[tuple[tuple[Step, ...], Node]]:
    """Every node under a node and itself, each with its path, in the order of writing."""
    yield path, node
    if isinstance(node, Mapping):
        for key, entry in node.entries.items():
            yield from walk(entry.value, (*path, key))
    elif isinstance(node, Sequence):
        for index, item in enumerate(node.items):
            yield from walk(item, (*path, index))


def value_span(node: Node, *path: Step) -> Span:
    """Where a value stands; where the path leads nowhere, the head of the last thing that exists."""
    found, left = find(node, path)
    return found.head if left else found.span


def key_span(node: Node, *path: Step) -> Span:
    """Where the last key of a path stands, or the last thing on the way that exists."""
    holder, left = find(node, path[:-1])
    if left or not isinstance(holder, Mapping):
        return value_span(node, *path)
    entry = holder.entry(str(path[-1]))
    return entry.key if entry else holder.head


def items(node: Node | None) -> tuple[Node, ...]:
    """The items of a list; none for anything else."""
    return node.items if isinstance(node, Sequence) else ()


def text(node: Node | None) -> str | None:
    """The value of a text; None for anything else."""
    return node.value if isinstance(node, Scalar) and isinstance(node.value, str) else None


def scalars(node: Node) -> Iterator[Scalar]:
    """Every scalar under a node, in the order of writing."""
    match node:
        case Scalar():
            yield node
        case Sequence():
            for item in node.items:
                yield from scalars(item)
        case Mapping():
            for entry in node.entries.values():
                yield from scalars(entry.value)
