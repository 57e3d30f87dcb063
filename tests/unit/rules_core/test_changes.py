"""What happens to connections from one build to the next."""

from __future__ import annotations

from rules.changes import changes_between, feeding_of, next_feeding, rewired_parts
from rules.troubles import unchecked_wirings
from tests.unit.catalogs import (
    adapter,
    amplifier,
    bench,
    harness,
    power_kit,
    radio,
    shop,
    speaker,
    with_stock,
)

SYSTEM = ("fulmar@tray", "front-harness@dash", "power-kit@battery")


def step(catalog, before, after):
    """Give the changes by kind from one build to the next."""
    here = bench(catalog)
    old, new = unchecked_wirings(here, before)[0], unchecked_wirings(here, after)[0]
    found: dict[str, set[tuple[str, str]]] = {}
    for change in changes_between(here, before, old, after, new):
        found.setdefault(change.kind, set()).add((change.first, change.second))
    return found


def amplified():
    return shop(amplifier(), harness(), power_kit(), amplifier("skua"), radio("new-radio"))


def test_an_in_line_harness_is_inserted_with_both_its_ends_and_the_rest_is_kept():
    changes = step(amplified(), with_stock(), with_stock(*SYSTEM))
    assert changes["inserted"] == {
        ("front-harness@dash:radio-end", "works-radio@dash:main"),
        ("front-harness@dash:loom-end", "loom:main"),
    }
    assert changes["kept"] == {("loom:pods", "works-pods@pods:terminals")}
    assert ("fulmar@tray:power", "power-kit@battery:feed-1") in changes["connected"]
    assert "released" not in changes


def test_an_in_line_part_that_comes_out_is_extracted():
    catalog = shop(adapter(outer="pod"))
    back = step(catalog, with_stock("blade-adapter@pods"), with_stock())
    assert back["extracted"] == {("loom:pods", "works-pods@pods:terminals")}
    assert "re-plugged" not in back


def test_taking_out_a_harness_of_an_earlier_visit_is_rewiring_and_names_it():
    changes = step(amplified(), with_stock(*SYSTEM), with_stock())
    assert changes["rewired"] == {("front-harness@dash", ""), ("power-kit@battery", "")}


def test_a_new_pair_on_the_old_plug_is_connected_and_the_old_one_released():
    catalog = shop(speaker())
    changes = step(
        catalog,
        with_stock(),
        with_stock("petrel@pods") - with_stock() | {x for x in with_stock() if x.place == "dash"},
    )
    assert changes["connected"] == {("loom:pods", "petrel@pods:terminals")}
    assert changes["released"] == {("loom:pods", "works-pods@pods:terminals")}


def test_a_plug_that_moves_to_another_old_plug_is_replugged():
    catalog = shop(adapter("first", outer="pod"), adapter("second", outer="pod"))
    here = bench(catalog)
    build = with_stock("first@pods", "second@pods")
    one, other = (
        x for x in unchecked_wirings(here, build) if all(len(fed.mates) == 4 for fed in x.feeds.values())
    )
    kinds = {x.kind for x in changes_between(here, build, one, build, other)}
    assert kinds == {"kept", "re-plugged", "released"}


def test_a_part_that_is_spliced_in_is_rewiring():
    catalog = shop(speaker(rewires=True))
    assert [x.part for x in rewired_parts(bench(catalog), with_stock(), with_stock("petrel@rears"))] == [
        "petrel"
    ]


def feeding(catalog, *builds):
    """Follow what feeds what over builds that are wired in the first way; None at the first rewiring."""
    here = bench(catalog)
    found = feeding_of(unchecked_wirings(here, builds[0])[0])
    for build in builds[1:]:
        followed = next_feeding(here, found, build, unchecked_wirings(here, build)[0])
        if followed is None:
            return None
        found = followed
    return found


def test_a_zone_side_goes_to_an_amplifier_and_stays_on_its_channel():
    found = feeding(amplified(), with_stock(), with_stock(*SYSTEM), with_stock(*SYSTEM))
    assert found is not None
    assert {source[0].part for _, source in found.sources} == {"fulmar"}


def test_where_an_amplifier_is_replaced_the_zones_take_the_same_channels_of_the_new_one():
    swapped = with_stock("skua@tray", "front-harness@dash", "power-kit@battery")
    assert feeding(amplified(), with_stock(*SYSTEM), swapped) is not None


def test_a_zone_side_that_went_back_to_the_radio_does_not_go_to_an_amplifier_again():
    catalog = amplified()
    assert feeding(catalog, with_stock(*SYSTEM), with_stock()) is not None
    assert feeding(catalog, with_stock(*SYSTEM), with_stock(), with_stock(*SYSTEM)) is None
