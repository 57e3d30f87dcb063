"""Mass limits: of one place, or of several together."""

from __future__ import annotations

import pytest

from rules.catalog.bike import BikePlace
from rules.catalog.rule import MassLimit
from rules.kinds import mass_limit
from rules.verdict import Status, Verdict
from tests.unit.catalogs import UNKNOWN, as_found, bike, fit, placed, ring, rule, scene, shop, speaker

TAIL = rule(MassLimit, "tail_too_heavy", at=("rears", "battery"), fact="tail_limit_kg")
EACH = rule(MassLimit, "place_too_heavy")


@pytest.mark.parametrize(
    ("mass", "verdict"),
    [(2.0, Verdict.FITS), (2.1, Verdict.DOES_NOT_FIT), (UNKNOWN, Verdict.NOT_VERIFIED)],
)
def test_a_place_carries_its_limit_and_no_more(mass, verdict):
    catalog = shop(speaker(mass_kg=mass), EACH, on=bike(rears=BikePlace(max_mass_kg=2.0)))
    assert fit(catalog, "petrel", "rears").verdict == verdict


@pytest.mark.parametrize(("limit", "verdict"), [(3.0, Verdict.FITS), (2.9, Verdict.DOES_NOT_FIT)])
def test_all_parts_in_the_places_of_a_group_count_together(limit, verdict):
    catalog = shop(speaker(mass_kg=2.0), ring(mass_kg=1.0), TAIL, on=bike(facts={"tail_limit_kg": limit}))
    assert fit(catalog, "petrel", "rears", found=as_found("spacer-ring@rears")).verdict == verdict


def test_an_unknown_limit_leaves_open_what_has_mass_and_nothing_else():
    on = bike(facts={"tail_limit_kg": UNKNOWN})
    assert fit(shop(speaker(mass_kg=2.0), TAIL, on=on), "petrel", "rears").verdict is Verdict.NOT_VERIFIED
    assert fit(shop(speaker(mass_kg=0.0), TAIL, on=on), "petrel", "rears").verdict is Verdict.FITS


def test_known_masses_that_exceed_the_limit_refuse_whatever_an_unknown_one_is():
    catalog = shop(speaker(mass_kg=4.0), ring(mass_kg=UNKNOWN), TAIL, on=bike(facts={"tail_limit_kg": 3.0}))
    answer = fit(catalog, "petrel", "rears", found=as_found("spacer-ring@rears"))
    assert answer.verdict is Verdict.DOES_NOT_FIT


def test_a_place_without_a_limit_is_not_weighed():
    assert fit(shop(speaker(mass_kg=99.0), EACH), "petrel", "rears").verdict is Verdict.FITS


def test_only_the_heaviest_parts_that_exceed_a_limit_are_blamed():
    catalog = shop(speaker(mass_kg=3.0), ring(mass_kg=0.1), TAIL, on=bike(facts={"tail_limit_kg": 2.5}))
    (finding,) = mass_limit.check(TAIL, scene(catalog, "petrel@rears", "spacer-ring@rears"))
    assert (finding.status, finding.present) == (Status.REFUSED, placed("petrel@rears"))
    assert [x.fact for x in finding.causes] == ["part.mass_kg", "facts.tail_limit_kg"]


def test_tenths_of_a_kilogram_add_up_without_binary_dust():
    catalog = shop(speaker(mass_kg=0.2), ring(mass_kg=0.1), TAIL, on=bike(facts={"tail_limit_kg": 0.3}))
    assert not list(mass_limit.check(TAIL, scene(catalog, "petrel@rears", "spacer-ring@rears")))


def test_a_limit_of_the_bike_that_names_no_places_holds_for_all_of_them():
    whole = rule(MassLimit, "bike_load", fact="load_limit_kg")
    catalog = shop(speaker(mass_kg=5.0), whole, on=bike(facts={"load_limit_kg": 1.0}))
    assert fit(catalog, "petrel", "rears").verdict is Verdict.DOES_NOT_FIT
