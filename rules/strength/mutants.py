"""Small mistakes, one at a time, such as a tired person makes in a catalog: where they can be made, and making them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from rules.load import Document
from rules.strength.slips import (
    Change,
    Steps,
    Words,
    day_moved,
    entry_ends_later,
    flipped,
    forgotten,
    gender,
    inverted,
    is_number,
    number_changed,
    other_word,
    outcome,
    relation,
    rule_taken_out,
    taken_out,
    trim_ends_earlier,
)
from rules.strength.workshop import replaced
from rules.yaml_nodes import Node, Scalar, find, walk
from rules.yaml_nodes import Sequence as SequenceNode


@dataclass(frozen=True, slots=True)
class Site:
    """One place of one document where a kind of mistake can be made."""

    kind: str
    document: int
    path: Steps
    make: Change


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """One mistake in words: its kind, where it was made, and what became what."""

    kind: str
    place: str
    says: str

    @property
    def key(self) -> tuple[str, str]:
        """Give what tells two mistakes apart."""
        return self.place, self.says


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """A mistake with the document that has it."""

    slip: Slip
    document: int
    node: Node


def make(documents: Sequence[Document], sites: Mapping[str, Sequence[Site]], random: Random) -> Mutant | None:
    """Draw a kind of mistake, each as likely as the others, then a place, and make it; None if nothing came of it."""
    kind = random.choice(sorted(sites))
    site = random.choice(sites[kind])
    document = documents[site.document]
    made = site.make(document.node, site.path, random)
    if made is None:
        return None
    says, edits = made
    node = document.node
    for path, new in edits:
        node = replaced(node, path, new)
    found, _ = find(document.node, site.path)
    place = f"{document.file}:{found.head.line}: {'.'.join(str(step) for step in site.path)}"
    slip = Slip(kind=site.kind, place=place, says=says)
    return Mutant(slip=slip, document=site.document, node=node)


def all_sites(documents: Sequence[Document]) -> dict[str, list[Site]]:
    """Give every place where a mistake can be made, by the kind of mistake."""
    words = _words(documents)
    maps = _ids(documents, "connectors", "contact_maps")
    found: dict[str, list[Site]] = {}
    for index, document in enumerate(documents):
        for path, node in walk(document.node):
            for kind, change in _changes(document.folder, path, node, words, maps):
                found.setdefault(kind, []).append(Site(kind, index, path, change))
    return found


# --- where ---------------------------------------------------------------------------------------------------

_TOLD_TO_PEOPLE = frozenset(
    ("name", "says", "why", "look", "ask", "source", "ref", "unknown", "warranty_months")
)
"""Words and figures for people: no answer is judged by them."""


def _changes(
    folder: str, path: Steps, node: Node, words: Words, maps: tuple[str, ...]
) -> Iterator[tuple[str, Change]]:
    if any(step in _TOLD_TO_PEOPLE for step in path):
        return
    match folder:
        case "bikes":
            yield from _in_bike(path, node, words, maps)
        case "parts":
            yield from _in_part(path, node, words, maps)
        case "rules":
            yield from _in_rule(path, node, words)
        case "prices":
            yield from _in_price_list(path, node)


def _in_bike(path: Steps, node: Node, words: Words, maps: tuple[str, ...]) -> Iterator[tuple[str, Change]]:
    if len(path) == 2 and path[0] == "entries":  # noqa: PLR2004 - entries, index
        yield "span end", entry_ends_later
    if len(path) == 3 and path[0] == "trims" and path[2] == "years":  # noqa: PLR2004 - trims, index, years
        yield "span end", trim_ends_earlier
    if path[:1] != ("entries",):
        return
    if "geometry" in path[:-1]:
        yield from _value(path, node, words, "dimension of a bike", "fact of a bike")
    elif len(path) >= 3 and path[-2] == "facts":  # noqa: PLR2004
        yield from _value(path, node, words, "limit of a bike", "fact of a bike")
    elif path[-1] == "max_mass_kg":
        yield from _value(path, node, words, "limit of a bike", "limit of a bike")
    elif path[-1] == "carrier_needed":
        yield "fact of a bike", flipped
    elif path[-2:-1] == ("stock",):
        yield "stock part", taken_out
    yield from _plug(path, node, maps)


def _in_part(path: Steps, node: Node, words: Words, maps: tuple[str, ...]) -> Iterator[tuple[str, Change]]:
    if path[:1] != ("parts",) or len(path) < 3:  # noqa: PLR2004 - parts, index, key
        return
    key = str(path[2])
    if key == "spec":
        yield from _value(path, node, words, "dimension of a part", "fact of a part")
    elif key in ("speaker", "supply", "cable", "channels") and is_number(node):
        yield "electrical figure", number_changed
    elif path[-2] in ("at", "members", "host", "tags", "amplifiers") and isinstance(path[-1], int):
        yield "list of a part", taken_out
    elif key in _OF_PARTS and isinstance(node, Scalar):
        yield _OF_PARTS[key]
    elif key == "colour":
        yield "fact of a part", other_word(words)
    yield from _plug(path, node, maps)


_OF_PARTS: Mapping[str, tuple[str, Change]] = {
    "mass_kg": ("mass of a part", number_changed),
    "available": ("span end", day_moved),
    "rewires": ("fact of a part", flipped),
    "stock_only": ("fact of a part", flipped),
}


def _plug(path: Steps, node: Node, maps: tuple[str, ...]) -> Iterator[tuple[str, Change]]:
    if "connectors" in path[:-2]:
        if path[-1] == "gender":
            yield "gender of a plug", gender
        elif path[-1] == "map":
            yield "map of a plug", other_word({"map": maps})
        elif path[-1] in ("needed", "mirrored"):
            yield "need of a plug", flipped
    elif path[-2:-1] == ("links",) and isinstance(node, Scalar):
        yield "link inside", taken_out


_OF_RULES: Mapping[str, tuple[str, Change]] = {
    "when": ("inverted condition", inverted),
    "margin": ("limit of a rule", number_changed),
    "most": ("limit of a rule", number_changed),
    "relation": ("limit of a rule", relation),
    "outcome": ("limit of a rule", outcome),
    "same_place": ("selector of a rule", flipped),
    "minutes": ("labour", number_changed),
    "home": ("labour", flipped),
    "first": ("span end", day_moved),
    "last": ("span end", day_moved),
}
_LISTS_OF_RULES: Mapping[str, str] = {
    "after": "labour",
    "at": "selector of a rule",
    "part": "selector of a rule",
    "in": "comparison",
    "all": "comparison",
    "any": "comparison",
}


def _in_rule(path: Steps, node: Node, words: Words) -> Iterator[tuple[str, Change]]:
    if path[:1] != ("rules",) or len(path) < 2:  # noqa: PLR2004 - rules, index
        return
    if len(path) == 2:  # noqa: PLR2004
        yield "rule taken out", rule_taken_out
        return
    key, holder = str(path[-1]), str(path[-2])
    if key in _OF_RULES:
        yield _OF_RULES[key]
    elif holder in _LISTS_OF_RULES:
        yield _LISTS_OF_RULES[holder], taken_out
    elif key in ("is", "at_least", "at_most", "has"):
        yield from _value(path, node, words, "comparison", "comparison")
    elif key in ("tag", "kind") and holder in ("subject", "needs", "together_with", "fitted"):
        yield "selector of a rule", other_word(words)


def _in_price_list(path: Steps, node: Node) -> Iterator[tuple[str, Change]]:
    if path[:1] in (("prices",), ("resale",)) and isinstance(node, Scalar):
        yield "price" if path[0] == "prices" else "resale", number_changed
    elif path in (("labour_per_hour",), ("freight",)):
        yield "price", number_changed


def _value(path: Steps, node: Node, words: Words, number: str, other: str) -> Iterator[tuple[str, Change]]:
    if not isinstance(node, Scalar) or path[-1] == "value":
        return
    if is_number(node):
        yield number, number_changed
        yield other, forgotten if "when" not in path else number_changed
    elif isinstance(node.value, bool):
        yield other, flipped
    else:
        yield other, other_word(words)


def _words(documents: Sequence[Document]) -> Words:
    found: dict[str, set[str]] = {}
    for document in documents:
        for path, node in walk(document.node):
            if isinstance(node, Scalar) and isinstance(node.value, str) and path and "source" not in path:
                keys = [step for step in path if isinstance(step, str)]
                found.setdefault(keys[-1] if keys else "", set()).add(node.value)
                if keys[-1:] == ["tags"]:
                    found.setdefault("tag", set()).add(node.value)
    return {key: tuple(sorted(values)) for key, values in found.items() if len(values) < 200}  # noqa: PLR2004


def _ids(documents: Sequence[Document], folder: str, key: str) -> tuple[str, ...]:
    found = []
    for document in documents:
        listed, left = find(document.node, (key,))
        if document.folder == folder and not left and isinstance(listed, SequenceNode):
            found += [str(x.entries["id"].value.value) for x in listed.items]  # type: ignore[union-attr]
    return tuple(sorted(found))
