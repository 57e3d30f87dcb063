"""From a validation error's location to a path in the node tree.

pydantic names not only keys and indices in a location, but also the member of a union that it tried.
Following the models' annotations beside the location tells one from the other.
"""

from __future__ import annotations

from collections.abc import Mapping as MappingType
from dataclasses import dataclass
from types import NoneType, UnionType
from typing import Annotated, Union, get_args, get_origin

from pydantic import Tag, ValidationError
from pydantic_core import ErrorDetails

from rules.catalog.entry import Entry
from rules.yaml_nodes import Mapping, Node, Step, find

_KEY = "[key]"
_TYPE_ERRORS = frozenset(
    (
        "bool_type",
        "float_type",
        "int_type",
        "int_from_float",
        "string_type",
        "tuple_type",
        "dict_type",
        "model_type",
    )
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trail:
    """Where an error points: the steps through keys and items, and the entry that the last key belongs to.

    `at_key` tells that the key itself is wrong. `union` is the length of the path at the last union of plain
    values; `is_entry` tells whether the member that was tried there is an entry.
    """

    path: tuple[Step, ...]
    model: type[Entry] | None = None
    at_key: bool = False
    union: int | None = None
    is_entry: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong. `types` lists the error types of all members of a union that were tried."""

    type: str
    trail: Trail
    message: str
    types: tuple[str, ...]
    context: MappingType[str, object]

    @property
    def words(self) -> tuple[str, ...]:
        return tuple(str(word) for word in get_args(self.context.get("literal"))) or _quoted(self.context)

    @property
    def pattern(self) -> str:
        return str(self.context.get("pattern", ""))

    @property
    def limit(self) -> object:
        return next((self.context[key] for key in _LIMITS if key in self.context), None)

    @property
    def length(self) -> object:
        return self.context.get("actual_length")


_LIMITS = ("min_length", "max_length", "gt", "ge", "lt", "le")


def _quoted(context: MappingType[str, object]) -> tuple[str, ...]:
    # pydantic gives the words of a literal as one text: `'a', 'b' or 'c'`.
    return tuple(str(context.get("expected", "")).split("'")[1::2])


def main_faults(model: type[Entry], node: Node, error: ValidationError) -> tuple[Fault, ...]:
    """What is wrong, once for each place: of a union's members only the one that was meant speaks."""
    faults = [_fault(model, details) for details in error.errors(include_url=False, include_input=False)]
    groups: dict[tuple[Step, ...], list[Fault]] = {}
    for fault in faults:
        union = fault.trail.union
        groups.setdefault(fault.trail.path if union is None else fault.trail.path[:union], []).append(fault)
    return tuple(kept for at, group in groups.items() for kept in _meant(at, group, node))


def fields_of(model: type[Entry] | None) -> tuple[str, ...]:
    """The keys of an entry as they are written."""
    if model is None:
        return ()
    return tuple(field.alias or name for name, field in model.model_fields.items())


def trail(model: type[Entry], location: tuple[str | int, ...]) -> Trail:
    """Follow an error's location through the models."""
    walk = _Walk(model)
    for step in location:
        walk.take(step)
    return Trail(
        path=tuple(walk.path), model=walk.model, at_key=walk.at_key, union=walk.union, is_entry=walk.is_entry
    )


class _Walk:
    """The state of following one location."""

    def __init__(self, model: object) -> None:
        self.kind: object = model
        self.path: list[Step] = []
        self.model: type[Entry] | None = None
        self.at_key = False
        self.union: int | None = None
        self.is_entry = False

    def take(self, step: str | int) -> None:
        """Take one step of a location: a key, an index, or the member of a union."""
        self.kind = _bare(self.kind)
        if step == _KEY:
            self.at_key = True
        elif _is_union(self.kind):
            self.choose(str(step))
        else:
            self.model = self.kind if _is_entry(self.kind) else None  # type: ignore[assignment]
            self.path.append(step)
            self.kind = _below(self.kind, step)

    def choose(self, step: str) -> None:
        """Go into a member of a union without moving in the file."""
        members = _members(self.kind)
        tagged = {tag: member for member in members for tag in _tags(member)}
        if tagged:
            self.kind = tagged.get(step)
            return
        self.union = len(self.path)
        self.kind = next((member for member in members if _is_named(member, step)), None)
        self.is_entry = _is_entry(self.kind)


def _bare(kind: object) -> object:
    """Strip annotations and the None of an optional value, which add nothing to a location."""
    while True:
        if get_origin(kind) is Annotated:
            kind = get_args(kind)[0]
        elif _is_union(kind) and len(_members(kind)) == 1:
            kind = _members(kind)[0]
        else:
            return kind


def _is_union(kind: object) -> bool:
    return get_origin(kind) in (Union, UnionType)


def _members(kind: object) -> tuple[object, ...]:
    return tuple(member for member in get_args(kind) if member is not NoneType)


def _tags(member: object) -> tuple[str, ...]:
    return tuple(mark.tag for mark in getattr(member, "__metadata__", ()) if isinstance(mark, Tag))


def _is_entry(kind: object) -> bool:
    return isinstance(kind, type) and issubclass(kind, Entry)


def _is_named(member: object, step: str) -> bool:
    bare = _bare(member)
    name = getattr(get_origin(bare) or bare, "__name__", "")
    return step == name or step.startswith(f"{name}[")


def _below(kind: object, step: str | int) -> object:
    if isinstance(kind, type) and issubclass(kind, Entry):
        fields = {field.alias or name: field.annotation for name, field in kind.model_fields.items()}
        return fields.get(str(step))
    arguments = get_args(kind)
    if get_origin(kind) is dict:
        return arguments[1]
    return arguments[0] if arguments else None


def _fault(model: type[Entry], details: ErrorDetails) -> Fault:
    return Fault(
        type=details["type"],
        trail=trail(model, details["loc"]),
        message=details["msg"],
        types=(details["type"],),
        context=details.get("ctx", {}),
    )


def _meant(at: tuple[Step, ...], group: list[Fault], node: Node) -> list[Fault]:
    """Keep what the member of a union says that the author meant."""
    if all(fault.trail.union is None for fault in group):
        return group
    written, _ = find(node, at)
    wants_entry = isinstance(written, Mapping) and "unknown" in written.entries
    kept = [fault for fault in group if fault.trail.is_entry == wants_entry] or group
    closer = [fault for fault in kept if fault.type not in _TYPE_ERRORS or fault.trail.path != at]
    return closer or [_joined(kept)]


def _joined(group: list[Fault]) -> Fault:
    first = group[0]
    types = tuple(name for fault in group for name in fault.types)
    return Fault(
        type=first.type, trail=first.trail, message=first.message, types=types, context=first.context
    )
