"""Holds that were set on a release after it was made: each becomes a rule of kind hold, as if a file had it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from rules.catalog.catalog import Catalog
from rules.catalog.condition import Selector
from rules.catalog.rule import Hold

TOPIC = "held_at_once"
_DIGITS = 12


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class HeldPart:
    """A part that is not sold from `first` through `last`, or until further notice. `says` is the reason, for a shopper."""

    part: str
    first: date
    last: date | None
    says: str


def with_holds(catalog: Catalog, holds: Iterable[HeldPart]) -> Catalog:
    """Give the catalog with holds besides. One of a part that this catalog does not have waits for one that has it."""
    rules, topics = dict(catalog.rules), dict(catalog.topics)
    for held in sorted(holds, key=_order):
        if held.part in catalog.parts:
            name = _free_id(held, rules)
            rules[name] = Hold(
                kind="hold",
                id=name,
                says=held.says,
                subject=Selector(part=(held.part,)),
                first=held.first,
                last=held.last,
            )
            topics[name] = TOPIC
    return replace(catalog, rules=dict(sorted(rules.items())), topics=dict(sorted(topics.items())))


def holds_id(holds: Iterable[HeldPart]) -> str:
    """Name a set of holds by its content; empty for none.

    Returns: `h` and 12 hexadecimal digits.
    """
    told = [
        [x.part, x.first.isoformat(), x.last and x.last.isoformat(), x.says]
        for x in sorted(holds, key=_order)
    ]
    if not told:
        return ""
    return f"h{hashlib.sha256(json.dumps(told).encode()).hexdigest()[:_DIGITS]}"


def _order(held: HeldPart) -> tuple[str, date, date, str]:
    return held.part, held.first, held.last or date.max, held.says


def _free_id(held: HeldPart, taken: Mapping[str, object]) -> str:
    # A rule's id has at most 80 letters, and a part's id may have as many.
    stem = f"held_{holds_id([held])}"
    name, count = stem, 1
    while name in taken:
        count += 1
        name = f"{stem}_{count}"
    return name
