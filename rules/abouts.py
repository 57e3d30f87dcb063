"""What a cart needs to know of single parts at their places on one bike: worked out once, by the engine's own checks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from operator import attrgetter

from rules.bench import Bench
from rules.build import Build, Placement, Slot
from rules.catalog.condition import Condition, Fitted, Selector
from rules.catalog.part import RUN_KINDS
from rules.catalog.rule import Clearance, Excludes
from rules.columns import Column
from rules.conditions import leaves
from rules.kept import Kept, Store
from rules.passages import NOTHING, Found, found_by
from rules.scene import Scene, number
from rules.tables import PartRule
from rules.things import advise_placement, check_placement
from rules.totals import Totals
from rules.verdict import Finding


@dataclass(slots=True, kw_only=True, eq=False)
class Glance:
    """What every cart looks at of one part at one place, side by side: it is one of many thousands, and seldom near at hand.

    `order` is its rank in all lists: by part, then by place.
    `sums` is its share in whatever adds up, column by column: how many are in its slot, `room`, or want its kind of plug; what
    they weigh; whether any is there already, may be on hold, is an amplifier or odd; and its own bits, as others look at it and as
    it has plugs.
    `checked` are the bits of those that its rules look at. `is_odd`: something may clear what is found on it beside none of them,
    or that is not about this part alone. `may_be_apart`: it is odd, or its rules look at anything.
    `limited` and `plain` are how an answer begins to tell of a line that asks for it at this place, with the limits found on it
    alone and with nothing found; left here by whoever tells.
    """

    sums: int
    order: int
    room: Column
    checked: int
    is_odd: bool
    may_be_apart: bool
    limited: bytes = b""
    plain: bytes = b""


@dataclass(slots=True, kw_only=True, eq=False)
class About(Glance):
    """What a cart needs to know of one part at one place.

    `alone` is what is found on it beside nothing that its rules look at. `advised` is what its advice looks at.
    `may_be_held`: a hold names it, on some day. `is_there`: the bike has it already.
    `is_inert`: nothing that is found on others depends on it but the sum of masses, nor on anything that could go into its slot.
    `plug` is its bit among the parts with plugs, none where it has no plug, `twin` that of the first part that no wiring can tell
    from it. `seat` is the kind of plug of a part with one that only so many parts could ever mate.
    """

    placed: Placement
    alone: Found
    advised: int
    may_be_held: bool
    is_there: bool
    is_powered: bool
    is_core: bool
    is_inert: bool
    plug: int
    twin: int
    seat: Column | None


BY_ORDER = attrgetter("order")
"""The order of parts in all lists: by id, then by place."""


def sums_of(abouts: Iterable[About]) -> int:
    """Add up what adds up over parts, each another."""
    return sum([x.sums for x in abouts])


class Abouts:
    """What is known of single parts on one bike.

    Attributes:
        parts: What is known of one at its place.
        on_part: What is found on one beside those of which these are the bits.
        advice: What is to be minded, beside the same.
    """

    __slots__ = ("_twins", "advice", "bench", "on_part", "parts", "totals")

    def __init__(self, bench: Bench, totals: Totals, store: Store) -> None:
        self.bench = bench
        self.totals = totals
        self.parts: Kept[Placement, About] = Kept(self._about, store)
        self.on_part: Kept[tuple[About, int], Found] = Kept(self._on_part, store)
        self.advice: Kept[tuple[About, int], tuple[Finding, ...]] = Kept(self._advice, store)
        self._twins: dict[tuple[str, str], Placement] = {}

    def _about(self, placed: Placement) -> About:
        bench, part = self.bench, self.bench.part(placed)
        slot = bench.slot(placed)
        checked, advised = self._checked(placed), self._advised(placed)
        room, seat = self.totals.room(slot), self.totals.seat(placed)
        self._look_at(checked | advised)
        may_be_held = any(part.id in bench.tables.selected(x.subject) for x in bench.tables.holds)
        is_there, is_powered = placed in bench.present, self._is_powered(placed)
        plug = self._plug(placed) if bench.is_wired(placed) else 0
        order, alone = bench.tables.ranks.by_part(placed), self._found_on(placed, 0)
        is_odd = not alone.is_about(order) or (is_there and alone is not NOTHING)
        columns = (
            (room, True),
            (seat, True),
            (self.totals.there, is_there),
            (self.totals.held, may_be_held),
            (self.totals.amplifiers, is_powered),
            (self.totals.odd, is_odd),
            (self.totals.limited, alone.limits and not is_odd),
            (self.totals.needy, alone.needs and not is_odd),
        )
        counted = sum(column.unit for column, counts in columns if column is not None and counts)
        return About(
            order=order,
            placed=placed,
            sums=counted + self._load(placed) + plug + self.totals.sights.bit(placed),
            room=room,
            alone=alone,
            is_odd=is_odd,
            may_be_apart=is_odd or bool(checked),
            checked=self.totals.sights.of(checked),
            advised=self.totals.sights.of(advised),
            may_be_held=may_be_held,
            is_there=is_there,
            is_powered=is_powered,
            is_core=bench.is_wired(placed) or self._is_core(placed, slot),
            is_inert=not checked and self._is_inert(placed, slot),
            plug=plug,
            twin=self._plug(self._first_twin(placed)) if seat is not None else 0,
            seat=seat,
        )

    def _load(self, placed: Placement) -> int:
        mass = self.bench.cause("part.mass_kg", placed)
        return self.totals.loads.of(placed.place, None if mass.is_missing else (number(mass.value) or 0.0))

    def _look_at(self, seen: Build) -> None:
        # Before anybody can see whoever looks: then all that a cart is put together from has its bit.
        for placed in self.totals.sights.new(seen):
            about = self.parts.known(placed)
            if about is not None:
                about.sums += self.totals.sights.bit(placed)

    def _is_powered(self, placed: Placement) -> bool:
        return self.bench.part(placed).kind == "amplifier"

    def _is_core(self, placed: Placement, slot: Slot) -> bool:
        """Tell whether a way to wire a build, or a preset, may depend on a part though it has no plug."""
        part = self.bench.part(placed)
        beside_amplifier = any(self._is_powered(x) for x in self.totals.present.get(slot, ()))
        return bool(
            part.host
            or part.rewires
            or part.kind in ("head_unit", "amplifier", *RUN_KINDS)
            or beside_amplifier
        )

    def _is_inert(self, placed: Placement, slot: Slot) -> bool:
        """Tell whether extras are the same with a part and without it, as long as masses are no matter."""
        bench, tables = self.bench, self.bench.tables
        others = bench.in_slot(*slot)
        in_bundle = any(placed.part in tables.catalog.parts[x].members for x in tables.bundles)
        return not (
            in_bundle
            or self.totals.present.get(slot)
            or any(x.part in tables.looked_for or bench.is_wired(x) or self._is_core(x, slot) for x in others)
            or self._found_on(placed, 0).pieces
        )

    def _checked(self, placed: Placement) -> Build:
        bench, part, place = self.bench, self.bench.part(placed), placed.place
        seen: set[Placement] = set()
        if part.slot != "carrier" and bench.carrier_cause(place).value is not False:
            seen |= bench.in_slot(place, "carrier") | self._now_in(place, "carrier")
        if part.host:
            seen |= {x for x in bench.universe | bench.present if x.place == place and x.part in part.host}
        for rule in bench.tables.part_rules[placed.part]:
            if bench.selects(rule.subject, placed):
                seen.update(self._seen_by(rule, placed))
        return frozenset(seen - {placed})

    def _seen_by(self, rule: PartRule, placed: Placement) -> Iterator[Placement]:
        yield from self._guarded(rule.when, placed)
        if isinstance(rule, Clearance):
            if rule.relieved_by_slot:
                yield from self.bench.in_slot(placed.place, rule.relieved_by_slot)
                yield from self._now_in(placed.place, rule.relieved_by_slot)
        elif isinstance(rule, Excludes):
            if rule.together_with is not None:
                yield from self._selected(rule.together_with, placed.place if rule.same_place else None)
        else:
            yield from self._selected(rule.needs, placed.place if rule.same_place else None)
        for exception in self.bench.tables.exceptions_for(rule.id, placed):
            yield from self._guarded(exception.when, placed)

    def _advised(self, placed: Placement) -> Build:
        bench = self.bench
        seen = {
            x
            for rule in bench.tables.advice[placed.part]
            if bench.selects(rule.subject, placed)
            for x in self._guarded(rule.when, placed)
        }
        return frozenset(seen - {placed})

    def _guarded(self, when: Condition | None, placed: Placement) -> Iterator[Placement]:
        for leaf in leaves(when) if when is not None else ():
            if isinstance(leaf, Fitted):
                yield from self._selected(leaf.fitted, placed.place if leaf.same_place else None)

    def _selected(self, selector: Selector, place: str | None) -> Iterator[Placement]:
        yield from self.bench.candidates(selector, place)
        for x in self.bench.present:
            if place in (None, x.place) and self.bench.selects(selector, x):
                yield x

    def _now_in(self, place: str, slot: str) -> frozenset[Placement]:
        return frozenset(self.totals.present.get((place, slot), ()))

    def _on_part(self, key: tuple[About, int]) -> Found:
        about, seen = key
        return self._found_on(about.placed, seen)

    def _found_on(self, placed: Placement, seen: int) -> Found:
        return found_by(self.bench, check_placement(self._scene(placed, seen), placed))

    def _advice(self, key: tuple[About, int]) -> tuple[Finding, ...]:
        about, seen = key
        return tuple(advise_placement(self._scene(about.placed, seen), about.placed))

    def _scene(self, placed: Placement, seen: int) -> Scene:
        return Scene(self.bench, self.totals.sights.build(seen) | {placed})

    def _plug(self, placed: Placement) -> int:
        self.totals.plugged.new((placed,))
        return self.totals.plugged.bit(placed)

    def _first_twin(self, speaker: Placement) -> Placement:
        return self._twins.setdefault((self.bench.tables.twins[speaker.part], speaker.place), speaker)
