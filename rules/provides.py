"""Gives bikes the plugs and facts that rules of kind `provides` say they have."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from rules.catalog.bike import BikeFacts
from rules.catalog.catalog import Bike, Origin
from rules.catalog.condition import Fitted
from rules.catalog.connector import Connector
from rules.catalog.facts import Fact, Source, Unknown, Value, YearSpan
from rules.catalog.rule import Provides
from rules.conditions import Kleene, evaluate, facts_named, leaves
from rules.diagnostics import Code, Collector, Span, names, quote
from rules.draft import Written

CONTRADICTION = Code(
    name="contradiction",
    about="Two places that give one fact, plug or measured exception differently.",
    why="one of them is wrong, and choosing one would be a guess",
    hint="delete the wrong one, or narrow the condition of one of them",
    example="a rule that provides a plug which the bike's own entry describes in another way",
)
BIKE_FACTS_ONLY = Code(
    name="bike-facts-only",
    about="A rule of kind `provides` whose condition looks at parts, places or what is fitted.",
    why="what a bike has must not depend on what is fitted to it",
    hint="compare facts that begin with `bike.` only",
    example="when: {fact: part.kind, is: speaker}",
)
PROVIDES_CHAIN = Code(
    name="provides-chain",
    about="A rule of kind `provides` whose condition looks at a fact that such a rule provides.",
    why="the answer would depend on the order of rules",
    hint="write the first rule's condition here instead",
    example="when: {fact: bike.pod_series, is: b}  # and another rule provides pod_series",
)
MISSING_SOURCE = Code(
    name="missing-source",
    about="A rule of kind `provides` without a source.",
    why="what it says becomes a fact of the bike, and every finding names the source of its facts",
    hint="add `source` with kind, ref and date",
    example="kind: provides  # without source",
)

CODES = (CONTRADICTION, BIKE_FACTS_ONLY, PROVIDES_CHAIN, MISSING_SOURCE)

T = TypeVar("T", Connector, str, Fact)
V = TypeVar("V")
_FAMILY_FACTS = frozenset(("family", "maker", "year", "trim", "mount", "cooling"))


def bike_fact(bike: Bike, name: str) -> Value | Unknown | None:
    """A fact of a bike by its name in conditions (`bike.cooling`); None if nothing is recorded."""
    _, _, key = name.partition(".")
    if key == "year":
        return float(bike.year)
    return getattr(bike, key) if key in _FAMILY_FACTS else bike.has.facts.get(key)


def check_provides(rules: Iterable[Written[Provides]], collector: Collector) -> list[Written[Provides]]:
    """Report rules whose condition or source does not do.

    Returns: The others, in the order of their ids.
    """
    listed = sorted(rules, key=lambda rule: rule.what.id)
    provided = {f"bike.{name}": rule for rule in listed for name in rule.what.facts}
    good = [rule for rule in listed if _is_sound(rule, provided, collector)]
    return [rule for rule in good if rule.what.source is not None]


def _is_sound(
    rule: Written[Provides], provided: Mapping[str, Written[Provides]], collector: Collector
) -> bool:
    if rule.what.source is None:
        collector.report(MISSING_SOURCE, rule.node.head, f"rule {quote(rule.what.id)} has no source")
    foreign = [name for name in facts_named(rule.what.when) if not name.startswith("bike.")]
    if foreign or any(isinstance(leaf, Fitted) for leaf in leaves(rule.what.when)):
        what = f"on {names(foreign)}" if foreign else "on what is fitted"
        collector.report(BIKE_FACTS_ONLY, rule.key_at("when"), f"what a bike has cannot depend {what}")
        return False
    chained = [name for name in facts_named(rule.what.when) if name in provided]
    if chained:
        place = provided[chained[0]].at("id").place
        message = f"{quote(chained[0])} is itself provided, by the rule at {place}"
        collector.report(PROVIDES_CHAIN, rule.key_at("when"), message)
    return not chained


def apply_provides(bike: Bike, rules: Iterable[Written[Provides]], collector: Collector) -> Bike:
    """Give a bike what the rules say that it has.

    Where a rule's condition is unknown, its connectors are there with an unknown presence and its facts are
    unknown, with the rule's own words on how to look.

    Args:
        rules: As `check_provides` returned them.
    """
    gained = _Gained(bike, collector)
    for rule in rules:
        holds = evaluate(rule.what.when, lambda name: bike_fact(bike, name), _nothing_fitted).holds
        if holds is not False:
            gained.take(rule, holds)
    return gained.bike()


def _nothing_fitted(_selector: Fitted) -> Kleene:
    return None


@dataclass(frozen=True, slots=True)
class _Claim:
    """A rule's say on one key."""

    span: Span
    origin: Origin
    is_certain: bool


class _Gained:
    """One bike's loom and facts while rules add to them."""

    def __init__(self, bike: Bike, collector: Collector) -> None:
        self.before = bike
        self.collector = collector
        self.connectors = dict(bike.has.loom.connectors)
        self.links = dict(bike.has.loom.links)
        self.facts = dict(bike.has.facts)
        self.origins = dict(bike.origins)
        self.claims: dict[str, _Claim] = {}

    def take(self, rule: Written[Provides], holds: Kleene) -> None:
        look = Unknown(unknown=rule.what.look)
        for name, connector in rule.what.connector.items():
            there = connector if holds else connector.model_copy(update={"presence": look})
            claim = self.claim(rule, holds, "connector", name)
            self.add(self.connectors, "loom.connectors", name, there, claim, _same_connector)
        for fed, feeding in rule.what.links.items():
            claim = self.claim(rule, holds, "links", fed)
            self.add(self.links, "loom.links", fed, feeding, claim, _same)
        for name, fact in rule.what.facts.items():
            claim = self.claim(rule, holds, "facts", name)
            self.add(self.facts, "facts", name, fact if holds else look, claim, _same)

    def claim(self, rule: Written[Provides], holds: Kleene, key: str, name: str) -> _Claim:
        span = rule.key_at(key, name)
        years = YearSpan(self.before.year, self.before.year)
        origin = _origin(rule.what.source, years, span)
        return _Claim(span, origin, is_certain=bool(holds))

    def add(
        self, to: dict[str, T], prefix: str, name: str, value: T, claim: _Claim, same: Callable[[T, T], bool]
    ) -> None:
        """Add a value, unless a better one is there; refuse one that says something else."""
        path = f"{prefix}.{name}"
        if name in to and not self.gives_way(path, to[name], claim):
            if self.disagrees(path, to[name], value, claim, same):
                self.refuse(path, name, claim)
            return
        to[name] = value
        self.claims[path] = claim
        self.origins = {key: origin for key, origin in self.origins.items() if not _below(key, path)}
        self.origins[path] = claim.origin

    def gives_way(self, path: str, there: object, claim: _Claim) -> bool:
        """Tell whether what is there is less certain than the claim."""
        before = self.claims.get(path)
        uncertain = isinstance(there, Unknown) if before is None else not before.is_certain
        return claim.is_certain and uncertain

    def disagrees(self, path: str, there: T, value: T, claim: _Claim, same: Callable[[T, T], bool]) -> bool:
        before = self.claims.get(path)
        is_certain = before is None or before.is_certain
        return is_certain == claim.is_certain and not same(there, value)

    def refuse(self, path: str, name: str, claim: _Claim) -> None:
        first = self.claims[path].span.place if path in self.claims else self.place_of(path)
        message = f"{quote(name)} is given in another way at {first}, for bike {quote(self.before.id)}"
        # A rule may contradict the same entry for many bikes: the first one stands for all.
        if not self.collector.blames(claim.span):
            self.collector.report(CONTRADICTION, claim.span, message)

    def place_of(self, path: str) -> str:
        found = next((self.origins[key] for key in sorted(self.origins) if _below(key, path)), None)
        return f"{found.file}:{found.line}" if found else "the bike's own file"

    def bike(self) -> Bike:
        if not self.claims:
            return self.before
        loom = self.before.has.loom.model_copy(
            update={"connectors": _sorted(self.connectors), "links": _sorted(self.links)}
        )
        has: BikeFacts = self.before.has.model_copy(update={"loom": loom, "facts": _sorted(self.facts)})
        return replace(self.before, has=has, origins=_sorted(self.origins))


def _origin(source: Source | None, years: YearSpan, span: Span) -> Origin:
    if source is None:
        raise ValueError("a rule without a source provides nothing")
    return Origin(source=source, years=years, file=span.file, line=span.line, column=span.column)


def _below(key: str, path: str) -> bool:
    return key == path or key.startswith(f"{path}.")


def _same(one: object, other: object) -> bool:
    return one == other


def _same_connector(one: Connector, other: Connector) -> bool:
    return one.model_copy(update={"presence": None}) == other.model_copy(update={"presence": None})


def _sorted(mapping: Mapping[str, V]) -> dict[str, V]:
    return dict(sorted(mapping.items()))
