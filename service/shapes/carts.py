"""Is a cart complete and free of conflicts on a bike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Annotated, Literal, Self

from pydantic import Field

from rules.answer import CartAnswer, NoPlan
from rules.build import Placement
from rules.cart import pieces_of, shared_out, told_apart
from rules.catalog.catalog import Catalog
from rules.later import ZoneLater
from rules.question import CartQuestion, Fitter, Want
from rules.verdict import Finding
from service.serving import Serving
from service.shapes.base import Asked, Day, FitterWord, Id, Told
from service.shapes.finding import BareFindingTold, CauseTold, causes_told
from service.shapes.found import FoundAsked
from service.shapes.judged import JudgedTold, judged
from service.shapes.paths import ConflictTold
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.release import ReleaseNamed
from service.shapes.work import (
    ChangeTold,
    FeedTold,
    LineTold,
    PresetTold,
    changes_told,
    feeds_told,
    lines_told,
    presets_told,
)


class CartPartAsked(Asked):
    """One part in the cart, for a place or for anywhere on the bike."""

    part: Id
    place: Id | None = None

    def to_want(self) -> Want:
        """Read it as something wanted."""
        return Want(parts=(self.part,), place=self.place)


class CartAsked(Asked):
    """A cart for one bike.

    With `later_on`, the answer tells as well what new speakers in each other zone would take at a visit on that day.
    """

    bike: Id
    parts: Annotated[tuple[CartPartAsked, ...], Field(min_length=1, max_length=100)]
    on: Day | None = None
    fitter: FitterWord = "shop"
    found: FoundAsked = FoundAsked()
    later_on: Day | None = None

    def to_domain(self, today: date) -> CartQuestion:
        """Read it."""
        return CartQuestion(
            bike=self.bike,
            wants=tuple(part.to_want() for part in self.parts),
            on=self.on or today,
            fitter=self.fitter,
            found=self.found.to_domain(),
        )


class CartLineTold(Told):
    """What the answer says of one line of the cart, in the order in which they were asked.

    `placed` is where it goes (each member of a bundle by itself), empty if there is no room or the cart cannot be placed.
    `again` tells that the same part for the same place stands in the cart before. `lead_days` is how long the slowest of it
    takes to come [days]. `findings` are about nothing but the one part that it puts in its place; `rules` are those of the
    findings of the whole cart that it has a part in.
    """

    part: str
    name: str
    asked_for: str | None
    placed: tuple[PlacementTold, ...]
    again: bool
    colour: str | None
    lead_days: int
    findings: tuple[BareFindingTold, ...]
    rules: tuple[str, ...]


class ZoneLaterTold(Told):
    """What new speakers in one zone take at a later visit, with what the cart buys now and without rewiring: the least that does.

    `adds`, `removes`, `presets`, `lines`, `total_minor`, `changes` and `feeds` tell of that visit; `total_minor` is null and the
    rest empty where there is none. Then `conflicts` are demands that cannot be had together, and `missing` the facts to measure.
    """

    zone: str
    can: Literal["yes", "no", "not_verified"]
    adds: tuple[PlacementTold, ...]
    removes: tuple[PlacementTold, ...]
    presets: tuple[PresetTold, ...]
    lines: tuple[LineTold, ...]
    total_minor: int | None
    changes: tuple[ChangeTold, ...]
    feeds: tuple[FeedTold, ...]
    conflicts: tuple[ConflictTold, ...]
    missing: tuple[CauseTold, ...]
    ask: str

    @classmethod
    def from_domain(cls, later: ZoneLater, catalog: Catalog) -> Self:
        """Write what a zone takes."""
        visit, none = later.visit, later.plan if isinstance(later.plan, NoPlan) else NO_REASON
        return cls(
            zone=later.zone,
            can="yes" if visit else "no" if none.reason == "conflict" else "not_verified",
            adds=placements_told(visit.adds, catalog) if visit else (),
            removes=placements_told(visit.removes, catalog) if visit else (),
            presets=presets_told(visit.presets, catalog) if visit else (),
            lines=lines_told(visit.lines, catalog) if visit else (),
            total_minor=visit.spent if visit else None,
            changes=changes_told(visit.changes) if visit else (),
            feeds=feeds_told(visit.feeds, catalog) if visit else (),
            conflicts=tuple(map(ConflictTold.from_domain, none.conflicts)),
            missing=causes_told(none.missing),
            ask=none.ask,
        )


NO_REASON = NoPlan(reason="conflict")
"""Where there is a plan, nothing stands in its way."""


class CartTold(JudgedTold):
    """Whether a cart is whole: where everything goes, what is missing, what conflicts, and the money.

    `findings` are about several lines, or what is on the bike: each line of `cart` has its own. `later` tells of every zone in
    which the cart puts no speakers, if a later visit was asked about: null if not, empty if the cart is not whole or cannot be
    bought on that day.
    """

    release: ReleaseNamed
    bike: str
    on: date
    fitter: Fitter
    currency: str
    cart: tuple[CartLineTold, ...]
    later: tuple[ZoneLaterTold, ...] | None

    @classmethod
    def from_domain(
        cls,
        answer: CartAnswer,
        question: CartQuestion,
        serving: Serving,
        later: Iterable[ZoneLater] | None = None,
    ) -> Self:
        """Write an answer."""
        catalog = serving.catalog_of(question.found)
        shares = shared_out(answer, question, catalog)
        own, shared = told_apart(answer.findings, shares)
        return cls(
            **judged(replace(answer, findings=shared), catalog),
            release=ReleaseNamed.from_domain(serving),
            bike=answer.bike,
            on=question.on,
            fitter=question.fitter,
            currency=catalog.shop.currency,
            cart=tuple(_lines(question, shares, own, shared, catalog)),
            later=None if later is None else tuple(ZoneLaterTold.from_domain(x, catalog) for x in later),
        )


def _lines(
    question: CartQuestion,
    shares: Sequence[Sequence[Placement]],
    own: Mapping[Placement, Sequence[Finding]],
    shared: Iterable[Finding],
    catalog: Catalog,
) -> Iterator[CartLineTold]:
    seen: set[tuple[str, str | None]] = set()
    for want, placed in zip(question.wants, shares, strict=True):
        part, pieces = catalog.parts[want.parts[0]], pieces_of(want, catalog)
        yield CartLineTold(
            part=part.id,
            name=part.name,
            asked_for=want.place,
            placed=placements_told(placed, catalog),
            again=(part.id, want.place) in seen,
            colour=part.colour,
            lead_days=max(catalog.parts[piece].lead_days for piece in (part.id, *pieces)),
            findings=tuple(BareFindingTold.from_domain(y, catalog) for x in placed for y in own.get(x, ())),
            rules=tuple(dict.fromkeys(x.rule for x in shared if _is_in(x, pieces, want.place))),
        )
        seen.add((part.id, want.place))


def _is_in(finding: Finding, pieces: tuple[str, ...], place: str | None) -> bool:
    return any(x.part in pieces and place in (None, x.place) for x in finding.present)
