"""A visit that was done, as it goes into the plan: compared with what was planned, with the warranties of the day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from rules.answer import LedgerPart, Visit
from rules.build import AsFound, Placement, stock_placements
from rules.catalog.catalog import Catalog
from rules.done import FittedPart, TakenOff, VisitDone, is_as_planned, wiring_of
from rules.errors import MalformedQuestion, UnknownPart, UnknownPlace
from service.plans.saved import SavedPlan
from service.serving import Serving


def as_recorded(saved: SavedPlan, done: VisitDone, serving: Serving) -> VisitDone:
    """Check a visit against the bike as it is, and add what follows from the plan and the catalog.

    Raises:
        MalformedQuestion: It is no visit that is still to be done, something is fitted where it is already, or comes off
            where it is not, or a preset is of no amplifier there.
        UnknownPart, UnknownPlace: The catalog has no such thing.
    """
    planned = _planned(saved, done)
    catalog = serving.catalog_of(saved.question.found)
    _check_names(catalog, done)
    present = check_parts(done, saved.bike, saved.found_now, serving)
    _check_presets(catalog, done, present)
    exact = is_as_planned(done, planned)
    return replace(
        done,
        as_planned=exact,
        wiring=done.wiring or (wiring_of(planned) if exact else frozenset()),
        fitted=tuple(_with_warranty(x, serving.catalog) for x in done.fitted),
    )


def knows(serving: Serving, bike: str, done: VisitDone) -> bool:
    """Tell whether a release has a bike, and every part that was fitted, came off or was set."""
    catalog = serving.catalog
    placed = (*(x.placement for x in done.fitted), *(x.placement for x in done.removed))
    parts = (*placed, *(x.amplifier for x in done.presets))
    has_bike = bike in catalog.bikes or bike in catalog.ambiguous
    return has_bike and all(x.part in catalog.parts for x in parts)


def as_planned(saved: SavedPlan, number: int) -> tuple[tuple[FittedPart, ...], tuple[TakenOff, ...], int]:
    """Give what a visit of the plan brings and takes off at the plan's prices, and what all else in it comes to.

    Raises:
        MalformedQuestion: The plan has no such visit.
    """
    visit = _visit(saved, number)
    paid = {_placed(x): x.paid for x in saved.plan.ledger if x.visit == number and x.place is not None}
    fetched = {_placed(x): x.resale for x in saved.plan.ledger if x.sold_at == number}
    fitted = tuple(FittedPart(placement=x, paid=paid.get(x)) for x in visit.adds)
    removed = tuple(TakenOff(placement=x, fetched=fetched.get(x, 0)) for x in visit.removes)
    return fitted, removed, visit.spent - sum(x.paid or 0 for x in fitted)


def _placed(entry: LedgerPart) -> Placement:
    return Placement(entry.part, entry.place or "")


def _visit(saved: SavedPlan, number: int) -> Visit:
    if not 1 <= number <= len(saved.plan.visits):
        raise MalformedQuestion("visit", "the plan has no such visit", "count the visits of the plan from 1")
    return saved.plan.visits[number - 1]


def _planned(saved: SavedPlan, done: VisitDone) -> Visit:
    visit = _visit(saved, done.visit)
    if any(x.visit >= done.visit for x in saved.done_here):
        raise MalformedQuestion(
            "visit",
            "this visit, or one after it, is done already",
            "name a visit that is still to come; one that was written down wrongly is corrected",
        )
    return visit


def _check_names(catalog: Catalog, done: VisitDone) -> None:
    for placed in (*(x.placement for x in done.fitted), *(x.placement for x in done.removed)):
        if placed.part not in catalog.parts:
            raise UnknownPart(placed.part, catalog.parts)
        if placed.place not in catalog.places:
            raise UnknownPlace(placed.place, catalog.places)


def check_parts(done: VisitDone, bike: str, found: AsFound, serving: Serving) -> frozenset[Placement]:
    """Refuse a visit that brought what was there already, or took off what was not.

    Args:
        found: The bike before it.

    Returns: What was on the bike before it.

    Raises:
        MalformedQuestion: With the field.
    """
    # Only what stands where: something that was fitted years ago may not be in this catalog any more.
    bikes = (serving.catalog.bikes[meant] for meant in serving.engine.bikes_meant(bike))
    present = frozenset[Placement]().union(*(found.present(stock_placements(x.has.stock)) for x in bikes))
    seen: set[Placement] = set()
    gone = {x.placement for x in done.removed}
    for index, fitted in enumerate(done.fitted):
        if fitted.placement in seen or (fitted.placement in present and fitted.placement not in gone):
            raise MalformedQuestion(
                f"fitted.{index}", "this part is there already", "name only what this visit brought, once"
            )
        seen.add(fitted.placement)
    for index, off in enumerate(done.removed):
        if off.placement not in present:
            raise MalformedQuestion(
                f"removed.{index}", "this part was not there", "name only what came off in this visit"
            )
    return present


def _check_presets(catalog: Catalog, done: VisitDone, present: frozenset[Placement]) -> None:
    after = (present - {x.placement for x in done.removed}) | {x.placement for x in done.fitted}
    for index, preset in enumerate(done.presets):
        part = catalog.parts.get(preset.amplifier.part)
        is_one = preset.amplifier in after and (part is None or part.kind == "amplifier")
        if not is_one or not preset.serial:
            raise MalformedQuestion(
                f"presets.{index}",
                "a preset is made for one amplifier that is on the bike, by its serial number",
                "name the amplifier with its place, and copy its serial number",
            )


def _with_warranty(fitted: FittedPart, catalog: Catalog) -> FittedPart:
    if fitted.warranty_months is not None or fitted.placement.part not in catalog.parts:
        return fitted
    months = catalog.parts[fitted.placement.part].warranty_months
    return replace(fitted, warranty_months=months if isinstance(months, int) else None)


def serials_wanted(saved: SavedPlan, number: int) -> Iterable[Placement]:
    """Give the amplifiers whose serial numbers must be written down when a visit is done: those that are preset in it."""
    return tuple(x.amplifier for x in _visit(saved, number).presets)
