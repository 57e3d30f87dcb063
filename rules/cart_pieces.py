"""What is kept of a bike as it left the works, so that carts are judged from pieces that are worked out once.

What is found on a part depends on those parts alone that its rules look at; what is found on plugs, on the parts that have
some; what may clear a finding, on the period of the day. Each is worked out once, by the engine's own checks, and a cart is
put together from what is kept. What only a search can tell is left to the engine: then there is no answer here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from functools import cached_property
from itertools import combinations
from math import comb
from typing import TYPE_CHECKING, NamedTuple, cast

from rules.abouts import About, Abouts, sums_of
from rules.answer import Change, Feed, Judgement
from rules.build import STOCK, Build, Placement
from rules.catalog.rule import Operation
from rules.changes import changes_between, feeds_of
from rules.columns import Column
from rules.fitment import Inquiry, judge
from rules.kept import Kept, NotKept, Store
from rules.kinds import mass_limit, supply_limit
from rules.laws import HOPEFUL, Laws
from rules.money import Line
from rules.passages import Clearing, Found, Passage, Piece, found_by
from rules.plan.schedule import Schedule
from rules.plan.settle import settle
from rules.present import may_be_missing
from rules.pricing import Doings, Pricer
from rules.question import Fitter
from rules.scene import Scene
from rules.things import check_slots
from rules.totals import Totals
from rules.troubles import check_presets
from rules.verdict import Finding, Status, Verdict
from rules.wiring import Option

if TYPE_CHECKING:
    from rules.desk import Desk

THINNED = 64
"""Ways to thin out a crowd of plugs that are looked at; beyond, its wirings are judged as they are."""

LOOKED_AT = 1_000
"""Sets of plugs on one bike of which it is kept what can be found on them."""

NONE: Build = frozenset()


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
    """What is known of one bike, piece by piece.

    Attributes:
        has_hosts: Something there now goes when its host goes.
    """

    # What every cart looks at, side by side: bikes are many, and seldom near at hand.
    __slots__ = (
        "__dict__",
        "_only_need",
        "_periods",
        "_sure",
        "abouts",
        "crowds",
        "displaced",
        "has_hosts",
        "powered",
        "staying",
        "totals",
    )

    def __init__(self, desk: Desk, store: Store | None = None) -> None:
        self.desk = desk
        self.bench = desk.bench
        self.has_hosts = any(self.bench.part(x).host for x in self.bench.present)
        store = store or Store()
        self.totals = Totals(self.bench)
        self.abouts = Abouts(self.bench, self.totals, store)
        self.staying: Kept[Build, tuple[About, ...]] = Kept(self._staying, store)
        self.weighed: Kept[tuple[About, ...], Found] = Kept(self._weighed, store)
        self.powered: Kept[Build, Powered] = Kept(self._powered, store)
        self.plugs: Kept[Build, Plugs] = Kept(self._plugs, store)
        self.is_sound: Kept[int, bool] = Kept(self._is_sound, store)
        self._only_need: dict[int, bool] = {}
        self.ways: Kept[Build, tuple[Way, ...]] = Kept(self._ways, store)
        self.crowds: Kept[tuple[About, ...], Passage] = Kept(self._crowds, store)
        self.completions: Kept[tuple[Build, Fitter, int], Completion] = Kept(self._completion, store)
        self.live_places: Kept[tuple[str, str | None], tuple[Placement, ...]] = Kept(self._live_places, store)
        # Of lines that can only mean a part at one place, by the number of what they ask for.
        self._sure: list[About | None] = []
        self._periods: Kept[date, int] = Kept(self.bench.tables.periods.number, store)
        self._day: dict[int, date] = {}
        self.is_held: Kept[tuple[str, int], bool] = Kept(self._is_held, store)
        self.displaced: Kept[int, Build] = Kept(self.totals.displaced, store)
        if self.is_plain:
            # From the start, so that what looks at a part gives it a bit before that part is added up.
            self.abouts.parts.all(sorted(self.bench.present), learns=True)

    @cached_property
    def is_plain(self) -> bool:
        """Tell whether the bike left the works with room for what it has, wired in one way that everybody knows.

        Then it is asked about once.
        """
        ways = self.desk.examiner.present_wirings
        unsure = any(may_be_missing(self.bench, x) for x in ways)
        is_known = self.bench.found == STOCK and self.bench.present <= self.bench.universe
        return is_known and len(ways) <= 1 and not unsure and not self.totals.crowded_by(0)

    @cached_property
    def advised_now(self) -> frozenset[tuple[str, Build]]:
        """The advice that the bike deserves as it is."""
        now = self.abouts.parts.all(sorted(self.bench.present), learns=True)
        return frozenset((x.rule, x.present) for x in self.advice_on(now, learns=True))

    def advice_on(self, ordered: Sequence[About], *, learns: bool) -> list[Finding]:
        """Give all the advice that parts deserve together.

        Raises: `NotKept`.
        """
        sums, found = sums_of(ordered), list[Finding]()
        for x in ordered:
            found += self.abouts.advice.of((x, x.advised & sums), learns=learns)
        amplifiers = frozenset([x.placed for x in ordered if x.is_powered])
        return [*found, *self.powered.of(amplifiers, learns=learns).cautions]

    def sure(self, numbers: Sequence[int]) -> list[About]:
        """Give what is known of lines that can only mean a part at one place; nothing where that is not known of each."""
        try:
            found = [*map(self._sure.__getitem__, numbers)]
        except IndexError:
            return []
        return cast("list[About]", found) if all(found) else []

    def keep_sure(self, number: int, about: About) -> None:
        """Keep that a line can only mean a part at one place."""
        known = self._sure
        known += [None] * (number + 1 - len(known))
        known[number] = about

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

    def _live_places(self, asked: tuple[str, str | None]) -> tuple[Placement, ...]:
        return tuple(live_places(self.desk, *asked))

    def _is_held(self, asked: tuple[str, int]) -> bool:
        part, period = asked
        return self.bench.tables.hold(part, self._day[period]) is not None

    def _staying(self, displaced: Build) -> tuple[About, ...]:
        return tuple(self.abouts.parts.all(sorted(self.bench.present - displaced), learns=True))

    def _weighed(self, ordered: tuple[About, ...]) -> Found:
        scene = Scene(self.bench, frozenset([x.placed for x in ordered]))
        limits = self.bench.tables.mass_limits
        return found_by(self.bench, (x for rule in limits for x in mass_limit.check(rule, scene)))

    def _powered(self, amplifiers: Build) -> Powered:
        scene = Scene(self.bench, amplifiers)
        found = [
            finding
            for rule in self.bench.tables.supply_limits
            for finding in supply_limit.check_charging(rule, scene)
        ]
        return Powered(
            draws=found_by(self.bench, (x for x in found if x.status is not Status.CAUTION)),
            presets=found_by(self.bench, check_presets(self.bench, amplifiers)),
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
            room = self.totals.room(self.bench.slot(repair))
            if not beside:
                free[room] = None
            elif NONE not in beside:
                unless.append((room, tuple(sorted(beside, key=sorted))))
        return Clearing(tuple(free), tuple(unless))

    def _plugs(self, wired: Build) -> Plugs:
        found = self.desk.examiner.electrics(wired)
        return Plugs(found.options, found_by(self.bench, found.findings))

    def _is_sound(self, plugs: int) -> bool:
        return bool(self.desk.examiner.electrics(self.totals.plugged.build(plugs)).options)

    def plugs_only_need(self, ordered: Sequence[About], sums: int, *, learns: bool) -> bool:
        """Tell whether nothing but needs can be found on the plugs of a build, as far as thinning them out shows it.

        A visitor who looks on mostly adds parts without plugs, so what was seen is kept for a while.

        Raises: `NotKept`.
        """
        plugs = sums & self.totals.plugged.every
        known = self._only_need.get(plugs)
        if known is None:
            thinned = self.thinned(ordered, sums)
            known = bool(thinned) and all(self.is_sound.all(thinned, learns=learns))
            if len(self._only_need) >= LOOKED_AT:
                self._only_need.clear()
            self._only_need[plugs] = known
        return known

    def thinned(self, ordered: Sequence[About], sums: int) -> list[int]:
        """Give a crowd of plugs thinned out, in every way, to what could be mated at all; nothing where it is no crowd.

        A part with one plug, of which the bike takes only so many whatever else is fitted, can only be one too many. Then no
        wiring has all of them, and a reason why not either names such a crowd, or is one that some thinner build has as well.
        So where each thinner build has a sound wiring, all reasons are that plugs have no mate and speakers no feed.
        """
        if not self.totals.over(sums) & self.totals.seats_over:
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
            if not self.abouts.parts.of(x, learns=True).is_core
        )
        return frozenset({x for x in [next(plain, None)] if x is not None})

    def _crowds(self, crowd: tuple[About, ...]) -> Passage:
        # One slot with too many in it: no more is found, and nothing clears it.
        (passage,) = found_by(
            self.bench, check_slots(Scene(self.bench, frozenset([x.placed for x in crowd])))
        ).limits
        return passage

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
