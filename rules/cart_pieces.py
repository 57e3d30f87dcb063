"""Carts on a bike as it left the works, judged from pieces that are worked out once.

What is found on a part depends on those parts alone that its rules look at; what is found on plugs, on the parts that have
some; what may clear a finding, on the period of the day. Each is worked out once, by the engine's own checks, and a cart is
put together from what is kept. What only a search can tell is left to the engine: then there is no answer here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Hashable, Iterable, Iterator
from dataclasses import replace
from datetime import date
from functools import cached_property
from itertools import combinations, product
from math import comb, prod
from typing import TYPE_CHECKING, Generic, NamedTuple, TypeVar

from rules.answer import Change, Feed, Judgement
from rules.build import STOCK, Build, Placement
from rules.catalog.condition import Condition, Fitted, Selector
from rules.catalog.part import RUN_KINDS
from rules.catalog.rule import Clearance, Excludes, FlashNeeded, Requires
from rules.changes import changes_between, feeds_of
from rules.conditions import leaves
from rules.desk import displaced_by
from rules.fitment import NEEDS, REFUSED, Inquiry
from rules.kinds import advice, mass_limit, supply_limit
from rules.laws import HOPEFUL, Laws
from rules.mating import Face, faces_mate
from rules.money import total
from rules.plan.schedule import Schedule
from rules.plan.settle import settle
from rules.present import may_be_missing
from rules.pricing import Doings
from rules.scene import Scene, number
from rules.tables import PartRule
from rules.things import check_placement, check_slots
from rules.troubles import check_presets
from rules.verdict import Finding, Status, Verdict
from rules.wiring import Option

if TYPE_CHECKING:
    from rules.desk import Desk

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")

KEPT = 20_000
"""Pieces of one sort on one bike; beyond, they are worked out anew."""

THINNED = 64
"""Ways to thin out a crowd of plugs that are looked at; beyond, its wirings are judged as they are."""

SLACK_KG = 1e-6
"""Masses that come nearer to a limit than this are weighed by the rule itself, which rounds in its own way [kg]."""

Slot = tuple[str, str]
"""A place and a slot in it."""

NONE: Build = frozenset()


class NotKept(Exception):  # noqa: N818 - not an error: somebody has to work it out first
    """A piece has not been worked out yet."""


class Kept(Generic[K, V]):
    """Pieces of one sort, each worked out when it is first asked for."""

    def __init__(self, work_out: Callable[[K], V]) -> None:
        self._work_out = work_out
        self._found: dict[K, V] = {}

    def of(self, key: K, *, learns: bool) -> V:
        """Give a piece.

        Args:
            learns: Work it out if it is not known yet. One thread at a time may.

        Raises: `NotKept` where it is not known and may not be worked out.
        """
        try:
            return self._found[key]
        except KeyError:
            if not learns:
                raise NotKept from None
        if len(self._found) >= KEPT:
            self._found.clear()
        found = self._found[key] = self._work_out(key)
        return found


class Clearing(NamedTuple):
    """What may clear a finding: something for sale in a free slot; or in a slot that is free, unless one of the sets is there."""

    free: tuple[Slot, ...]
    unless: tuple[tuple[Slot, tuple[Build, ...]], ...]


class Piece:
    """A finding, and what decides whether anything may clear it."""

    __slots__ = ("clearing", "finding", "is_need", "is_refusal")

    def __init__(self, finding: Finding, *, is_need: bool) -> None:
        self.finding = finding
        self.is_need = is_need
        self.is_refusal = finding.status is Status.REFUSED
        self.clearing: dict[int, Clearing] = {}


class About(NamedTuple):
    """What a cart needs to know of one part at one place.

    `checked` and `advised` are what its rules and its advice look at besides itself. `seat` is set for a part with one plug
    that only so many parts could ever mate: which kind of plug, and how many.
    """

    slot: Slot
    capacity: int
    checked: Build
    advised: Build
    mass_kg: float | None
    is_wired: bool
    is_powered: bool
    is_core: bool
    seat: tuple[tuple[str, Face], int] | None


class Plugs(NamedTuple):
    """What was found on the parts with plugs: sound wirings, or why there is none."""

    options: tuple[Option, ...]
    pieces: tuple[Piece, ...]


class Powered(NamedTuple):
    """What was found on amplifiers, wiring aside: what they draw, presets that nobody offers, and what to mind."""

    draws: tuple[Piece, ...]
    presets: tuple[Piece, ...]
    cautions: tuple[Finding, ...]


class Way(NamedTuple):
    """One way to wire a build that takes no preset: what is re-plugged for it, what changes, and what feeds what."""

    replugs: Build
    rewires: bool
    changes: tuple[Change, ...]
    feeds: tuple[Feed, ...]


class Pieces:
    """What is known of one bike, piece by piece."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.bench = desk.bench
        self.about: Kept[Placement, About] = Kept(self._about)
        self.on_part: Kept[tuple[Placement, Build], tuple[Piece, ...]] = Kept(self._on_part)
        self.advice: Kept[tuple[Placement, Build], tuple[Finding, ...]] = Kept(self._advice)
        self.weighed: Kept[Build, tuple[Piece, ...]] = Kept(self._weighed)
        self.powered: Kept[Build, Powered] = Kept(self._powered)
        self.plugs: Kept[Build, Plugs] = Kept(self._plugs)
        self.is_sound: Kept[Build, bool] = Kept(self._is_sound)
        self.ways: Kept[Build, tuple[Way, ...]] = Kept(self._ways)
        self.crowds: Kept[Build, tuple[Piece, ...]] = Kept(self._crowds)
        self.live_places: Kept[tuple[str, str | None], tuple[Placement, ...]] = Kept(self._live_places)
        self.period: Kept[date, int] = Kept(self.bench.tables.periods.number)
        self.is_held: Kept[tuple[str, int, date], bool] = Kept(self._is_held)
        self._twins: dict[tuple[str, str], Placement] = {}

    @cached_property
    def is_plain(self) -> bool:
        """Tell whether the bike left the works wired in one way that everybody knows: then it is asked about once."""
        ways = self.desk.examiner.present_wirings
        unsure = any(may_be_missing(self.bench, x) for x in ways)
        is_known = self.bench.found == STOCK and self.bench.present <= self.bench.universe
        return is_known and len(ways) <= 1 and not unsure

    @cached_property
    def present(self) -> dict[Slot, list[Placement]]:
        """What is there now, by slot."""
        found: dict[Slot, list[Placement]] = {}
        for placed in sorted(self.bench.present):
            found.setdefault((placed.place, self.bench.part(placed).slot or ""), []).append(placed)
        return found

    @cached_property
    def has_hosts(self) -> bool:
        """Tell whether something there now goes when its host goes."""
        return any(self.bench.part(x).host for x in self.bench.present)

    @cached_property
    def advised_now(self) -> frozenset[tuple[str, Build]]:
        """The advice that the bike deserves as it is."""
        now = self.bench.present
        found = [y for x in now for y in self.advice.of(self._sight_of_advice(x, now), learns=True)]
        found += self.powered.of(frozenset(x for x in now if self._is_powered(x)), learns=True).cautions
        return frozenset((x.rule, x.present) for x in found)

    def clearing(self, piece: Piece, period: int, on: date, *, learns: bool) -> Clearing:
        """Give what may clear a finding in the period of a day.

        Raises: `NotKept`.
        """
        found = piece.clearing.get(period)
        if found is None:
            if not learns:
                raise NotKept
            found = piece.clearing[period] = self._clearing(piece.finding, on)
        return found

    def piece(self, finding: Finding) -> Piece:
        """Keep a finding."""
        rule = self.bench.tables.catalog.rules.get(finding.rule)
        return Piece(finding, is_need=finding.rule in NEEDS or isinstance(rule, Requires | FlashNeeded))

    def _pieces(self, findings: Iterable[Finding]) -> tuple[Piece, ...]:
        return tuple(map(self.piece, findings))

    # --- parts by themselves ------------------------------------------------------------------------------------

    def _about(self, placed: Placement) -> About:
        bench, part = self.bench, self.bench.part(placed)
        slot = (placed.place, part.slot or "")
        mass = bench.cause("part.mass_kg", placed)
        return About(
            slot=slot,
            capacity=bench.capacity(*slot),
            checked=self._checked(placed),
            advised=self._advised(placed),
            mass_kg=None if mass.is_missing else (number(mass.value) or 0.0),
            is_wired=bench.is_wired(placed),
            is_powered=self._is_powered(placed),
            is_core=bench.is_wired(placed) or self._is_core(placed, slot),
            seat=self._seat(placed),
        )

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
            # A flash lies with its head unit.
            near = getattr(rule, "same_place", True)
            yield from self._selected(rule.needs, placed.place if near else None)
        for exception in self.bench.tables.exceptions.get(rule.id, ()):
            if self.bench.selects(exception.subject, placed):
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

    def _on_part(self, key: tuple[Placement, Build]) -> tuple[Piece, ...]:
        placed, seen = key
        return self._pieces(check_placement(Scene(self.bench, seen | {placed}), placed))

    def _advice(self, key: tuple[Placement, Build]) -> tuple[Finding, ...]:
        placed, seen = key
        scene = Scene(self.bench, seen | {placed})
        return tuple(
            finding
            for rule in self.bench.tables.advice[placed.part]
            if self.bench.selects(rule.subject, placed)
            for finding in advice.check(rule, scene, placed)
        )

    def _sight_of_advice(self, placed: Placement, build: Build) -> tuple[Placement, Build]:
        return placed, self.about.of(placed, learns=True).advised & build

    def _live_places(self, asked: tuple[str, str | None]) -> tuple[Placement, ...]:
        return tuple(live_places(self.desk, *asked))

    def _is_held(self, asked: tuple[str, int, date]) -> bool:
        part, _, on = asked
        return self.bench.tables.hold(part, on) is not None

    # --- what several parts come to -----------------------------------------------------------------------------

    @cached_property
    def limits_kg(self) -> tuple[tuple[frozenset[str], float], ...] | None:
        """Every limit on masses, with its places; None where one is not known, so that each build has to be weighed."""
        found: list[tuple[frozenset[str], float]] = []
        for rule in self.bench.tables.mass_limits:
            for places, cause in mass_limit.limits(rule, self.bench, self.bench.has.places):
                most = number(cause.value)
                if most is None:
                    return None
                found.append((places, most))
        return tuple(found)

    def _weighed(self, build: Build) -> tuple[Piece, ...]:
        scene = Scene(self.bench, build)
        return self._pieces(
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
            draws=self._pieces(x for x in found if x.status is not Status.CAUTION),
            presets=self._pieces(check_presets(self.bench, amplifiers)),
            cautions=tuple(x for x in found if x.status is Status.CAUTION),
        )

    def _clearing(self, finding: Finding, on: date) -> Clearing:
        free: dict[Slot, None] = {}
        unless: list[tuple[Slot, tuple[Build, ...]]] = []
        for repair in sorted(finding.repairs):
            if self.desk.pricer.price(repair.part, on) is None:
                continue
            beside = {
                x.present - {repair}
                for x in self.desk.audition(repair)
                if x.status is Status.REFUSED and not x.repairs
            }
            slot = (repair.place, self.bench.part(repair).slot or "")
            if not beside:
                free[slot] = None
            elif NONE not in beside:
                unless.append((slot, tuple(sorted(beside, key=sorted))))
        return Clearing(tuple(free), tuple(unless))

    # --- plugs --------------------------------------------------------------------------------------------------

    def _plugs(self, wired: Build) -> Plugs:
        found = self.desk.examiner.electrics(wired)
        return Plugs(found.options, self._pieces(found.findings))

    def _is_sound(self, wired: Build) -> bool:
        return bool(self.desk.examiner.electrics(wired).options)

    def thinned(self, wired: Build, *, learns: bool) -> list[Build]:
        """Give a crowd of plugs thinned out, in every way, to what could be mated at all; nothing where it is no crowd.

        A part with one plug, of which the bike takes only so many whatever else is fitted, can only be one too many. Then no
        wiring has all of them, and a reason why not either names such a crowd, or is one that some thinner build has as well.
        So where each thinner build has a sound wiring, all reasons are that plugs have no mate and speakers no feed.
        """
        seats: dict[tuple[tuple[str, Face], int], list[Placement]] = {}
        for x in wired:
            seat = self.about.of(x, learns=learns).seat
            if seat is not None:
                seats.setdefault(seat, []).append(x)
        crowds = [(x, min(most, len(x))) for (_, most), x in seats.items()]
        is_crowd = any(len(x) > most for x, most in crowds)
        if not is_crowd or prod(comb(len(x), most) for x, most in crowds) > THINNED:
            return []
        rest = wired.difference(*(x for x, _ in crowds))
        kept = product(*(combinations(x, most) for x, most in crowds))
        return list(dict.fromkeys(rest.union(*map(self._alike, x)) for x in kept))

    def _alike(self, speakers: tuple[Placement, ...]) -> Collection[Placement]:
        """Give speakers that no wiring can tell from these: whether a wiring is sound, is the same for both."""
        twins = self.bench.tables.twins
        alike = {self._twins.setdefault((twins[x.part], x.place), x) for x in speakers}
        return alike if len(alike) == len(speakers) else speakers

    def _seat(self, placed: Placement) -> tuple[tuple[str, Face], int] | None:
        bench, part = self.bench, self.bench.part(placed)
        wires = bench.tables.wires[placed.part]
        has_tags = not bench.tables.needs_tags.isdisjoint(part.tags)
        if part.kind != "speaker" or len(wires.connectors) != 1 or part.channels or has_tags:
            return None
        (name, connector), *_ = wires.connectors.items()
        place, face = connector.place or placed.place, wires.faces[name]
        if not wires.sinks or bench.mateable(place, face):
            return None
        takes = (
            other.accepts
            for node, other in bench.loom.connectors.items()
            if other.place == place and faces_mate(face, bench.loom.faces[node])
        )
        return (place, face), sum(takes)

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

    def _crowds(self, crowd: Build) -> tuple[Piece, ...]:
        return self._pieces(check_slots(Scene(self.bench, crowd)))

    # --- carts --------------------------------------------------------------------------------------------------

    def judge(self, inquiry: Inquiry, *, learns: bool) -> Judgement | None:
        """Judge parts asked for together; None where it takes a search.

        Args:
            learns: Work out pieces that are not known yet. One thread at a time may.

        Raises: `NotKept` where a piece is not known, and may not be worked out.
        """
        new = inquiry.new
        if not new:
            return None
        on, period = inquiry.on, self.period.of(inquiry.on, learns=True)
        if self.bench.tables.holds and any(self.is_held.of((x.part, period, on), learns=True) for x in new):
            return replace(REFUSED, findings=inquiry.held())
        cart = _Cart(self, inquiry, new, learns=learns)
        found = cart.on_things()
        if not found and cart.plugs.options:
            return cart.as_asked()
        return cart.refused(found, period)


class _Cart:
    """One cart, as it is put together from pieces."""

    def __init__(self, pieces: Pieces, inquiry: Inquiry, new: Build, *, learns: bool) -> None:
        self.pieces = pieces
        self.inquiry = inquiry
        self.learns = learns
        about = pieces.about
        self.about = {x: about.of(x, learns=learns) for x in new}
        self.displaced = self._displaced(new)
        self.new = new
        self.build = (pieces.bench.present - self.displaced) | new
        for x in self.build - new:
            self.about[x] = about.of(x, learns=learns)
        self.ordered = sorted(self.build)
        self.seated: dict[Slot, list[Placement]] = {}
        for x in self.ordered:
            self.seated.setdefault(self.about[x].slot, []).append(x)
        self.wired = frozenset(x for x in self.ordered if self.about[x].is_wired)

    def _displaced(self, new: Build) -> Build:
        if self.pieces.has_hosts:
            return displaced_by(self.pieces.bench, new)
        gone: set[Placement] = set()
        present = self.pieces.present
        for slot, coming in Counter(self.about[x].slot for x in new).items():
            held = present.get(slot, ())
            if held and len(held) + coming > self.pieces.bench.capacity(*slot):
                gone.update(held)
        return frozenset(gone)

    @cached_property
    def plugs(self) -> Plugs:
        """What was found on the parts with plugs."""
        return self.pieces.plugs.of(self.wired, learns=self.learns)

    @cached_property
    def powered(self) -> Powered:
        """What was found on the amplifiers."""
        return self.pieces.powered.of(
            frozenset(x for x in self.ordered if self.about[x].is_powered), learns=self.learns
        )

    def on_things(self) -> list[Piece]:
        """Give all that is found, wirings aside."""
        pieces, about, build = self.pieces, self.about, self.build
        found: list[Piece] = []
        for held in self.seated.values():
            most = about[held[0]].capacity
            if len(held) > most:
                found += pieces.crowds.of(frozenset(held[: most + 1]), learns=True)
        for x in self.ordered:
            checked = about[x].checked
            found += pieces.on_part.of((x, checked & build if checked else NONE), learns=self.learns)
        if not self._is_light():
            found += pieces.weighed.of(build, learns=True)
        return [*found, *self.powered.draws, *self.powered.presets]

    def _is_light(self) -> bool:
        """Tell whether all masses are known, and well within every limit."""
        limits = self.pieces.limits_kg
        if limits is None:
            return False
        by_place: dict[str, float] = {}
        for x in self.ordered:
            mass = self.about[x].mass_kg
            if mass is None:
                return False
            by_place[x.place] = by_place.get(x.place, 0.0) + mass
        return all(
            sum(mass for place, mass in by_place.items() if place in places) < most - SLACK_KG
            for places, most in limits
        )

    def refused(self, found: list[Piece], period: int) -> Judgement | None:
        """Refuse a cart for what nothing could clear; None where something might.

        Limits are told before needs: where there is one, what plugs only need is not looked at.
        """
        hopeless = [x for x in found if x.is_refusal and self._is_hopeless(x, period)]
        limits = [x for x in hopeless if not x.is_need]
        if not (limits and self._plugs_only_need()):
            on_plugs = [x for x in self.plugs.pieces if x.is_refusal and self._is_hopeless(x, period)]
            hopeless += on_plugs
            limits += [x for x in on_plugs if not x.is_need]
        if not hopeless:
            return None
        return replace(REFUSED, findings=tuple(x.finding for x in limits or hopeless))

    def _is_hopeless(self, piece: Piece, period: int) -> bool:
        clearing = self.pieces.clearing(piece, period, self.inquiry.on, learns=self.learns)
        if any(self._has_room(slot) for slot in clearing.free):
            return False
        return not any(
            self._has_room(slot) and not any(x <= self.build for x in sets) for slot, sets in clearing.unless
        )

    def _has_room(self, slot: Slot) -> bool:
        held = self.seated.get(slot)
        return (len(held) if held else 0) < self.pieces.bench.capacity(*slot)

    def _plugs_only_need(self) -> bool:
        """Tell whether nothing but needs can be found on the plugs."""
        thinned = self.pieces.thinned(self.wired, learns=self.learns)
        return bool(thinned) and all(self.pieces.is_sound.of(x, learns=self.learns) for x in thinned)

    def as_asked(self) -> Judgement | None:
        """Say yes to a cart that needs nothing besides; None if it takes a preset."""
        pieces = self.pieces
        core = frozenset(x for x in self.ordered if self.about[x].is_core)
        ways = pieces.ways.of(core, learns=self.learns)
        if not ways:
            return None
        chosen = self._cheapest(ways)
        doings = self._doings(chosen.replugs)
        lines = None if doings.owned else pieces.desk.pricer.lines(doings)
        way = min((x for x in ways if x.replugs <= chosen.replugs), key=lambda x: x.rewires)
        return replace(
            REFUSED,
            verdict=Verdict.FITS,
            displaced=tuple(sorted(self.displaced)),
            lines=lines or (),
            total=None if lines is None else total(lines),
            advice=self._news(),
            changes=way.changes,
            feeds=way.feeds,
            rewires=way.rewires,
        )

    def _cheapest(self, ways: tuple[Way, ...]) -> Way:
        if len(ways) == 1:
            return ways[0]
        pricer = self.pieces.desk.pricer
        return min(ways, key=lambda x: total(pricer.labour_lines(self._doings(x.replugs))))

    def _doings(self, replugs: Build) -> Doings:
        inquiry = self.inquiry
        return Doings(
            on=inquiry.on,
            fitter=inquiry.fitter,
            adds=self.new,
            removes=self.displaced,
            replugs=replugs,
            owned=frozenset(x for x in self.new if not inquiry.is_for_sale(x)),
        )

    def _news(self) -> tuple[Finding, ...]:
        """Give the advice that the bike did not deserve before."""
        found: list[Finding] = []
        for x in self.ordered:
            found += self.pieces.advice.of((x, self.about[x].advised & self.build), learns=self.learns)
        found += self.powered.cautions
        old = self.pieces.advised_now
        return tuple(x for x in found if (x.rule, x.present) not in old)


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
    own = Laws(HOPEFUL, desk.bench.kin)
    own.learn(desk.audition(placed))
    return any(law.forbids(placed) for law in own.involving(placed))
