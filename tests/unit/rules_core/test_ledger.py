"""What each part cost, who fitted it when, and whether it stays or is sold on."""

from __future__ import annotations

from datetime import date

from rules.answer import LedgerPart, Plan
from rules.build import AsFound, LedgerEntry
from rules.engine import Engine
from rules.question import CarryOverQuestion, PathQuestion, Stage, Want
from tests.unit.catalogs import DAY, NEXT_YEAR, as_found, bundle, one, prices, ring, shop, speaker

LAST_YEAR = date(2029, 4, 1)
ONE_VISIT = (Stage(on=DAY),)


def ledger(catalog, *parts: str, found=None, stages=ONE_VISIT) -> tuple[LedgerPart, ...]:
    wants = tuple(Want(parts=(name,), place=place) for name, _, place in (x.partition("@") for x in parts))
    plan = Engine(catalog).path(
        PathQuestion(bike="curlew", stages=stages, wants=wants, found=found or AsFound())
    )
    assert isinstance(plan, Plan), plan
    return plan.ledger


def of(entries, part: str):
    (found,) = (x for x in entries if x.part == part)
    return found


def shown(*goods, price, resale=None):
    lists = (prices("all", DAY, date(2031, 12, 31), price, resale=resale or {}),)
    return shop(*goods, lists=lists)


def test_a_purchase_is_told_with_its_price_its_visit_and_its_fitter():
    stages = (Stage(on=DAY), Stage(on=NEXT_YEAR, fitter="home"))
    catalog = shown(speaker(), ring(), price={"petrel": 9_000, "spacer-ring": 500})
    entries = ledger(catalog, "petrel@rears", stages=stages)
    bought = of(entries, "petrel")
    assert (bought.place, bought.paid, bought.visit, bought.stays) == ("rears", 9_000, 1, True)
    assert (bought.on, bought.fitter, bought.bundle) == (DAY, "shop", None)


def test_what_was_fitted_before_is_told_as_far_as_somebody_knows_it():
    paid = LedgerEntry(placement=one("spacer-ring@pods"), paid=700, fitted_on=LAST_YEAR, fitter="home")
    found = AsFound(fitted=(paid, LedgerEntry(placement=one("spacer-ring@rears"))))
    entries = ledger(shown(speaker(), ring(), price={"petrel": 9_000}), "petrel@rears", found=found)
    known, unknown = (x for x in entries if x.part == "spacer-ring")
    assert (known.paid, known.on, known.fitter, known.visit) == (700, LAST_YEAR, "home", None)
    assert (unknown.paid, unknown.on, unknown.fitter, unknown.stays) == (None, None, None, True)


def test_a_stock_part_that_goes_is_told_with_what_it_fetches():
    catalog = shown(speaker(), price={"petrel": 9_000}, resale={"works-pods": 1_200})
    gone = of(ledger(catalog, "petrel@pods"), "works-pods")
    assert (gone.paid, gone.stays, gone.sold_at, gone.resale) == (None, False, 1, 1_200)


def test_stock_that_stays_is_no_entry():
    entries = ledger(shown(speaker(), price={"petrel": 9_000}), "petrel@rears")
    assert [x.part for x in entries] == ["petrel"]


def test_a_bundle_is_shared_and_the_last_member_takes_what_rounding_left():
    goods = (speaker(), speaker("tern"), ring(), bundle("set", "petrel", "tern", "spacer-ring"))
    catalog = shown(*goods, price={"petrel": 1_000, "tern": 1_000, "spacer-ring": 1_000, "set": 2_000})
    entries = ledger(catalog, "petrel@pods", "tern@rears", "spacer-ring@pods")
    shares = [(x.part, x.paid) for x in entries if x.bundle == "set"]
    assert shares == [("petrel", 667), ("tern", 667), ("spacer-ring", 666)]


def test_a_member_of_a_bundle_that_nobody_needs_is_told_without_a_place():
    nowhere = speaker("tern", at=("battery",))
    goods = (speaker(), nowhere, bundle("set", "petrel", "tern"))
    catalog = shown(*goods, price={"petrel": 9_000, "tern": 1_000, "set": 5_000})
    spare = of(ledger(catalog, "petrel@rears"), "tern")
    assert (spare.place, spare.paid, spare.stays, spare.sold_at) == (None, 500, False, None)


def test_a_member_without_a_single_price_has_no_share():
    nowhere = speaker("tern", at=("battery",))
    goods = (speaker(), nowhere, bundle("set", "petrel", "tern"))
    entries = ledger(shown(*goods, price={"petrel": 9_000, "set": 5_000}), "petrel@rears")
    assert [(x.part, x.paid) for x in entries] == [("petrel", 5_000), ("tern", 0)]


def test_a_part_that_goes_on_to_the_next_bike_tells_what_was_paid():
    found = AsFound(fitted=(LedgerEntry(placement=one("petrel@rears"), paid=8_000),))
    engine = Engine(shop(speaker()))
    ask = CarryOverQuestion(bike="curlew", next_bike="curlew", on=DAY, found=found)
    assert [x.paid for x in engine.carry_over(ask).parts] == [8_000]
    unknown = CarryOverQuestion(bike="curlew", next_bike="curlew", on=DAY, found=as_found("petrel@rears"))
    assert [x.paid for x in engine.carry_over(unknown).parts] == [None]
