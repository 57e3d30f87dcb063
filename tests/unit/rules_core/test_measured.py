"""Facts measured on one rider's bike."""

from __future__ import annotations

import pytest

from rules.errors import MalformedQuestion
from rules.verdict import Verdict
from tests.unit.catalogs import UNKNOWN, as_found, bench, bike, fit, one, shop, speaker


def measured(path, value):
    return bench(shop(speaker()), as_found(measured={path: value}))


def test_a_measured_dimension_replaces_the_recorded_one_and_names_who_measured():
    cause = measured("places.pods.geometry.depth_mm", 55.5).cause("place.depth_mm", one("petrel@pods"))
    assert (cause.value, cause.source.kind, cause.source.ref) == (55.5, "measured", "Runa")


def test_a_dimension_that_nobody_had_recorded_there_can_be_measured():
    here = measured("places.rears.geometry.depth_mm", 61.0)
    assert here.fact("place.depth_mm", one("petrel@rears")) == 61.0


def test_a_fact_of_the_bike_can_be_measured():
    assert measured("facts.charging_headroom_a", 9.5).bike_cause("charging_headroom_a").value == 9.5


def test_a_measurement_may_say_that_a_record_cannot_be_trusted():
    cause = measured("places.pods.geometry.depth_mm", UNKNOWN).cause("place.depth_mm", one("petrel@pods"))
    assert cause.is_missing


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("places.attic.geometry.depth_mm", 1.0),
        ("loom.connectors.attic.presence", True),
        ("loom.connectors.pods.presence", "white"),
        ("loom.connectors.pods.presence", 1.0),
        ("facts.charging_headroom_a.deeper", 1.0),
        ("nonsense", 1.0),
        ("", 1.0),
        ("places.pods.geometry", 3.0),
        ("places.pods.max_mass_kg", "heavy"),
        ("places.pods", 3.0),
    ],
)
def test_a_measurement_of_something_that_the_bike_does_not_have_is_malformed(path, value):
    with pytest.raises(MalformedQuestion):
        measured(path, value)


@pytest.mark.parametrize(
    ("there", "verdict"), [(None, Verdict.NOT_VERIFIED), (True, Verdict.FITS), (False, Verdict.DOES_NOT_FIT)]
)
def test_a_plug_that_may_be_there_is_looked_for(there, verdict):
    here = bike()
    rears = here.has.loom.connectors["rears"].model_copy(update={"presence": UNKNOWN})
    here.has.loom.connectors["rears"] = rears
    found = as_found(measured={} if there is None else {"loom.connectors.rears.presence": there})
    answer = fit(shop(speaker(), on=here), "petrel", "rears", found=found)
    assert answer.verdict is verdict
    if there is None:
        assert [x.fact for x in answer.missing] == ["loom.connectors.rears.presence"]
