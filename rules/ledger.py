"""The ledger of a plan: what each part cost, who fitted it when, and whether it stays or is sold on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from rules.answer import LedgerPart, Visit
from rules.build import Placement
from rules.desk import Desk
from rules.money import Line
from rules.pricing import Pricer


@dataclass(frozen=True, slots=True)
class _Piece:
    """One piece that is bought: its price, or its share of the bundle that it came in."""

    part: str
    paid: int
    bundle: str | None = None


@dataclass(frozen=True, slots=True)
class _Sold:
    """When a placement goes, and what it fetches."""

    visit: int
    resale: int


def ledger_of(desk: Desk, visits: tuple[Visit, ...]) -> tuple[LedgerPart, ...]:
    """Give every part that is not stock, every stock part that goes, and what a bundle brought that is not needed.

    What was there before comes first, then what each visit brings; what the entries of a visit say is paid adds up to its
    lines for parts and bundles, and what they say is fetched to its lines for resale.
    """
    sold = {
        placed: _Sold(number, desk.pricer.resale(placed.part, visit.on))
        for number, visit in enumerate(visits, 1)
        for placed in visit.removes
    }
    bought = [
        entry for number, visit in enumerate(visits, 1) for entry in _bought(desk.pricer, visit, number, sold)
    ]
    return (*_there_before(desk, sold), *bought)


def _there_before(desk: Desk, sold: Mapping[Placement, _Sold]) -> Iterator[LedgerPart]:
    bench = desk.bench
    known = {entry.placement: entry for entry in bench.found.fitted}
    for placed in sorted(bench.present, key=_in_order):
        entry = known.get(placed)
        if entry is not None:
            yield _entry(placed, sold, entry.paid, entry.fitted_on, entry.fitter)
        elif placed in sold:
            yield _entry(placed, sold, None, None, None)


def _entry(
    placed: Placement, sold: Mapping[Placement, _Sold], paid: int | None, on: date | None, fitter: str | None
) -> LedgerPart:
    gone = sold.get(placed)
    return LedgerPart(
        part=placed.part,
        place=placed.place,
        paid=paid,
        on=on,
        fitter=fitter,
        stays=gone is None,
        sold_at=gone.visit if gone else None,
        resale=gone.resale if gone else 0,
    )


def _bought(
    pricer: Pricer, visit: Visit, number: int, sold: Mapping[Placement, _Sold]
) -> Iterator[LedgerPart]:
    waiting = sorted(visit.adds, key=_in_order)
    for piece in _pieces(pricer, visit):
        placed = next((x for x in waiting if x.part == piece.part), None)
        if placed is not None:
            waiting.remove(placed)
        gone = sold.get(placed) if placed else None
        yield LedgerPart(
            part=piece.part,
            place=placed.place if placed else None,
            paid=piece.paid,
            on=visit.on,
            fitter=visit.fitter if placed else None,
            visit=number,
            bundle=piece.bundle,
            stays=placed is not None and gone is None,
            sold_at=gone.visit if gone else None,
            resale=gone.resale if gone else 0,
        )


def _pieces(pricer: Pricer, visit: Visit) -> Iterator[_Piece]:
    for line in visit.lines:
        if line.kind == "part":
            for _ in range(line.quantity):
                yield _Piece(line.about, line.total // line.quantity)
        elif line.kind == "bundle":
            yield from _members(pricer, line, visit.on)


def _members(pricer: Pricer, line: Line, on: date) -> Iterator[_Piece]:
    """Share a bundle's price; the last member that has a single price takes what rounding left over or short."""
    members = pricer.catalog.parts[line.about].members
    shares = pricer.bundle_shares(line.about, on)
    paid = [shares[member] for member in members]
    last = max((at for at, share in enumerate(paid) if share), default=len(paid) - 1)
    paid[last] += line.total - sum(paid)
    for member, share in zip(members, paid, strict=True):
        yield _Piece(member, share, line.about)


def _in_order(placed: Placement) -> tuple[str, str]:
    return placed.place, placed.part
