"""A template for a new rule: a rule of the same kind with its sentence to fill in, or the shortest that this kind can be."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

from rules.catalog.catalog import Catalog
from rules.catalog.facts import has_unit
from rules.catalog.rule import Operation, RuleEntry
from service.authoring.emit import Value, block, item
from service.authoring.filler import SAYS, as_written, source
from service.authoring.places_of import file_of, known, new
from service.authoring.proposal import Proposal, neighbours, read_file
from service.authoring.refusal import CannotWrite
from service.authoring.schemas import modeline_beside
from service.authoring.sheet import Sheet


def new_rule(directory: Path, rule: str, kind: str, topic: str, *, like: str | None, on: date) -> Proposal:
    """Propose a rule at the end of its topic's file, or in a new file where the topic is new.

    Args:
        like: A rule to copy; left out, one of the same kind, of the same topic if there is one.

    Raises:
        CannotWrite: The id is taken, there is no such kind or rule, or nothing in the catalog that it could be about.
    """
    catalog = neighbours(directory)
    new(rule, catalog.rules, "rule")
    known(kind, SHORTEST, "kind of rule")
    entry = _rule(catalog, rule, kind, topic, like, on)
    files = {catalog.topics[other]: file_of(catalog, f"rule:{other}") for other in catalog.rules}
    if topic in files:
        before = read_file(directory, files[topic]) or ""
        return Proposal(
            name=files[topic], before=before, after=Sheet(before).with_item(("rules",), item(entry)).text
        )
    name = f"rules/{topic}.yaml"
    head = block({"topic": topic})
    return Proposal(
        name=name, before=None, after=f"{modeline_beside(directory, name)}{head}rules:\n{item(entry, 2)}"
    )


def _rule(catalog: Catalog, rule: str, kind: str, topic: str, like: str | None, on: date) -> dict[str, Value]:
    if like is not None:
        known(
            like,
            [name for name, other in catalog.rules.items() if other.kind == kind],
            f"rule of kind {kind}",
        )
    neighbour = catalog.rules[like] if like else _neighbour(catalog, kind, topic)
    body = as_written(neighbour) if neighbour else SHORTEST[kind](_Words(catalog))
    kept = {key: value for key, value in body.items() if key not in ("id", "kind", "says", "source")}
    vouched = {"source": source(on)} if kind in ("provides", "measured_exception") or "source" in body else {}
    return {"id": rule, "kind": kind, "says": SAYS, **kept, **vouched}


def _neighbour(catalog: Catalog, kind: str, topic: str) -> RuleEntry | None:
    alike = [rule for rule in catalog.rules.values() if rule.kind == kind]
    # Tear-down is only done before other work, which a template cannot know.
    alike = [rule for rule in alike if not isinstance(rule, Operation) or rule.subject is not None]
    ranked = sorted(alike, key=lambda rule: (catalog.topics[rule.id] != topic, len(str(rule)), rule.id))
    return ranked[0] if ranked else None


class _Words:
    """Names of a catalog that the shortest rules are made of."""

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog
        self.parts = [
            part for part in catalog.parts.values() if part.slot is not None and not part.stock_only
        ]
        if not self.parts:
            raise CannotWrite("the catalog sells no part that a rule could be about; add a part first")

    def part(self) -> dict[str, Value]:
        return {"part": [self.parts[0].id]}

    def other(self) -> dict[str, Value]:
        return {"part": [self.parts[-1].id]}

    def bike(self) -> dict[str, Value]:
        first = min(self.catalog.bikes)
        return {"fact": "bike.family", "is": self.catalog.bikes[first].family}

    def dimensions(self) -> dict[str, Value]:
        """A dimension of a part and one of a place, in the same unit."""
        places = [place for bike in self.catalog.bikes.values() for place in bike.has.places.values()]
        room = sorted({name for place in places for name in place.geometry if has_unit(name)})
        for part in self.parts:
            for spec in part.spec:
                found = [name for name in room if name.rpartition("_")[2] == spec.rpartition("_")[2]]
                if found:
                    subject = {"part": [part.id]}
                    return {"subject": subject, "spec": spec, "relation": "at_most", "geometry": found[0]}
        raise CannotWrite("no part and place of the catalog have dimensions in one unit; record them first")

    def overridden(self) -> dict[str, Value]:
        for rule in self.catalog.rules.values():
            subject = getattr(rule, "subject", None)
            if subject is not None and rule.kind in ("clearance", "requires", "excludes", "flash_needed"):
                return {"overrides": rule.id, "subject": as_written(subject)}
        raise CannotWrite("the catalog has no rule that an exception could override; add one first")


SHORTEST: Mapping[str, Callable[[_Words], dict[str, Value]]] = {
    "clearance": lambda words: words.dimensions(),
    "requires": lambda words: {"subject": words.part(), "needs": words.other()},
    "excludes": lambda words: {"subject": words.part(), "when": words.bike()},
    "flash_needed": lambda words: {"subject": words.part(), "needs": words.other()},
    "provides": lambda words: {
        "when": words.bike(),
        "facts": {"fact_of_these_bikes": True},
        "look": "say where to look on the bike",
    },
    "operation": lambda words: {"subject": words.part(), "action": "add", "minutes": 30},
    "channel_limit": lambda _: {"limit": "lowest_impedance"},
    "supply_limit": lambda _: {"limit": "charging"},
    "mass_limit": lambda words: {"at": [min(words.catalog.places)]},
    "preset_chain": lambda _: {"subject": {"kind": "amplifier"}},
    "advice": lambda words: {"subject": words.part()},
    "measured_exception": lambda words: {**words.overridden(), "outcome": "allow", "when": words.bike()},
    "hold": lambda words: {"subject": words.part(), "first": date(2030, 1, 1)},
}
"""The shortest rule of each kind, where the catalog has none to copy."""
