"""How a value in a catalog is mistaken: each slip names what it makes of a value, and gives the edits that do it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, timedelta
from random import Random

from rules.yaml_nodes import KeyValue, Node, Scalar, Step, find, walk
from rules.yaml_nodes import Mapping as MappingNode

Steps = tuple[Step, ...]
Edits = tuple[tuple[Steps, Node | None], ...]
"""New values by their path in one document, made one after the other; None takes the value out."""

Change = Callable[[Node, Steps, Random], tuple[str, Edits] | None]
"""Gives what a slip at a path is called, and its edits; None if nothing comes of it."""

Words = Mapping[str, tuple[str, ...]]
"""Every text that a key has somewhere in the catalog."""


def is_number(node: Node) -> bool:
    """Tell whether a node is a number."""
    return (
        isinstance(node, Scalar) and isinstance(node.value, int | float) and not isinstance(node.value, bool)
    )


def _scalar(node: Node, value: str | float | bool) -> Scalar:  # noqa: FBT001 - a value of YAML
    return Scalar(value, node.span)


_FACTORS = (0.7, 0.85, 0.9, 0.95, 1.05, 1.1, 1.15, 1.4)


def number_changed(root: Node, path: Steps, random: Random) -> tuple[str, Edits] | None:
    """Make a number larger or smaller, by a twentieth to two fifths."""
    node, _ = find(root, path)
    assert isinstance(node, Scalar)  # noqa: S101 - sites are chosen so
    old = float(node.value)
    changed = old * random.choice(_FACTORS) if old else 1.0
    new: float = round(changed) if isinstance(node.value, int) else round(changed, 2)
    if new == node.value:
        new = node.value + random.choice((-1, 1))
    return f"{node.value} becomes {new}", ((path, _scalar(node, new)),)


def flipped(root: Node, path: Steps, _: Random) -> tuple[str, Edits] | None:
    """Say yes for no."""
    node, _left = find(root, path)
    if not isinstance(node, Scalar) or not isinstance(node.value, bool):
        return None
    return f"{node.value} becomes {not node.value}", ((path, _scalar(node, not node.value)),)


def forgotten(root: Node, path: Steps, _: Random) -> tuple[str, Edits] | None:
    """Forget a value."""
    node, _left = find(root, path)
    return "the value is taken out", ((path, None),) if isinstance(node, Scalar) else ()


def taken_out(root: Node, path: Steps, _: Random) -> tuple[str, Edits] | None:
    """Take a value out of its list or mapping."""
    node, _left = find(root, path)
    return f"{_short(node)} is taken out", ((path, None),)


def other_word(words: Words) -> Change:
    """Put another word that the same key has somewhere else."""

    def change(root: Node, path: Steps, random: Random) -> tuple[str, Edits] | None:
        node, _ = find(root, path)
        key = next((step for step in reversed(path) if isinstance(step, str)), "")
        if not isinstance(node, Scalar):
            return None
        key = _key_of(root, path) or key
        others = [word for word in words.get(key, ()) if word != node.value]
        if not others:
            return None
        word = random.choice(others)
        return f"{node.value} becomes {word}", ((path, _scalar(node, word)),)

    return change


def _key_of(root: Node, path: Steps) -> str:
    """Give the fact that a comparison compares; an empty text for any other value."""
    holder, _ = find(root, path[:-1])
    fact = holder.get("fact") if isinstance(holder, MappingNode) else None
    return str(fact.value).partition(".")[2] if isinstance(fact, Scalar) else ""


def gender(root: Node, path: Steps, _: Random) -> tuple[str, Edits] | None:
    """Take a plug for a socket."""
    node, _left = find(root, path)
    assert isinstance(node, Scalar)  # noqa: S101
    new = "socket" if node.value == "plug" else "plug"
    return f"{node.value} becomes {new}", ((path, _scalar(node, new)),)


def inverted(root: Node, path: Steps, _: Random) -> tuple[str, Edits] | None:
    """Say when a rule does not hold."""
    node, _left = find(root, path)
    if isinstance(node, MappingNode) and set(node.entries) == {"not"}:
        return "the condition is inverted", ((path, node.entries["not"].value),)
    inner = MappingNode({"not": KeyValue(node.head, node)}, node.span, node.head)
    return "the condition is inverted", ((path, inner),)


def relation(root: Node, path: Steps, random: Random) -> tuple[str, Edits] | None:
    """Compare the other way."""
    node, _ = find(root, path)
    assert isinstance(node, Scalar)  # noqa: S101
    new = random.choice([x for x in ("at_most", "at_least", "equals") if x != node.value])
    return f"{node.value} becomes {new}", ((path, _scalar(node, new)),)


def outcome(root: Node, path: Steps, _: Random) -> tuple[str, Edits] | None:
    """Refuse what was to be allowed."""
    node, _left = find(root, path)
    assert isinstance(node, Scalar)  # noqa: S101
    new = "refuse" if node.value == "allow" else "allow"
    return f"{node.value} becomes {new}", ((path, _scalar(node, new)),)


def day_moved(root: Node, path: Steps, random: Random) -> tuple[str, Edits] | None:
    """Move a day by a month or two."""
    node, _ = find(root, path)
    assert isinstance(node, Scalar)  # noqa: S101
    try:
        day = date.fromisoformat(str(node.value))
    except ValueError:
        return None
    moved = day + timedelta(days=random.choice((-60, -30, 30, 60)))
    return f"{day} becomes {moved}", ((path, _scalar(node, moved.isoformat())),)


def entry_ends_later(root: Node, path: Steps, random: Random) -> tuple[str, Edits] | None:
    """Let an entry end a year later or earlier, and the next one begin accordingly."""
    index = int(path[1])
    one, other = _years(root, index), _years(root, index + 1)
    if one is None or other is None:
        return None
    by = random.choice((-1, 1))
    end = one[1] + by
    if end < one[0] or end + 1 > other[1]:
        return None
    new = {("entries", index, "years"): (one[0], end), ("entries", index + 1, "years"): (end + 1, other[1])}
    edits = tuple((at, _span(find(root, at)[0], *years)) for at, years in new.items())
    return f"ends in {end} instead of {one[1]}", edits


def trim_ends_earlier(root: Node, path: Steps, random: Random) -> tuple[str, Edits] | None:
    """Let a trim begin a year later or end a year earlier."""
    node, _ = find(root, path)
    years = _read(node)
    if years is None or years[0] == years[1]:
        return None
    first, last = random.choice(((years[0] + 1, years[1]), (years[0], years[1] - 1)))
    return f"{years[0]}-{years[1]} becomes {first}-{last}", ((path, _span(node, first, last)),)


def _years(root: Node, index: int) -> tuple[int, int] | None:
    node, left = find(root, ("entries", index, "years"))
    return None if left else _read(node)


def _read(node: Node) -> tuple[int, int] | None:
    if not isinstance(node, Scalar):
        return None
    first, _, last = str(node.value).partition("-")
    return (int(first), int(last or first)) if first.isdigit() else None


def _span(node: Node, first: int, last: int) -> Scalar:
    return _scalar(node, f"{first}-{last}")


def rule_taken_out(root: Node, path: Steps, _: Random) -> tuple[str, Edits] | None:
    """Take a rule out, with what hangs on it."""
    node, _left = find(root, path)
    name = node.get("id") if isinstance(node, MappingNode) else None
    if not isinstance(name, Scalar):
        return None
    # What hangs on the rule goes with it: an exception to it, and its mention in the order of work.
    gone = _in_reverse([path, *_hanging(root, str(name.value))])
    return f"rule {name.value} is taken out", tuple((at, None) for at in gone)


def _in_reverse(paths: Iterable[Steps]) -> list[Steps]:
    """Give paths so that taking one out does not move those that come after it."""
    return sorted(paths, key=lambda path: [(isinstance(x, str), x) for x in path], reverse=True)


def _hanging(root: Node, name: str) -> Iterator[Steps]:
    for path, node in walk(root):
        if not isinstance(node, Scalar) or node.value != name or len(path) < 3:  # noqa: PLR2004
            continue
        if path[-1] == "overrides":
            yield path[:-1]
        elif path[-2] == "after":
            yield path


def _short(node: Node) -> str:
    return str(node.value) if isinstance(node, Scalar) else "a member"
