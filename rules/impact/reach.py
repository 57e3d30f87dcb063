"""Which questions a placement may have a say in: those on it, and those on whatever it might be needed for.

An extra is only ever bought because something that is there, or was bought before it, lacks it: a cheapest set of
extras holds nothing that could be left out. So an answer depends on what is present, on what is asked for, and on what may
clear a finding of these, and so on. Here this is followed backwards, over all bikes at once: too far at worst, never
too short.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property

from rules.build import Placement, stock_placements
from rules.catalog.catalog import Bike
from rules.catalog.condition import Condition, Fitted, Selector
from rules.catalog.rule import Clearance, Excludes, FlashNeeded, Requires
from rules.conditions import leaves
from rules.impact.touch import Differing
from rules.tables import PartRule, Tables
from rules.wires import TERMINALS, Wires, wires_of_loom


class Reach:
    """Follows needs backwards in compiled catalogs, as a rule two at once."""

    def __init__(self, *needs: Needs) -> None:
        self.needs = needs
        self._known: dict[frozenset[Placement], frozenset[Placement]] = {}

    def of(self, placements: frozenset[Placement]) -> frozenset[Placement]:
        """Give these placements and all for which one of them might be needed."""
        if placements not in self._known:
            reached, ahead = set(placements), list(placements)
            while ahead:
                placed = ahead.pop()
                new = {x for needs in self.needs for x in needs.asking_for(placed)} - reached
                reached |= new
                ahead.extend(new)
            self._known[placements] = frozenset(reached)
        return self._known[placements]

    def of_parts(self, parts: Iterable[str]) -> frozenset[str]:
        """Give these parts and all for which one of them might be needed, wherever they are."""
        placements = (x for needs in self.needs for part in parts for x in needs.of_part.get(part, ()))
        return frozenset(x.part for x in self.of(frozenset(placements)))

    def parts(self, what: Differing, parts: Iterable[str]) -> frozenset[str]:
        """Give the parts about which an answer may change on a bike."""
        if what.ground:
            return frozenset(parts)
        return frozenset({x.part for x in self.of(what.placements)}.intersection(parts))


class Needs:
    """Who might need what, in one compiled catalog: at the places of its vocabulary, whatever a bike is like."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.catalog = tables.catalog
        self._selections: dict[Selector, frozenset[str]] = {}

    def asking_for(self, placed: Placement) -> Iterator[Placement]:
        """Give the placements that this one might be needed for."""
        part = self.catalog.parts.get(placed.part)
        if part is None or part.slot is None:
            return
        here = self.at.get(placed.place, ())
        if part.slot == "carrier":
            yield from here
        yield from self._hosted.get((placed.place, part.id), ())
        yield from self._by_rule(placed)
        yield from self._by_plug(placed)
        yield from (x for tag in part.tags for x in self._silent.get((placed.place, tag), ()))
        for bundle in self._bundles.get(part.id, ()):
            for member in bundle:
                yield from self.of_part.get(member, ())
        if placed in self._stock:
            yield from self._unsettling(placed)

    @cached_property
    def of_part(self) -> dict[str, tuple[Placement, ...]]:
        """Give every part's placements."""
        return {
            part.id: tuple(
                Placement(part.id, place.id)
                for place in self.catalog.places.values()
                if part.slot in place.slots and (not part.at or place.id in part.at)
            )
            for part in self.catalog.parts.values()
        }

    @cached_property
    def at(self) -> dict[str, tuple[Placement, ...]]:
        """Give the placements at every place."""
        found: dict[str, list[Placement]] = {}
        for placed in self._all():
            found.setdefault(placed.place, []).append(placed)
        return {place: tuple(placements) for place, placements in found.items()}

    @cached_property
    def _hosted(self) -> dict[tuple[str, str], list[Placement]]:
        """Give what each part may be the host of, beside it."""
        found: dict[tuple[str, str], list[Placement]] = {}
        for placed in self._all():
            for host in self.catalog.parts[placed.part].host:
                found.setdefault((placed.place, host), []).append(placed)
        return found

    def _all(self) -> Iterator[Placement]:
        for placements in self.of_part.values():
            yield from placements

    # --- rules ----------------------------------------------------------------------------------------------

    @cached_property
    def _links(self) -> dict[str, list[tuple[Selector, Selector, bool]]]:
        """Give for each part what may need it by a rule: the selector that selects it, the subject, whether side by side."""
        found: dict[str, list[tuple[Selector, Selector, bool]]] = {}
        for link in self._rule_links():
            for part in self.tables.selected(link[0]):
                found.setdefault(part, []).append(link)
        return found

    def _rule_links(self) -> Iterator[tuple[Selector, Selector, bool]]:
        for rule in self.catalog.rules.values():
            if isinstance(rule, PartRule):
                if isinstance(rule, Requires | FlashNeeded):
                    yield rule.needs, rule.subject, rule.same_place
                if isinstance(rule, Clearance) and rule.relieved_by_slot is not None:
                    yield Selector(slot=rule.relieved_by_slot), rule.subject, True
                yield from _fitted(rule.when, rule.subject)
                for exception in self.tables.exceptions.get(rule.id, ()):
                    yield from _fitted(exception.when, exception.subject)

    def _by_rule(self, placed: Placement) -> Iterator[Placement]:
        for wanted, subject, beside in self._links.get(placed.part, ()):
            if wanted.at and placed.place not in wanted.at:
                continue
            for part in self.tables.selected(subject):
                for x in self.of_part[part]:
                    if (not beside or x.place == placed.place) and (not subject.at or x.place in subject.at):
                        yield x

    # --- what left the works ----------------------------------------------------------------------------------

    @cached_property
    def _stock(self) -> frozenset[Placement]:
        return frozenset(x for bike in self.catalog.bikes.values() for x in stock_placements(bike.has.stock))

    @cached_property
    def unsettling(self) -> frozenset[str]:
        """The parts beside which some stock part may lack something that it did not."""
        return frozenset(x.part for stock in self._stock for x in self._unsettling(stock))

    def _unsettling(self, stock: Placement) -> Iterator[Placement]:
        """Give what may make a stock part lack something that it did not: what its rules look for, or what takes the place of that.

        Nobody asks for a stock part, so whatever it needs then is needed for these.
        """
        for wanted, beside, is_needed in self._looks_of(stock):
            for part in self.tables.selected(wanted):
                for x in self.of_part[part]:
                    if (beside and x.place != stock.place) or (wanted.at and x.place not in wanted.at):
                        continue
                    if not is_needed:
                        yield x
                    if x in self._stock:
                        yield from self._in_slot[x.place, self.catalog.parts[part].slot or ""]

    def _looks_of(self, stock: Placement) -> Iterator[tuple[Selector, bool, bool]]:
        """Give what rules about a part look for beside it: the selector, whether side by side, and whether it is needed."""
        for rule in self.tables.part_rules[stock.part]:
            if isinstance(rule, Requires | FlashNeeded):
                yield rule.needs, rule.same_place, True
            if isinstance(rule, Excludes) and rule.together_with is not None:
                yield rule.together_with, rule.same_place, False
            for when in (rule.when, *(x.when for x in self.tables.exceptions.get(rule.id, ()))):
                yield from ((x, beside, False) for x, _, beside in _fitted(when, rule.subject))

    @cached_property
    def _in_slot(self) -> dict[tuple[str, str], list[Placement]]:
        found: dict[tuple[str, str], list[Placement]] = {}
        for placed in self._all():
            found.setdefault((placed.place, self.catalog.parts[placed.part].slot or ""), []).append(placed)
        return found

    # --- plugs ----------------------------------------------------------------------------------------------

    @cached_property
    def _asking(self) -> dict[tuple[str, int], list[Placement]]:
        """Give who has a plug that may ask for a mate, by the place and the face of that plug."""
        found: dict[tuple[str, int], list[Placement]] = {}
        for placed in self._all():
            wires, part = self.tables.wires[placed.part], self.catalog.parts[placed.part]
            for name in _asking_plugs(wires, is_kit=part.cable is not None):
                key = (wires.connectors[name].place or placed.place, wires.numbers[name])
                found.setdefault(key, []).append(placed)
        return found

    @cached_property
    def _looms_ask(self) -> frozenset[tuple[str, int]]:
        found: set[tuple[str, int]] = set()
        for bike in _different(self.catalog.bikes.values()):
            wires = wires_of_loom(bike.has.loom, self.catalog.contact_maps, self.tables.mates)
            for name in _asking_plugs(wires, is_kit=False):
                found.add((wires.connectors[name].place or "", wires.numbers[name]))
        return frozenset(found)

    @cached_property
    def _wired(self) -> tuple[Placement, ...]:
        return tuple(x for x in self._all() if self.tables.wires[x.part].connectors)

    def _by_plug(self, placed: Placement) -> Iterator[Placement]:
        wires = self.tables.wires[placed.part]
        asked: set[tuple[str, int]] = set()
        for name, connector in wires.connectors.items():
            place = connector.place or placed.place
            asked |= {(place, number) for number in self.tables.mates.mates(wires.numbers[name])}
        for key in asked:
            yield from self._asking.get(key, ())
        if not asked.isdisjoint(self._looms_ask):
            yield from self._wired

    @cached_property
    def _silent(self) -> dict[tuple[str, str], list[Placement]]:
        found: dict[tuple[str, str], list[Placement]] = {}
        for placed in self._all():
            for channel in self.catalog.parts[placed.part].channels:
                if channel.needs is not None:
                    # Whoever hangs on that channel asks too; the one that has it stands for them.
                    found.setdefault((placed.place, channel.needs), []).append(placed)
        return found

    @cached_property
    def _bundles(self) -> dict[str, list[tuple[str, ...]]]:
        found: dict[str, list[tuple[str, ...]]] = {}
        for part in self.catalog.parts.values():
            for member in part.members:
                found.setdefault(member, []).append(part.members)
        return found


def _fitted(when: Condition | None, subject: Selector) -> Iterator[tuple[Selector, Selector, bool]]:
    for leaf in leaves(when) if when else ():
        if isinstance(leaf, Fitted):
            yield leaf.fitted, subject, leaf.same_place


def _asking_plugs(wires: Wires, *, is_kit: bool) -> set[str]:
    """Give the plugs that must be mated, or that a feed comes in by; of a power kit all, since amplifiers share its fuse."""
    needed = {name for name, x in wires.connectors.items() if x.needed or is_kit}
    feeding = {end.connector for end in wires.feeds.values()}
    return (needed | feeding | ({TERMINALS} if wires.sinks else set())) & wires.connectors.keys()


def _different(bikes: Iterable[Bike]) -> Iterator[Bike]:
    seen: set[int] = set()
    for bike in bikes:
        if id(bike.has.loom) not in seen:
            seen.add(id(bike.has.loom))
            yield bike
