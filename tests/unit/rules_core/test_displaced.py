"""What must come out for a new part."""

from __future__ import annotations

from rules.desk import displaced_by
from tests.unit.catalogs import amplifier, as_found, bench, flash, placed, radio, ring, shop, speaker


def displaced(catalog, *new, found=()):
    return displaced_by(bench(catalog, as_found(*found)), placed(*new))


def test_a_new_pair_displaces_the_pair_in_its_place():
    assert displaced(shop(speaker()), "petrel@pods") == placed("works-pods@pods")


def test_a_part_in_a_free_slot_displaces_nothing():
    assert not displaced(shop(speaker(), ring()), "petrel@rears", "spacer-ring@pods")


def test_a_slot_for_two_is_shared_until_it_overflows():
    catalog = shop(amplifier(), amplifier("skua"), amplifier("tern"))
    assert not displaced(catalog, "skua@tray", found=["fulmar@tray"])
    assert displaced(catalog, "tern@tray", found=["fulmar@tray", "skua@tray"]) == placed(
        "fulmar@tray", "skua@tray"
    )


def test_a_flash_goes_with_its_radio():
    catalog = shop(radio("new-radio"), flash())
    assert displaced(catalog, "new-radio@dash", found=["rear-flash@dash"]) == placed(
        "works-radio@dash", "rear-flash@dash"
    )


def test_a_part_that_is_there_already_displaces_nothing():
    assert not displaced(shop(speaker()), "works-pods@pods")
