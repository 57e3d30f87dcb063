"""What the whole catalog compiles to, once: wires, facts and rules of every part, and which parts a selector selects.

These tables are the hot path. `rules.graph` says the same as a networkx graph; a test keeps the two equal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property
from typing import TypeVar

from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.catalog.condition import Fitted, Selector
from rules.catalog.facts import Unknown, Value
from rules.catalog.part import Part
from rules.catalog.rule import (
    Advice,
    ChannelLimit,
    Clearance,
    Excludes,
    FlashNeeded,
    Hold,
    MassLimit,
    MeasuredException,
    Operation,
    PresetChain,
    Requires,
    RuleEntry,
    SupplyLimit,
)
from rules.conditions import facts_named, leaves
from rules.effort import Effort
from rules.mating import MateTable
from rules.own_parts import widened
from rules.periods import Periods
from rules.ranks import Ranks
from rules.universe import Universe
from rules.wires import Wires, wires_of_part

R = TypeVar("R", bound=RuleEntry)
V = TypeVar("V")

Plugs = tuple[object, ...]
"""What parts have in common which no plug can tell apart."""

ByFigure = tuple[Value | Unknown | None, frozenset[Placement]]
"""A figure, None where nothing is recorded, and the placements of all parts that have it."""

PartRule = Clearance | Requires | Excludes | FlashNeeded
"""Rules that are checked for each placed part that their subject selects."""


def rules_of_kind(catalog: Catalog, kind: type[R]) -> tuple[R, ...]:
    """Give the catalog's rules of one kind, in order of id."""
    return tuple(rule for rule in catalog.rules.values() if isinstance(rule, kind))


def _part_rules(catalog: Catalog) -> tuple[PartRule, ...]:
    return tuple(
        rule
        for rule in catalog.rules.values()
        if isinstance(rule, Clearance | Requires | Excludes | FlashNeeded)
    )


def _fact_names(catalog: Catalog) -> frozenset[str]:
    """Give every name of a bike's fact or a place's dimension that some bike records or some rule asks for."""
    names: set[str] = set()
    for bike in catalog.bikes.values():
        names.update(bike.has.facts, *(place.geometry for place in bike.has.places.values()))
    for rule in catalog.rules.values():
        when = getattr(rule, "when", None)
        names.update(name.partition(".")[2] for name in (facts_named(when) if when else ()))
        names.update(name for name in (getattr(rule, "geometry", None), getattr(rule, "fact", None)) if name)
    return frozenset(names | {"charging_headroom_a", "idle_headroom_a"})


class _OnDemand(dict[str, V]):
    """What each part has, worked out when somebody first asks: of a large catalog's parts most are never asked about."""

    def __init__(self, work_out: Callable[[str], V]) -> None:
        super().__init__()
        self._work_out = work_out

    def __missing__(self, part: str) -> V:
        found = self[part] = self._work_out(part)
        return found


def _as_it_is(known: dict[str, V]) -> dict[str, V]:
    """Share what is known where no part is added to it."""
    return known


class Tables:
    """The compiled catalog. Everything here is fixed once made, but for lookups that are remembered."""

    def __init__(self, catalog: Catalog, narrower: Tables | None = None) -> None:
        """Compile a catalog; where `narrower` holds most of its parts already, only the others."""
        self.catalog = catalog
        self._narrower = narrower
        self.effort: Effort = narrower.effort if narrower else Effort()
        known = narrower.catalog.parts if narrower else {}
        self._added: tuple[Part, ...] = tuple(x for name, x in catalog.parts.items() if name not in known)
        self._added_ids = {part.id: part for part in self._added}
        self._added_by: dict[tuple[str, str | None], list[Part]] = {}
        for part in self._added:
            for group in (("kind", part.kind), ("slot", part.slot), *(("tag", tag) for tag in part.tags)):
                self._added_by.setdefault(group, []).append(part)
        self._universes: dict[frozenset[str], Universe] = {}
        self._by_figure: dict[tuple[frozenset[Placement], str], tuple[ByFigure, ...]] = {}
        self._selected: dict[Selector, frozenset[str]] = {}
        self._newly_selected: dict[Selector, frozenset[str]] = {}
        # Faces are numbered in one table for all: a number that no plug of a net has changes nothing there.
        self.mates: MateTable = narrower.mates if narrower else MateTable()
        own = dict if self._added else _as_it_is
        self._ends: dict[int, list[tuple[str, str | None]]] = {}
        self.wires: dict[str, Wires] = own(narrower.wires) if narrower else {}
        self.facts: Mapping[str, Mapping[str, Value | Unknown]] = _OnDemand(self._facts_of)
        self.part_rules: dict[str, tuple[PartRule, ...]] = own(narrower.part_rules) if narrower else {}
        self.advice: dict[str, tuple[Advice, ...]] = own(narrower.advice) if narrower else {}
        self.operations: dict[str, tuple[Operation, ...]] = own(narrower.operations) if narrower else {}
        self.needs_tags = self._tags_needed()
        self.twins: Mapping[str, str] = _OnDemand(self._electrics_of)
        self.kin: Mapping[str, Plugs] = _OnDemand(self._plugs_of)
        self._kinds(catalog)
        self._add_parts()
        self.fact_names: frozenset[str] = narrower.fact_names if narrower else _fact_names(catalog)
        self.services: dict[str, tuple[str, ...]] = narrower.services if narrower else self._services(catalog)
        self.bundles: tuple[str, ...] = narrower.bundles if narrower else _bundles(catalog)

    @cached_property
    def periods(self) -> Periods:
        """The calendar, cut at the days on which prices, availability and holds change."""
        return Periods(self.catalog)

    @cached_property
    def singles(self) -> frozenset[str]:
        """The parts that stand for themselves in a cart: no bundles, and no services."""
        return frozenset(x.id for x in self.catalog.parts.values() if not x.members and x.preset is None)

    @cached_property
    def ranks(self) -> Ranks:
        """The order of all that could be placed."""
        return Ranks(self.catalog)

    @cached_property
    def bargains(self) -> frozenset[str]:
        """The parts that may fetch more used, by some price list, than they cost new by one, alone or in a bundle."""
        lists = self.catalog.price_lists
        fetched = {part for one in lists for part, value in one.resale.items() if value}
        bundled = {part for bundle in self.bundles for part in self.catalog.parts[bundle].members}
        return frozenset(
            part
            for part in fetched
            if part in bundled
            or min((x.prices[part] for x in lists if part in x.prices), default=0)
            < max(x.resale.get(part, 0) for x in lists)
        )

    @cached_property
    def looked_for(self) -> frozenset[str]:
        """The parts that some check of another part looks for: as a companion, as relief, as a host, as a carrier."""
        parts = self.catalog.parts.values()
        hosts = {host for part in parts for host in part.host}
        slots = {"carrier"}
        found: set[str] = set()
        for rule in self.catalog.rules.values():
            if isinstance(rule, Clearance) and rule.relieved_by_slot:
                slots.add(rule.relieved_by_slot)
            for selector in _selectors(rule):
                found |= self.selected(selector)
        return frozenset(found | hosts | {part.id for part in parts if part.slot in slots})

    @cached_property
    def looking(self) -> Mapping[str, frozenset[str]]:
        """The parts of which some rule looks at a dimension of the place that they are in, by the dimension."""
        found: dict[str, frozenset[str]] = {}
        for rule in self.catalog.rules.values():
            subject: Selector | None = getattr(rule, "subject", None)
            for name in _dimensions(rule):
                found[name] = found.get(name, frozenset()) | (
                    self.selected(subject) if subject else frozenset()
                )
        return found

    def is_like(self, other: Tables) -> bool:
        """Tell whether nothing was compiled besides what the other tables hold: prices at most differ."""
        return self._narrower is other and not self._added

    def widened(self, own: tuple[Part, ...]) -> Tables:
        """Give tables with a rider's own parts besides; these stay as they are, and nothing is compiled twice."""
        return Tables(widened(self.catalog, own), self) if own else self

    def _add_parts(self) -> None:
        catalog = self.catalog
        for part in self._added:
            if part.slot:
                wires = self.wires[part.id] = wires_of_part(part, catalog.contact_maps, self.mates)
                for name, face in wires.numbers.items():
                    self._ends.setdefault(face, []).append((part.id, wires.connectors[name].place))
        self.part_rules |= self._rules_by_part(_part_rules(catalog))
        self.advice |= self._rules_by_part(rules_of_kind(catalog, Advice))
        self.operations |= self._rules_by_part(
            tuple(rule for rule in rules_of_kind(catalog, Operation) if rule.subject is not None)
        )

    def _facts_of(self, part: str) -> Mapping[str, Value | Unknown]:
        if self._narrower and part not in self._added_ids:
            return self._narrower.facts[part]
        return part_facts(self.catalog.parts[part], self.catalog.lines[part])

    def _tags_needed(self) -> frozenset[str]:
        needed = {channel.needs for part in self._added for channel in part.channels if channel.needs}
        return frozenset(needed).union(self._narrower.needs_tags if self._narrower else ())

    def _kinds(self, catalog: Catalog) -> None:
        self.mass_limits = rules_of_kind(catalog, MassLimit)
        self.channel_limits = rules_of_kind(catalog, ChannelLimit)
        self.supply_limits = rules_of_kind(catalog, SupplyLimit)
        self.preset_chains = rules_of_kind(catalog, PresetChain)
        self.holds = rules_of_kind(catalog, Hold)
        self.exceptions: dict[str, list[MeasuredException]] = {}
        for rule in rules_of_kind(catalog, MeasuredException):
            self.exceptions.setdefault(rule.overrides, []).append(rule)
        self._exceptions_by_part: dict[str, dict[str, list[MeasuredException]]] = {}

    def selected(self, selector: Selector) -> frozenset[str]:
        """Give the ids of the parts that a selector selects, wherever they are."""
        if selector not in self._selected:
            known = self._narrower.selected(selector) if self._narrower else frozenset()
            self._selected[selector] = known | self._among_added(selector)
        return self._selected[selector]

    def _among_added(self, selector: Selector) -> frozenset[str]:
        if selector not in self._newly_selected:
            self._newly_selected[selector] = frozenset(
                part.id for part in self._worth_a_look(selector) if self._selects(selector, part)
            )
        return self._newly_selected[selector]

    def ends(self, face: int) -> Iterator[tuple[str, str | None]]:
        """Give each part that has a connector with this face, and where it lies if that is not where the part is."""
        if self._narrower:
            yield from self._narrower.ends(face)
        yield from self._ends.get(face, ())

    def exceptions_for(self, rule: str, placed: Placement) -> Iterator[MeasuredException]:
        """Give the measured exceptions from a rule that are about a placed part, in order of id."""
        if rule not in self._exceptions_by_part:
            by_part: dict[str, list[MeasuredException]] = {}
            for exception in self.exceptions.get(rule, ()):
                for part in self.selected(exception.subject):
                    by_part.setdefault(part, []).append(exception)
            self._exceptions_by_part[rule] = by_part
        for exception in self._exceptions_by_part[rule].get(placed.part, ()):
            if not exception.subject.at or placed.place in exception.subject.at:
                yield exception

    def by_figure(self, placements: frozenset[Placement], name: str) -> tuple[ByFigure, ...]:
        """Give placements by a figure of their parts: thousands of parts have the same few."""
        key = (placements, name)
        if key not in self._by_figure:
            groups: dict[str, list[Placement]] = {}
            for x in placements:
                groups.setdefault(repr(self.facts[x.part].get(name)), []).append(x)
            self._by_figure[key] = tuple(
                (self.facts[group[0].part].get(name), frozenset(group)) for group in groups.values()
            )
        return self._by_figure[key]

    def universe(self, places: frozenset[str]) -> Universe:
        """Give all that could be placed at these places; bikes that have the same share it."""
        if self._narrower and not self._added:
            return self._narrower.universe(places)
        if places not in self._universes:
            self._universes[places] = Universe(self, places)
        return self._universes[places]

    def _worth_a_look(self, selector: Selector) -> Iterable[Part]:
        """Give the parts named, or those of the tag, slot or kind: a catalog has thousands, and most rules are about a few."""
        if selector.part:
            return (self._added_ids[name] for name in selector.part if name in self._added_ids)
        asked = (("tag", selector.tag), ("slot", selector.slot), ("kind", selector.kind))
        groups = [self._added_by.get(group, []) for group in asked if group[1] is not None]
        return min(groups, key=len, default=self._added)

    def selects(self, selector: Selector, placed: Placement) -> bool:
        """Tell whether a selector selects a placed part."""
        return placed.part in self.selected(selector) and (not selector.at or placed.place in selector.at)

    def hold(self, part: str, on: date) -> Hold | None:
        """Give the hold that stops the part from being sold on a day."""
        for rule in self.holds:
            if (
                part in self.selected(rule.subject)
                and rule.first <= on
                and (rule.last is None or on <= rule.last)
            ):
                return rule
        return None

    def _selects(self, selector: Selector, part: Part) -> bool:
        return (
            (not selector.part or part.id in selector.part)
            and selector.kind in (None, part.kind)
            and selector.line in (None, self.catalog.lines[part.id])
            and (selector.tag is None or selector.tag in part.tags)
            and selector.slot in (None, part.slot)
        )

    def _electrics_of(self, name: str) -> str:
        """Give a text that is equal for parts that no wiring can tell apart."""
        if self._narrower and self._is_known_before(name):
            return self._narrower.twins[name]
        part = self.catalog.parts[name]
        if _has_no_part_in_wirings(part):
            return self._role_of(part)
        fields = {"connectors", "links", "channels", "speaker", "supply", "cable"}
        return f"{self._role_of(part)} {part.model_dump_json(include=fields)}"

    def _plugs_of(self, name: str) -> Plugs:
        """Give what is equal for parts which no plug can tell apart, whatever their figures are."""
        if self._narrower and self._is_known_before(name):
            return self._narrower.kin[name]
        part = self.catalog.parts[name]
        role = self._role_of(part)
        if _has_no_part_in_wirings(part):
            return (role,)
        channels = tuple((x.id, x.output, x.needs, x.bridges) for x in part.channels)
        has = (part.speaker is not None, part.supply is not None, part.cable is not None)
        connectors = tuple((at, *x.__dict__.values()) for at, x in part.connectors.items())
        return role, has, channels, connectors, tuple(part.links.items())

    def _is_known_before(self, name: str) -> bool:
        # A tag that wakes a channel only now tells parts apart that were twins before.
        return self._narrower is not None and (
            name not in self._added_ids and self.needs_tags == self._narrower.needs_tags
        )

    def _role_of(self, part: Part) -> str:
        """Give what a part is to a wiring before any plug is looked at; a tag that wakes a channel counts."""
        tags = sorted(self.needs_tags.intersection(part.tags)) if part.tags else []
        return f"{part.kind} {part.slot} {tags}"

    def _rules_by_part(self, rules: tuple[R, ...]) -> dict[str, tuple[R, ...]]:
        found: dict[str, list[R]] = {}
        for rule in rules:
            subject: Selector | None = getattr(rule, "subject", None)
            for part in self._among_added(subject) if subject else ():
                found.setdefault(part, []).append(rule)
        none: dict[str, tuple[R, ...]] = dict.fromkeys(self._added_ids, ())
        return none | {part: tuple(listed) for part, listed in found.items()}

    @staticmethod
    def _services(catalog: Catalog) -> dict[str, tuple[str, ...]]:
        services: dict[str, list[str]] = {}
        for part in catalog.parts.values():
            for amplifier in part.preset.amplifiers if part.preset else ():
                services.setdefault(amplifier, []).append(part.id)
        return {amplifier: tuple(sorted(ids)) for amplifier, ids in services.items()}


def _selectors(rule: RuleEntry) -> Iterator[Selector]:
    """Give what a rule looks for besides the part that it is about."""
    when = getattr(rule, "when", None)
    yield from (x.fitted for x in (leaves(when) if when is not None else ()) if isinstance(x, Fitted))
    if isinstance(rule, Requires | FlashNeeded):
        yield rule.needs
    if isinstance(rule, Excludes) and rule.together_with is not None:
        yield rule.together_with


def _dimensions(rule: RuleEntry) -> set[str]:
    """Give the dimensions of a place that a rule looks at."""
    when = getattr(rule, "when", None)
    named = {name.partition(".") for name in (facts_named(when) if when is not None else ())}
    found = {key for scope, _, key in named if scope == "place"}
    return found | ({rule.geometry} if isinstance(rule, Clearance) else set())


def _bundles(catalog: Catalog) -> tuple[str, ...]:
    """Give the bundles: few, and asked for with every price."""
    return tuple(part.id for part in catalog.parts.values() if part.kind == "bundle")


def _has_no_part_in_wirings(part: Part) -> bool:
    return not (part.connectors or part.links or part.channels or part.speaker or part.supply or part.cable)


def part_facts(part: Part, line: str) -> Mapping[str, Value | Unknown]:
    """Give a part's facts by name: its id, kind, line and colour, its figures, and its spec."""
    facts: dict[str, Value | Unknown] = {
        "id": part.id,
        "kind": part.kind,
        "line": line,
        "mass_kg": part.mass_kg,
    }
    if part.colour is not None:
        facts["colour"] = part.colour
    for figures in (part.speaker, part.supply, part.cable):
        if figures is not None:
            facts.update((name, getattr(figures, name)) for name in type(figures).model_fields)
    facts.update(part.spec)
    return facts
