"""One cart on a bike as it left the works, put together from what is kept of that bike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property
from typing import NamedTuple

from rules.abouts import BY_ORDER, About, sums_of
from rules.answer import Judgement
from rules.build import Build, Placement
from rules.cart_pieces import NONE, Completion, Pieces, Plugs, Way
from rules.columns import Column
from rules.desk import displaced_by
from rules.fitment import REFUSED, Inquiry
from rules.money import Line, total
from rules.passages import NOTHING, Found, Passage, Piece
from rules.pricing import Doings, Work
from rules.question import Fitter
from rules.verdict import Finding, Verdict


class Refused(NamedTuple):
    """What refuses a cart, as it is kept.

    Attributes:
        passages: Tell it, but for what is found on lines alone, and left aside.
        apart: Parts of which nothing is left aside.
        is_need: Needs are told, since nothing limits.
    """

    passages: list[Passage]
    apart: list[About]
    is_need: bool


def judge_from_pieces(
    pieces: Pieces, asked: Sequence[About], on: date, fitter: Fitter, *, learns: bool
) -> Judgement:
    """Judge parts of which all is known that concerns them alone, each another, asked for together.

    Args:
        learns: Work out pieces that are not known yet. One thread at a time may.

    Raises: `NotKept` where a piece is not known, and may not be worked out.
    """
    cart = _Cart(pieces, asked, on, fitter, learns=learns)
    judged, refused = cart.judged()
    if refused is None:
        return judged
    return replace(judged, findings=tuple([y for x in refused.passages for y in x.findings]))


def judge_aside(
    pieces: Pieces, asked: Sequence[About], on: date, fitter: Fitter
) -> tuple[Judgement, Refused | None]:
    """Judge the same from what is known, leaving aside what is found on lines alone, which most of a refusal is.

    Returns: The judgement; without its findings where it is a plain refusal, of which more is told then.

    Raises: `NotKept`.
    """
    return _Cart(pieces, asked, on, fitter, learns=False, leaves_aside=True).judged()


class _Cart:
    """One cart, as it is put together from pieces.

    Most carts touch many pieces and little of each, and memory is slow: what a refusal does not need is made where it is needed.
    """

    def __init__(
        self,
        pieces: Pieces,
        asked: Sequence[About],
        on: date,
        fitter: Fitter,
        *,
        learns: bool,
        leaves_aside: bool = False,
    ) -> None:
        totals, coming, sums = pieces.totals, asked, sums_of(asked)
        over = totals.over(sums)
        if over & totals.there.over:
            coming = [x for x in asked if not x.is_there]
            sums = sums_of(coming)
            over = totals.over(sums)
        self.pieces = pieces
        self.learns = learns
        self.leaves_aside = leaves_aside
        self.on = on
        self.fitter: Fitter = fitter
        self.asked = asked
        self.coming = coming
        self.may_be_held = over & totals.held.over != 0
        self.displaced = displaced = self._displaced(sums)
        rest = pieces.staying.of(displaced, learns=learns)
        if displaced and coming is not asked:
            # What would make room is there all the same if it is asked for itself.
            rest = (*rest, *[x for x in asked if x.is_there and x.placed in displaced])
        self.ordered = sorted([*coming, *rest], key=BY_ORDER)
        self.sums = sums = sums + sums_of(rest)
        self.over = totals.over(sums)
        # Those on which nothing that is found is left aside; what is left aside may limit, or need something.
        self.apart: list[About] = []
        self.is_limited_aside = self.needs_aside = False

    def judged(self) -> tuple[Judgement, Refused | None]:
        """Give the judgement; of a plain refusal without its findings, and what refuses."""
        if not self.coming:
            return self.searched(), None
        if self.is_held():
            return replace(REFUSED, findings=self.inquiry.held()), None
        crowds, found = self._crowds(), self.on_things()
        if crowds or found or self.is_limited_aside or self.needs_aside or not self.plugs.options:
            refused = self.refused(crowds, found)
            return (REFUSED, refused) if refused else (self.completed(), None)
        return self.as_asked() or self.completed(), None

    def _displaced(self, coming: int) -> Build:
        pieces = self.pieces
        if pieces.has_hosts:
            return displaced_by(pieces.bench, self.new)
        return pieces.displaced.of(pieces.totals.crowded_by(coming), learns=True)

    @cached_property
    def period(self) -> int:
        """That of the day."""
        return self.pieces.period(self.on)

    @cached_property
    def inquiry(self) -> Inquiry:
        """The same as the engine is asked."""
        asked = frozenset([x.placed for x in self.asked])
        return Inquiry(self.pieces.desk, self.on, self.fitter, asked)

    @cached_property
    def new(self) -> Build:
        """What comes in."""
        return frozenset([x.placed for x in self.coming])

    @cached_property
    def build(self) -> Build:
        """What is there afterwards."""
        return frozenset([x.placed for x in self.ordered])

    @cached_property
    def wired(self) -> list[About]:
        """What has plugs."""
        return [x for x in self.ordered if x.plug]

    @cached_property
    def plugs(self) -> Plugs:
        """What was found on the parts with plugs."""
        return self.pieces.plugs.of(frozenset([x.placed for x in self.wired]), learns=self.learns)

    def is_held(self) -> bool:
        """Tell whether anything that comes in is on hold."""
        held, period = self.pieces.is_held, self.period
        return self.may_be_held and any(
            held.of((x.placed.part, period), learns=True) for x in self.coming if x.may_be_held
        )

    def on_things(self) -> list[Found]:
        """Give all that is found on parts and their masses, and on amplifiers, and see what is left aside."""
        pieces, over = self.pieces, self.over
        totals = pieces.totals
        found = self._on_parts()
        if over & totals.loads.over:
            found.append(pieces.weighed.of(tuple(self.ordered), learns=True))
        powered = pieces.powered.of(self._amplifiers(over), learns=self.learns)
        found += powered.draws, powered.presets
        if self.leaves_aside:
            aside = totals.over(self.sums - sums_of(self.apart))
            self.is_limited_aside = aside & totals.limited.over != 0
            self.needs_aside = aside & totals.needy.over != 0
        return [x for x in found if x is not NOTHING]

    def _on_parts(self) -> list[Found]:
        of, learns = self.pieces.abouts.on_part.of, self.learns
        sums, leaves_aside = self.sums, self.leaves_aside
        looked_at = [x for x in self.ordered if x.may_be_apart] if leaves_aside else self.ordered
        found: list[Found] = []
        for x in looked_at:
            beside = x.checked and x.checked & sums
            if beside or x.is_odd or not leaves_aside:
                self.apart.append(x)
                found.append(of((x, beside), learns=learns) if beside else x.alone)
        return found

    def _amplifiers(self, over: int) -> Build:
        is_any = over & self.pieces.totals.amplifiers.over
        return frozenset([x.placed for x in self.ordered if x.is_powered]) if is_any else NONE

    def _crowds(self) -> list[Passage]:
        """Tell of each slot with more in it than it takes."""
        if not self.over & self.pieces.totals.rooms_over:
            return []
        crowds: dict[Column, list[About]] = {}
        for about in self.ordered:
            room = about.room
            if room in crowds:
                crowds[room].append(about)
            else:
                crowds[room] = [about]
        too_many = [
            tuple(crowd[: room.most + 1])
            for room, crowd in crowds.items()
            if len(crowd) > 1 and len(crowd) > room.most
        ]
        return self.pieces.crowds.all(too_many, learns=True)

    def refused(self, crowds: list[Passage], found: Sequence[Found]) -> Refused | None:
        """Give what refuses a cart and nothing could clear; nothing where something might clear all.

        Limits are told before needs: where there is one, what plugs only need is not looked at.
        """
        limits, needs = self._lasting(found)
        limits = crowds + limits
        is_limited = bool(limits) or self.is_limited_aside
        if not (is_limited and self.pieces.plugs_only_need(self.ordered, self.sums, learns=self.learns)):
            more_limits, more_needs = self._lasting([self.plugs.found])
            limits += more_limits
            needs += more_needs
        if limits or is_limited:
            return Refused(limits, self.apart, is_need=False)
        return Refused(needs, self.apart, is_need=True) if needs or self.needs_aside else None

    def _lasting(self, found: Iterable[Found]) -> tuple[list[Passage], list[Passage]]:
        """Give limits that nothing could clear, and needs that nothing could meet."""
        limits, needs = list[Passage](), list[Passage]()
        for one in found:
            if one.is_settled:
                limits += one.limits
                needs += one.needs
                continue
            for x in one.pieces:
                if x.stays or (x.is_refusal and self._is_hopeless(x)):
                    (needs if x.is_need else limits).append(x.passage)
        return limits, needs

    def _is_hopeless(self, piece: Piece) -> bool:
        clearing = self.pieces.clearing(piece, self.period, learns=self.learns)
        if any(self._is_free(room) for room in clearing.free):
            return False
        return not any(
            self._is_free(room) and not any(x <= self.build for x in sets) for room, sets in clearing.unless
        )

    def _is_free(self, room: Column) -> bool:
        return room.of(self.sums) < room.most

    def as_asked(self) -> Judgement | None:
        """Say yes to a cart that needs nothing besides; None if it takes a preset."""
        core = frozenset([x.placed for x in self.ordered if x.is_core])
        ways = self.pieces.ways.of(core, learns=self.learns)
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

    def searched(self) -> Judgement:
        """Say what a search says."""
        key = (self.inquiry.asked, self.fitter, self.period)
        return self.pieces.completions.of(key, learns=self.learns).judgement

    def completed(self) -> Judgement:
        """Say what the search says; of parts that it has nothing to do with, it is not asked."""
        core = self.new - self._inert()
        if core != self.new and core and self.inquiry.asked == self.new:
            found = self.pieces.completions.of((core, self.fitter, self.period), learns=self.learns)
            judgement = self._with_inert(found)
            if judgement is not None:
                return judgement
        return self.searched()

    def _inert(self) -> Build:
        """Give the parts without which the search finds the same: what comes off for them comes off for others anyway."""
        inert = frozenset([x.placed for x in self.coming if x.is_inert])
        torn = {x for placed in self.new - inert for x in self._torn_down(placed)}
        crowded = {x.placed for x in self.ordered if x.room.of(self.sums) > 1}
        return frozenset(x for x in inert if x not in crowded and self._torn_down(x) <= torn)

    def _torn_down(self, placed: Placement) -> frozenset[Work]:
        work = self.pieces.desk.pricer.operations(placed, "add")
        return frozenset(x for x in work if x.of is None)

    def _with_inert(self, found: Completion) -> Judgement | None:
        """Put what a search said of the other parts together with the rest; None where the rest may matter."""
        said = found.judgement
        extras = self.pieces.abouts.parts.all(said.extras, learns=self.learns)
        ordered = sorted([*self.ordered, *extras], key=BY_ORDER)
        totals = self.pieces.totals
        is_heavy = totals.over(sums_of(ordered)) & totals.loads.over != 0
        if said.verdict is Verdict.DOES_NOT_FIT or is_heavy:
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

    def _news(self, ordered: Sequence[About]) -> tuple[Finding, ...]:
        """Give the advice that the bike did not deserve before."""
        found, old = self.pieces.advice_on(ordered, learns=self.learns), self.pieces.advised_now
        return tuple(x for x in found if (x.rule, x.present) not in old)
