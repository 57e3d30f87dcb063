"""Inheritance: what a bike has follows from the entries up to its own."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from rules.catalog.catalog import Catalog
from rules.catalog.facts import Unknown, YearSpan
from rules.load import check_catalog, load_catalog
from tests.diagnostics.base import FILES, write

BIKE = "bikes/heron.yaml"


@pytest.fixture
def loaded(tmp_path):
    return load_catalog(write(tmp_path))


def load_with(directory: Path, old: str, new: str, file: str = BIKE) -> Catalog:
    assert FILES[file].count(old) == 1
    return load_catalog(write(directory, dict(FILES) | {file: FILES[file].replace(old, new)}))


def codes_with(directory: Path, changes: Mapping[str, tuple[str, str]]) -> list[str]:
    files = dict(FILES) | {file: FILES[file].replace(old, new) for file, (old, new) in changes.items()}
    return [found.code for found in check_catalog(write(directory, files))[1]]


def test_there_is_one_bike_for_each_year_and_trim_and_side(loaded):
    assert list(loaded.bikes) == [
        "heron-2018-fair",
        "heron-2018-plain",
        "heron-2019-fair-early",
        "heron-2019-fair-late",
        "heron-2019-plain",
        "heron-2020-fair",
        "heron-2020-plain",
        "heron-2021-plain",
    ]


def test_a_name_that_stands_for_two_bikes_says_what_to_ask(loaded):
    (name,) = loaded.ambiguous
    assert name == "heron-2019-fair"
    assert loaded.ambiguous[name].sides == ("heron-2019-fair-early", "heron-2019-fair-late")
    assert "April 2019" in loaded.ambiguous[name].ask


def test_a_bike_knows_its_family_year_trim_and_side(loaded):
    bike = loaded.bikes["heron-2019-fair-late"]
    assert (bike.maker, bike.name, bike.year, bike.trim) == (
        "Torvund",
        "Heron Fair, built from April 2019",
        2019,
        "fair",
    )
    assert (bike.mount, bike.cooling) == ("frame", "air")
    assert bike.split is not None
    assert bike.split.id == "late"


def test_a_trim_s_change_is_for_that_trim_only(loaded):
    assert loaded.bikes["heron-2018-fair"].has.places["pods"].geometry["opening_mm"] == 128.0
    assert loaded.bikes["heron-2018-plain"].has.places["pods"].geometry["opening_mm"] == 131.0


def test_what_is_not_changed_is_inherited_beside_what_is(loaded):
    assert loaded.bikes["heron-2018-fair"].has.places["pods"].geometry["depth_mm"] == 62.0


def test_a_trim_s_change_lasts_through_later_entries(loaded):
    assert loaded.bikes["heron-2020-fair"].has.places["pods"].geometry["opening_mm"] == 128.0


def test_a_side_s_change_is_for_that_side_and_its_years_only(loaded):
    series = {
        name: bike.has.facts["pod_series"] for name, bike in loaded.bikes.items() if bike.trim == "fair"
    }
    assert series == {
        "heron-2018-fair": "a",
        "heron-2019-fair-early": "a",
        "heron-2019-fair-late": "b",
        "heron-2020-fair": "a",
    }


def test_absent_removes_what_was_inherited(loaded):
    assert loaded.bikes["heron-2019-plain"].has.places["battery"].max_mass_kg == 9.0
    assert loaded.bikes["heron-2020-plain"].has.places["battery"].max_mass_kg is None


def test_a_fact_can_become_unknown(loaded):
    fact = loaded.bikes["heron-2020-plain"].has.facts["charging_headroom_a"]
    assert isinstance(fact, Unknown)
    assert "3000 rpm" in fact.unknown


def test_each_value_knows_its_source_years_and_place(loaded):
    origins = loaded.bikes["heron-2020-fair"].origins
    depth, opening = origins["places.pods.geometry.depth_mm"], origins["places.pods.geometry.opening_mm"]
    headroom = origins["facts.charging_headroom_a"]
    assert (depth.source.ref, depth.years, depth.line) == ("sheet 4", YearSpan(2018, 2019), 25)
    assert (opening.source.ref, opening.source.kind) == ("bench note 7", "measured")
    assert (headroom.source.ref, headroom.years) == ("bench note 9", YearSpan(2020, 2021))
    assert origins["stock.pods.speaker"].line == 35


def test_the_quoted_word_absent_is_a_text(tmp_path):
    loaded = load_with(tmp_path, "pod_series: b", 'pod_series: "absent"')
    assert loaded.bikes["heron-2019-fair-late"].has.facts["pod_series"] == "absent"


def test_a_list_replaces_the_inherited_list(tmp_path):
    old = "facts: {charging_headroom_a: {unknown"
    first = "pod_series: a}"
    text = (
        FILES[BIKE]
        .replace(first, "pod_series: a, paints: [black, blue]}")
        .replace(old, "facts: {paints: [red], charging_headroom_a: {unknown")
    )
    loaded = load_catalog(write(tmp_path, dict(FILES) | {BIKE: text}))
    assert loaded.bikes["heron-2019-plain"].has.facts["paints"] == ("black", "blue")
    assert loaded.bikes["heron-2020-plain"].has.facts["paints"] == ("red",)


def test_entries_may_be_written_in_any_order(tmp_path, loaded):
    head, _, entries = FILES[BIKE].partition("entries:\n")
    first, second = entries.split("  - years: 2020")
    turned = f"{head}entries:\n  - years: 2020{second}{first}"
    other = load_catalog(write(tmp_path / "turned", dict(FILES) | {BIKE: turned}))
    assert {name: bike.has for name, bike in other.bikes.items()} == {
        name: bike.has for name, bike in loaded.bikes.items()
    }


def test_repeating_an_inherited_value_with_a_source_of_its_own_is_no_slip(tmp_path):
    sourced = "{value: 62.0, source: {kind: measured, ref: x, date: 2025-01-01}}"
    new = f"        pods: {{geometry: {{depth_mm: {sourced}}}}}\n"
    old = "        battery: {max_mass_kg: absent}\n"
    assert codes_with(tmp_path, {BIKE: (old, old + new)}) == []


def test_a_change_that_matters_for_some_bikes_is_no_slip(tmp_path):
    # `fair` keeps its own opening, so this changes only `plain`.
    old, new = "        battery: {max_mass_kg: absent}\n", "        pods: {geometry: {opening_mm: 128.0}}\n"
    assert codes_with(tmp_path, {BIKE: (old, old + new)}) == []


def test_an_entry_without_changes_covers_its_years(tmp_path):
    text = FILES[BIKE]
    start = text.index("  - years: 2020-2021")
    new = "  - years: 2020-2021\n    source: {kind: measured, ref: bench note 9, date: 2024-04-01}\n"
    loaded = load_catalog(write(tmp_path, dict(FILES) | {BIKE: text[:start] + new}))
    assert loaded.bikes["heron-2021-plain"].has == loaded.bikes["heron-2018-plain"].has
