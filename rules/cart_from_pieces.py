"""One cart on a bike as it left the works, put together from what is kept of that bike."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

from rules.answer import Judgement
from rules.build import Build, Placement
from rules.cart_pieces import BY_PLACE, NONE, SLACK_KG, About, Completion, Piece, Pieces, Plugs, Room, Way
from rules.desk import displaced_by
from rules.fitment import REFUSED, Inquiry
from rules.money import Line, total
from rules.pricing import Doings, Work
from rules.verdict import Finding, Verdict


def judge_from_pieces(pieces: Pieces, inquiry: Inquiry, *, learns: bool) -> Judgement:
    """Judge parts asked for together.

    Args:
        learns: Work out pieces that are not known yet. One thread at a time may.

    Raises: `NotKept` where a piece is not known, and may not be worked out.
    """
    new, period = inquiry.new, pieces.period(inquiry.on)
    if not new:
        return pieces.completions.of((inquiry.asked, inquiry.fitter, period), learns=learns).judgement
    coming = pieces.about.all(list(new), learns=learns)
    if any(pieces.is_held.of((x.placed.part, period), learns=True) for x in coming if x.may_be_held):
        return replace(REFUSED, findings=inquiry.held())
    cart = _Cart(pieces, inquiry, new, coming, learns=learns)
    found = cart.on_things()
    simple = cart.as_asked() if not found and cart.plugs.options else cart.refused(found, period)
    return simple or cart.completed(period)


class _Cart:
    """One cart, as it is put together from pieces."""

    def __init__(
        self, pieces: Pieces, inquiry: Inquiry, new: Build, coming: list[About], *, learns: bool
    ) -> None:
        self.pieces = pieces
        self.inquiry = inquiry
        self.learns = learns
        self.new = new
        self.displaced = self._displaced(coming)
        self.build = (pieces.bench.present - self.displaced) | inquiry.asked
        rest = pieces.about.all(list(self.build - new), learns=learns)
        self.ordered = sorted([*coming, *rest], key=BY_PLACE)
        self.seated: dict[int, list[About]] = {}
        for about in self.ordered:
            number = about.number
            if number in self.seated:
                self.seated[number].append(about)
            else:
                self.seated[number] = [about]
        self.wired = [x for x in self.ordered if x.is_wired]

    def _displaced(self, coming: list[About]) -> Build:
        pieces = self.pieces
        if pieces.has_hosts:
            return displaced_by(pieces.bench, self.new)
        present = pieces.present_rooms
        taken = [(x.number, x.capacity) for x in coming if x.number in present]
        gone = [
            placed
            for number, capacity in set(taken)
            if len(present[number]) + taken.count((number, capacity)) > capacity
            for placed in present[number]
        ]
        return frozenset(gone)

    @cached_property
    def plugs(self) -> Plugs:
        """What was found on the parts with plugs."""
        return self.pieces.plugs.of(frozenset([x.placed for x in self.wired]), learns=self.learns)

    def on_things(self) -> list[Piece]:
        """Give all that is found, wirings aside."""
        pieces, build = self.pieces, self.build
        found: list[Piece] = []
        for held in self.seated.values():
            if len(held) > 1 and len(held) > (most := held[0].capacity):
                found += pieces.crowds.of(tuple([x.placed for x in held[: most + 1]]), learns=True)
        for about in self.ordered:
            if not about.checked or build.isdisjoint(about.checked):
                found += about.alone
            else:
                found += pieces.on_part.of((about.placed, about.checked & build), learns=self.learns)
        if not self._is_light(self.ordered):
            found += pieces.weighed.of(build, learns=True)
        amplifiers = frozenset([x.placed for x in self.ordered if x.is_powered])
        powered = pieces.powered.of(amplifiers, learns=self.learns)
        return [*found, *powered.draws, *powered.presets]

    def _is_light(self, ordered: list[About]) -> bool:
        """Tell whether all masses are known, and well within every limit."""
        limits = self.pieces.limits_kg
        masses = [x.mass_kg for x in ordered if x.mass_kg is not None]
        if limits is None or len(masses) < len(ordered):
            return False
        if sum(masses) < self.pieces.least_limit_kg - SLACK_KG:
            return True
        by_place: dict[str, float] = {}
        for about, mass in zip(ordered, masses, strict=True):
            place = about.placed.place
            by_place[place] = by_place.get(place, 0.0) + mass
        return all(
            sum([by_place[x] for x in by_place if x in places]) < most - SLACK_KG for places, most in limits
        )

    def refused(self, found: list[Piece], period: int) -> Judgement | None:
        """Refuse a cart for what nothing could clear; None where something might.

        Limits are told before needs: where there is one, what plugs only need is not looked at.
        """
        hopeless = [x for x in found if x.stays or (x.is_refusal and self._is_hopeless(x, period))]
        limits = [x for x in hopeless if not x.is_need]
        if not (limits and self._plugs_only_need()):
            on_plugs = [x for x in self.plugs.pieces if x.is_refusal and self._is_hopeless(x, period)]
            hopeless += on_plugs
            limits += [x for x in on_plugs if not x.is_need]
        if not hopeless:
            return None
        return Judgement(
            verdict=Verdict.DOES_NOT_FIT, findings=tuple([x.finding for x in limits or hopeless])
        )

    def _is_hopeless(self, piece: Piece, period: int) -> bool:
        clearing = self.pieces.clearing(piece, period, learns=self.learns)
        if any(self._is_free(room) for room in clearing.free):
            return False
        return not any(
            self._is_free(room) and not any(x <= self.build for x in sets) for room, sets in clearing.unless
        )

    def _is_free(self, room: Room) -> bool:
        return len(self.seated.get(room.number, ())) < room.capacity

    def _plugs_only_need(self) -> bool:
        """Tell whether nothing but needs can be found on the plugs."""
        wired = frozenset([x.placed for x in self.wired])
        thinned = self.pieces.thinned(wired, self.wired)
        return bool(thinned) and all(self.pieces.is_sound.all(thinned, learns=self.learns))

    def as_asked(self) -> Judgement | None:
        """Say yes to a cart that needs nothing besides; None if it takes a preset."""
        pieces = self.pieces
        core = frozenset(x.placed for x in self.ordered if x.is_core)
        ways = pieces.ways.of(core, learns=self.learns)
        if not ways:
            return None
        chosen = self._cheapest(ways)
        lines = self._lines(self._doings(chosen.replugs))
        way = min((x for x in ways if x.replugs <= chosen.replugs), key=lambda x: x.rewires)
        return replace(
            REFUSED,
            verdict=Verdict.FITS,
            displaced=tuple(sorted(self.displaced)),
            lines=lines or (),
            total=None if lines is None else total(lines),
            advice=self._news(self.ordered),
            changes=way.changes,
            feeds=way.feeds,
            rewires=way.rewires,
        )

    def completed(self, period: int) -> Judgement:
        """Say what the search says; of parts that it has nothing to do with, it is not asked."""
        pieces, inquiry = self.pieces, self.inquiry
        core = self.new - self._inert()
        if core != self.new and core and inquiry.asked == self.new:
            found = pieces.completions.of((core, inquiry.fitter, period), learns=self.learns)
            judgement = self._with_inert(found)
            if judgement is not None:
                return judgement
        key = (inquiry.asked, inquiry.fitter, period)
        return pieces.completions.of(key, learns=self.learns).judgement

    def _inert(self) -> Build:
        """Give the parts without which the search finds the same: what comes off for them comes off for others anyway."""
        inert = frozenset(x.placed for x in self.ordered if x.is_inert and x.placed in self.new)
        torn = {x for placed in self.new - inert for x in self._torn_down(placed)}
        crowded = {x.placed for held in self.seated.values() if len(held) > 1 for x in held}
        return frozenset(x for x in inert if x not in crowded and self._torn_down(x) <= torn)

    def _torn_down(self, placed: Placement) -> frozenset[Work]:
        work = self.pieces.desk.pricer.operations(placed, "add")
        return frozenset(x for x in work if x.of is None)

    def _with_inert(self, found: Completion) -> Judgement | None:
        """Put what a search said of the other parts together with the rest; None where the rest may matter."""
        said = found.judgement
        extras = self.pieces.about.all(said.extras, learns=self.learns)
        ordered = sorted([*self.ordered, *extras], key=BY_PLACE)
        if said.verdict is Verdict.DOES_NOT_FIT or not self._is_light(ordered):
            return None
        if said.verdict is Verdict.NOT_VERIFIED:
            return said if said.findings else None
        doings = replace(
            self._doings(found.replugs or NONE), adds=self.new.union(said.extras), presets=found.presets
        )
        if not doings.owned and found.replugs is None:
            return None
        lines = self._lines(doings)
        return replace(
            said,
            displaced=tuple(sorted(self.displaced)),
            lines=lines or (),
            total=None if lines is None else total(lines),
            advice=self._news(ordered),
        )

    def _lines(self, doings: Doings) -> tuple[Line, ...] | None:
        return None if doings.owned else self.pieces.desk.pricer.lines(doings)

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
            removes=self.pieces.bench.present - self.build,
            replugs=replugs,
            owned=frozenset(x for x in self.new if not inquiry.is_for_sale(x)),
        )

    def _news(self, ordered: list[About]) -> tuple[Finding, ...]:
        """Give the advice that the bike did not deserve before."""
        pieces, build, found = self.pieces, frozenset([x.placed for x in ordered]), list[Finding]()
        for x in ordered:
            found += pieces.advice.of((x.placed, x.advised & build), learns=self.learns)
        amplifiers = frozenset([x.placed for x in ordered if x.is_powered])
        found += pieces.powered.of(amplifiers, learns=self.learns).cautions
        old = self.pieces.advised_now
        return tuple(x for x in found if (x.rule, x.present) not in old)
