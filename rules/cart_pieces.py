"""What is kept of a bike as it left the works, so that carts are judged from pieces that are worked out once.

What is found on a part depends on those parts alone that its rules look at; what is found on plugs, on the parts that have
some; what may clear a finding, on the period of the day. Each is worked out once, by the engine's own checks, and a cart is
put together from what is kept. What only a search can tell is left to the engine: then there is no answer here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import combinations
from math import comb
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from rules.answer import Change, Feed, Judgement
from rules.build import STOCK, Build, Placement, Slot
from rules.catalog.condition import Condition, Fitted, Selector
from rules.catalog.part import RUN_KINDS
from rules.catalog.rule import Clearance, Excludes, Operation
from rules.changes import changes_between, feeds_of
from rules.columns import Column, Columns
from rules.conditions import leaves
from rules.fitment import Inquiry, is_need, judge
from rules.kept import Kept, NotKept, Store
from rules.kinds import mass_limit, supply_limit
from rules.laws import HOPEFUL, Laws
from rules.loads import Limit, Loads
from rules.mating import Face, faces_mate
from rules.money import Line
from rules.passages import Clearing, Found, Piece
from rules.plan.schedule import Schedule
from rules.plan.settle import settle
from rules.present import may_be_missing
from rules.pricing import Doings, Pricer
from rules.question import Fitter
from rules.ranks import CartLine
from rules.scene import Scene, number
from rules.sights import Sights
from rules.tables import PartRule
from rules.things import advise_placement, check_placement, check_slots
from rules.troubles import check_presets
from rules.verdict import Finding, Status, Verdict
from rules.wiring import Option

if TYPE_CHECKING:
    from rules.desk import Desk

THINNED = 64
"""Ways to thin out a crowd of plugs that are looked at; beyond, its wirings are judged as they are."""

NONE: Build = frozenset()


@dataclass(slots=True, kw_only=True, eq=False)
class About:
    """What a cart needs to know of one part at one place.

    `order` is its rank in all lists: by part, then by place; `by_place` that in what is placed.
    `sums` is its share in whatever adds up, column by column: how many are in its slot, `room`, or want its kind of plug, `seat`;
    what they weigh; whether any is there already, may be on hold or is an amplifier; and its own bits, as others look at it and as
    it has plugs.
    `alone` is what is found on it beside nothing that its rules look at: `checked`. `advised` is what its advice looks at.
    `may_be_held`: a hold names it, on some day. `is_there`: the bike has it already.
    `is_inert`: nothing that is found on others depends on it but the sum of masses, nor on anything that could go into its slot.
    `plug` is its bit among the parts with plugs, none where it has no plug, `twin` that of the first part that no wiring can tell
    from it. `seat` is set for a part with one plug that only so many parts could ever mate.
    `told` is how it was told, left here by whoever tells it.
    """

    sums: int
    order: int
    by_place: int
    room: Column
    alone: Found
    checked: int
    told: bytes = b""
    placed: Placement
    advised: int
    may_be_held: bool
    is_there: bool
    is_powered: bool
    is_core: bool
    is_inert: bool
    plug: int
    twin: int
    seat: Column | None


BY_ORDER, BY_PLACE = attrgetter("order"), attrgetter("by_place")
"""Orders of parts: by id, then by place; and the other way round."""


def sums_of(abouts: Iterable[About]) -> int:
    """Add up what adds up over parts, each another."""
    return sum([x.sums for x in abouts])


class Plugs(NamedTuple):
    """What was found on the parts with plugs: sound wirings, or why there is none."""

    options: tuple[Option, ...]
    found: Found


class Powered(NamedTuple):
    """What was found on amplifiers, wiring aside: what they draw, presets that nobody offers, and what to mind."""

    draws: Found
    presets: Found
    cautions: tuple[Finding, ...]


class Way(NamedTuple):
    """One way to wire a build that takes no preset: what is re-plugged for it, what changes, and what feeds what."""

    replugs: Build
    rewires: bool
    changes: tuple[Change, ...]
    feeds: tuple[Feed, ...]


class Completion(NamedTuple):
    """What a search said of parts; of a yes also what it does for the presets and the plugs, where that is certain."""

    judgement: Judgement
    presets: Build
    replugs: Build | None


class Pieces:
    """What is known of one bike, piece by piece."""

    def __init__(self, desk: Desk, store: Store | None = None) -> None:
        self.desk = desk
        self.bench = desk.bench
        store = store or Store()
        self.about: Kept[Placement, About] = Kept(self._about, store)
        self.nothing = Found((), self.bench.tables.ranks)
        self.staying: Kept[Build, tuple[About, ...]] = Kept(self._staying, store)
        self.on_part: Kept[tuple[About, int], Found] = Kept(self._on_part, store)
        self.advice: Kept[tuple[About, int], tuple[Finding, ...]] = Kept(self._advice, store)
        self.weighed: Kept[Build, Found] = Kept(self._weighed, store)
        self.powered: Kept[Build, Powered] = Kept(self._powered, store)
        self.plugs: Kept[Build, Plugs] = Kept(self._plugs, store)
        self.is_sound: Kept[int, bool] = Kept(self._is_sound, store)
        self.ways: Kept[Build, tuple[Way, ...]] = Kept(self._ways, store)
        self.crowds: Kept[tuple[About, ...], Found] = Kept(self._crowds, store)
        self.completions: Kept[tuple[Build, Fitter, int], Completion] = Kept(self._completion, store)
        self.live_places: Kept[tuple[str, str | None], tuple[Placement, ...]] = Kept(self._live_places, store)
        # Of parts that can go to one place only, by what a line asks for.
        self.sure: dict[CartLine, About] = {}
        self.columns = Columns()
        self._sights, self._plugged = Sights(self.columns), Sights(self.columns)
        # None may be there, on hold or an amplifier: where one is, somebody looks which.
        self.there, self.held, self.amplifiers = (self.columns.sum(0) for _ in range(3))
        self.loads = Loads(self._limits(), self.columns)
        # What the bits of full slots, and of kinds of plug that too many want, are among.
        self.rooms_over = self.seats_over = 0
        self._periods: Kept[date, int] = Kept(self.bench.tables.periods.number, store)
        self._day: dict[int, date] = {}
        self.is_held: Kept[tuple[str, int], bool] = Kept(self._is_held, store)
        self._twins: dict[tuple[str, str], Placement] = {}
        self._rooms: dict[Slot, Column] = {}
        self._seats: dict[tuple[str, Face], Column] = {}
        self.displaced: Kept[int, Build] = Kept(self._displaced, store)
        # What is in slots now, added up.
        self._now = sum(self.room(slot).unit * len(there) for slot, there in self.present.items())
        self._now_over = sum(self.room(slot).over for slot in self.present)
        if self.is_plain:
            # From the start, so that what looks at a part gives it a bit before that part is added up.
            self.about.all(sorted(self.bench.present), learns=True)

    @cached_property
    def is_plain(self) -> bool:
        """Tell whether the bike left the works with room for what it has, wired in one way that everybody knows.

        Then it is asked about once.
        """
        ways = self.desk.examiner.present_wirings
        unsure = any(may_be_missing(self.bench, x) for x in ways)
        is_known = self.bench.found == STOCK and self.bench.present <= self.bench.universe
        return is_known and len(ways) <= 1 and not unsure and not self.crowded_by(0)

    @cached_property
    def present(self) -> dict[Slot, list[Placement]]:
        """What is there now, by slot."""
        found: dict[Slot, list[Placement]] = {}
        for placed in sorted(self.bench.present):
            found.setdefault(self.bench.slot(placed), []).append(placed)
        return found

    def crowded_by(self, coming: int) -> int:
        """Give the highest bits of slots in which there is no room for what is there beside what comes in."""
        return (self._now + coming + self.columns.slack) & self._now_over

    def room(self, slot: Slot) -> Column:
        """Give the column of the parts in a slot. One thread at a time may take a new one."""
        room = self._rooms.get(slot)
        if room is None:
            room = self._rooms[slot] = self.columns.sum(self.bench.capacity(*slot))
            self.rooms_over += room.over
        return room

    @cached_property
    def has_hosts(self) -> bool:
        """Tell whether something there now goes when its host goes."""
        return any(self.bench.part(x).host for x in self.bench.present)

    @cached_property
    def advised_now(self) -> frozenset[tuple[str, Build]]:
        """The advice that the bike deserves as it is."""
        now = self.bench.present
        abouts = self.about.all(sorted(now), learns=True)
        sums = sums_of(abouts)
        found = [y for x in abouts for y in self.advice.of((x, x.advised & sums), learns=True)]
        found += self.powered.of(frozenset(x for x in now if self._is_powered(x)), learns=True).cautions
        return frozenset((x.rule, x.present) for x in found)

    def period(self, on: date) -> int:
        """Number the period of a day; what holds on one of its days holds on all of them."""
        period = self._periods.of(on, learns=True)
        self._day.setdefault(period, on)
        return period

    def clearing(self, piece: Piece, period: int, *, learns: bool) -> Clearing:
        """Give what may clear a finding in a period.

        Raises: `NotKept`.
        """
        found = piece.clearing.get(period)
        if found is None:
            if not learns:
                raise NotKept
            found = piece.clearing[period] = self._clearing(piece.finding, self._day[period])
        return found

    def piece(self, finding: Finding) -> Piece:
        """Keep a finding."""
        return Piece(finding, self.bench.tables.ranks, is_need=is_need(self.bench, finding))

    def _found(self, findings: Iterable[Finding]) -> Found:
        pieces = tuple(map(self.piece, findings))
        return Found(pieces, self.bench.tables.ranks) if pieces else self.nothing

    # --- parts by themselves ------------------------------------------------------------------------------------

    def _about(self, placed: Placement) -> About:
        bench, part = self.bench, self.bench.part(placed)
        slot = bench.slot(placed)
        mass, checked, advised = (
            bench.cause("part.mass_kg", placed),
            self._checked(placed),
            self._advised(placed),
        )
        room, seat = self.room(slot), self._seat(placed)
        self._look_at(checked | advised)
        load = self.loads.of(placed.place, None if mass.is_missing else (number(mass.value) or 0.0))
        may_be_held = any(part.id in bench.tables.selected(x.subject) for x in bench.tables.holds)
        is_there, is_powered = placed in bench.present, self._is_powered(placed)
        plug = self._plug(placed) if bench.is_wired(placed) else 0
        columns = (
            (room, True),
            (seat, seat is not None),
            (self.there, is_there),
            (self.held, may_be_held),
            (self.amplifiers, is_powered),
        )
        return About(
            order=bench.tables.ranks.by_part(placed),
            by_place=bench.tables.ranks.by_place(placed),
            placed=placed,
            sums=sum(column.unit for column, counts in columns if column and counts)
            + load
            + plug
            + self._sights.bit(placed),
            room=room,
            alone=self._found_on(placed, 0),
            checked=self._sights.of(checked),
            advised=self._sights.of(advised),
            may_be_held=may_be_held,
            is_there=is_there,
            is_powered=is_powered,
            is_core=bench.is_wired(placed) or self._is_core(placed, slot),
            is_inert=not checked and self._is_inert(placed, slot),
            plug=plug,
            twin=self._plug(self._first_twin(placed)) if seat is not None else 0,
            seat=seat,
        )

    def _look_at(self, seen: Build) -> None:
        # Before anybody can see whoever looks: then all that a cart is put together from has its bit.
        for placed in self._sights.new(seen):
            about = self.about.known(placed)
            if about is not None:
                about.sums += self._sights.bit(placed)

    def _is_powered(self, placed: Placement) -> bool:
        return self.bench.part(placed).kind == "amplifier"

    def _is_core(self, placed: Placement, slot: Slot) -> bool:
        """Tell whether a way to wire a build, or a preset, may depend on a part though it has no plug."""
        part = self.bench.part(placed)
        beside_amplifier = any(self._is_powered(x) for x in self.present.get(slot, ()))
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
            or self.present.get(slot)
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
        return frozenset(self.present.get((place, slot), ()))

    def _on_part(self, key: tuple[About, int]) -> Found:
        about, seen = key
        return self._found_on(about.placed, seen)

    def _found_on(self, placed: Placement, seen: int) -> Found:
        return self._found(check_placement(self._scene(placed, seen), placed))

    def _advice(self, key: tuple[About, int]) -> tuple[Finding, ...]:
        about, seen = key
        return tuple(advise_placement(self._scene(about.placed, seen), about.placed))

    def _scene(self, placed: Placement, seen: int) -> Scene:
        return Scene(self.bench, self._sights.build(seen) | {placed})

    def _live_places(self, asked: tuple[str, str | None]) -> tuple[Placement, ...]:
        return tuple(live_places(self.desk, *asked))

    def _is_held(self, asked: tuple[str, int]) -> bool:
        part, period = asked
        return self.bench.tables.hold(part, self._day[period]) is not None

    def _displaced(self, crowded: int) -> Build:
        rooms = [there for slot, there in self.present.items() if self.room(slot).over & crowded]
        return frozenset([placed for there in rooms for placed in there])

    def _staying(self, displaced: Build) -> tuple[About, ...]:
        return tuple(self.about.all(sorted(self.bench.present - displaced), learns=True))

    # --- what several parts come to -----------------------------------------------------------------------------

    def _limits(self) -> list[Limit] | None:
        limits: list[Limit] = []
        for rule in self.bench.tables.mass_limits:
            for places, cause in mass_limit.limits(rule, self.bench, self.bench.has.places):
                most = number(cause.value)
                if most is None:
                    return None
                limits.append((places, most))
        return limits

    def _weighed(self, build: Build) -> Found:
        scene = Scene(self.bench, build)
        return self._found(
            finding for rule in self.bench.tables.mass_limits for finding in mass_limit.check(rule, scene)
        )

    def _powered(self, amplifiers: Build) -> Powered:
        scene = Scene(self.bench, amplifiers)
        found = [
            finding
            for rule in self.bench.tables.supply_limits
            for finding in supply_limit.check_charging(rule, scene)
        ]
        return Powered(
            draws=self._found(x for x in found if x.status is not Status.CAUTION),
            presets=self._found(check_presets(self.bench, amplifiers)),
            cautions=tuple(x for x in found if x.status is Status.CAUTION),
        )

    def _clearing(self, finding: Finding, on: date) -> Clearing:
        free: dict[Column, None] = {}
        unless: list[tuple[Column, tuple[Build, ...]]] = []
        for repair in sorted(finding.repairs):
            if self.desk.pricer.price(repair.part, on) is None:
                continue
            beside = {
                x.present - {repair}
                for x in self.desk.audition(repair)
                if x.status is Status.REFUSED and not x.repairs
            }
            room = self.room(self.bench.slot(repair))
            if not beside:
                free[room] = None
            elif NONE not in beside:
                unless.append((room, tuple(sorted(beside, key=sorted))))
        return Clearing(tuple(free), tuple(unless))

    # --- plugs --------------------------------------------------------------------------------------------------

    def _plugs(self, wired: Build) -> Plugs:
        found = self.desk.examiner.electrics(wired)
        return Plugs(found.options, self._found(found.findings))

    def _is_sound(self, plugs: int) -> bool:
        return bool(self.desk.examiner.electrics(self._plugged.build(plugs)).options)

    def thinned(self, ordered: Sequence[About], sums: int) -> list[int]:
        """Give a crowd of plugs thinned out, in every way, to what could be mated at all; nothing where it is no crowd.

        A part with one plug, of which the bike takes only so many whatever else is fitted, can only be one too many. Then no
        wiring has all of them, and a reason why not either names such a crowd, or is one that some thinner build has as well.
        So where each thinner build has a sound wiring, all reasons are that plugs have no mate and speakers no feed.
        """
        if not (sums + self.columns.slack) & self.seats_over:
            return []
        rest, seats = 0, dict[Column, list[About]]()
        for about in ordered:
            if about.seat is None:
                rest |= about.plug
            else:
                seats.setdefault(about.seat, []).append(about)
        builds = [rest]
        for seat, speakers in seats.items():
            if comb(len(speakers), seat.most) > THINNED:
                return []
            kept = dict.fromkeys(map(_alike, combinations(speakers, min(seat.most, len(speakers)))))
            builds = [build | plugs for build in builds for plugs in kept]
            if len(builds) > THINNED:
                return []
        return builds

    def _plug(self, placed: Placement) -> int:
        self._plugged.new((placed,))
        return self._plugged.bit(placed)

    def _first_twin(self, speaker: Placement) -> Placement:
        return self._twins.setdefault((self.bench.tables.twins[speaker.part], speaker.place), speaker)

    def _seat(self, placed: Placement) -> Column | None:
        bench, part = self.bench, self.bench.part(placed)
        wires = bench.tables.wires[placed.part]
        has_tags = not bench.tables.needs_tags.isdisjoint(part.tags)
        if part.kind != "speaker" or len(wires.connectors) != 1 or part.channels or has_tags:
            return None
        (name, connector), *_ = wires.connectors.items()
        place, face = connector.place or placed.place, wires.faces[name]
        if not wires.sinks or bench.mateable(place, face):
            return None
        seat = self._seats.get((place, face))
        if seat is None:
            takes = (
                other.accepts
                for node, other in bench.loom.connectors.items()
                if other.place == place and faces_mate(face, bench.loom.faces[node])
            )
            seat = self._seats[place, face] = self.columns.sum(sum(takes))
            self.seats_over += seat.over
        return seat

    def _ways(self, core: Build) -> tuple[Way, ...]:
        """Give the ways to wire a build that take no preset.

        They depend on what has plugs, or a part in chains, and on no day: the rest of a build may be left out. Something of the
        rest is put in, so that a build is never taken for the bike as it is.
        """
        bench, present, after = self.bench, self.bench.present, core | self._plain_part
        problem = Inquiry(self.desk, date.min, "shop", after).problem()
        bare = Schedule(builds=(present, after), presets=(NONE, NONE), replugs=(NONE, NONE))
        return tuple(
            Way(
                replugs=way.replugs[1],
                rewires=way.rewired,
                changes=tuple(changes_between(bench, present, way.options[0], after, option)),
                feeds=feeds_of(bench, option),
            )
            for way in settle(self.desk, problem, bare).ways
            if not any(way.presets) and (option := way.options[1]) is not None
        )

    @cached_property
    def _plain_part(self) -> Build:
        plain = (
            x
            for x in sorted(self.bench.universe - self.bench.present)
            if not self.about.of(x, learns=True).is_core
        )
        return frozenset({x for x in [next(plain, None)] if x is not None})

    def _crowds(self, crowd: tuple[About, ...]) -> Found:
        return self._found(check_slots(Scene(self.bench, frozenset([x.placed for x in crowd]))))

    def _completion(self, key: tuple[Build, Fitter, int]) -> Completion:
        asked, fitter, period = key
        on = self._day[period]
        inquiry = Inquiry(self.desk, on, fitter, asked)
        said = judge(inquiry)
        pricer, presets = self.desk.pricer, frozenset(x.amplifier for x in said.presets)
        if said.verdict not in (Verdict.FITS, Verdict.FITS_WITH) or said.total is None:
            return Completion(said, presets, None)
        replugs = frozenset(_replugged(pricer, said.lines))
        doings = Doings(
            on=on,
            fitter=fitter,
            adds=inquiry.new.union(said.extras),
            removes=frozenset(said.displaced),
            presets=presets,
            replugs=replugs,
        )
        return Completion(said, presets, replugs if pricer.lines(doings) == said.lines else None)


def _alike(speakers: Sequence[About]) -> int:
    """Give the plugs of speakers that no wiring can tell from these: whether a wiring is sound, is the same for both."""
    plugs = twins = 0
    for x in speakers:
        plugs |= x.plug
        twins |= x.twin
    return twins if twins.bit_count() == len(speakers) else plugs


def _replugged(pricer: Pricer, lines: Iterable[Line]) -> Iterator[Placement]:
    """Give the parts for which the lines charge a plug that moves."""
    for line in lines:
        rule = pricer.catalog.rules.get(line.about) if line.kind == "labour" else None
        if isinstance(rule, Operation) and rule.action == "replug" and line.of:
            part, _, place = line.of.partition("@")
            yield Placement(part, place)


def live_places(desk: Desk, part: str, place: str | None) -> list[Placement]:
    """Give where a part may go, leaving out places that refuse it whatever else is fitted, if any others remain."""
    bench = desk.bench
    found = [
        Placement(part, at)
        for at in sorted(bench.has.places)
        if place in (None, at) and bench.can_place(bench.tables.catalog.parts[part], at)
    ]
    if len(found) <= 1:
        return found
    return [x for x in found if not _is_refused_alone(desk, x)] or found


def _is_refused_alone(desk: Desk, placed: Placement) -> bool:
    """Tell whether a part refuses itself; what other questions have taught must not choose the place."""
    own = Laws(HOPEFUL, desk.bench.like)
    own.learn(desk.audition(placed))
    return any(law.forbids(placed) for law in own.involving(placed))
