"""A new model year: what changes and nothing else, in a few lines of one file."""

from __future__ import annotations

import shutil

import pytest

from rules.catalog.facts import Unknown
from rules.load import load_catalog
from service.authoring.new_year import new_year
from service.authoring.proposal import write_all
from service.authoring.refusal import CannotWrite
from tests.diagnostics.base import FILES, write
from tests.unit.service.authoring.templates import DAY, ROOT, codes, filled_in

DEPTH = "places.pods.geometry.depth_mm"
CHARGING = "facts.charging_headroom_a"


@pytest.fixture
def catalog(tmp_path):
    longer = FILES["bikes/heron.yaml"].replace("years: 2018-2020}", "years: 2018-2021}")
    return write(tmp_path / "shop", dict(FILES) | {"bikes/heron.yaml": longer})


@pytest.fixture
def demo(tmp_path):
    return shutil.copytree(ROOT / "catalog_demo", tmp_path / "demo")


@pytest.mark.parametrize("family", ["dotterel", "gadwall", "garganey", "pochard", "whimbrel"])
def test_a_year_that_changes_two_facts_takes_at_most_fifteen_lines_of_one_file(demo, family):
    changes = ("facts.fairing_mass_limit_kg", "places.fairing_pods.geometry.depth_mm")
    years = [bike.year for bike in load_catalog(demo).bikes.values() if bike.family == family]
    proposal = new_year(demo, family, max(years) + 1, changes, DAY)
    assert proposal.added_lines <= 15
    found = filled_in(demo, proposal)
    newest = [bike for bike in found.bikes.values() if (bike.family, bike.year) == (family, max(years) + 1)]
    assert newest
    for bike in newest:
        assert isinstance(bike.has.facts["fairing_mass_limit_kg"], Unknown)
        assert isinstance(bike.has.places["fairing_pods"].geometry["depth_mm"], Unknown)


def test_the_template_is_refused_until_its_marks_are_replaced(catalog):
    write_all(catalog, new_year(catalog, "heron", 2022, (DEPTH,), DAY))
    assert codes(catalog) == ["not-filled-in"]


def test_what_does_not_change_is_inherited_and_older_bikes_stay_as_they_were(catalog):
    before = load_catalog(catalog)
    after = filled_in(catalog, new_year(catalog, "heron", 2022, (f"{DEPTH}=55.5",), DAY))
    assert {name: bike.has for name, bike in after.bikes.items() if bike.year < 2022} == {
        name: bike.has for name, bike in before.bikes.items()
    }
    old, new = after.bikes["heron-2021-plain"].has, after.bikes["heron-2022-plain"].has
    assert new.places["pods"].geometry == {"depth_mm": 55.5, "opening_mm": 131.0}
    assert (new.loom, new.stock, new.facts) == (old.loom, old.stock, old.facts)


def test_a_trim_with_a_value_of_its_own_gets_the_change_in_its_own_place(catalog):
    after = filled_in(
        catalog, new_year(catalog, "heron", 2022, ("places.pods.geometry.opening_mm=140",), DAY)
    )
    assert after.bikes["heron-2022-fair"].has.places["pods"].geometry["opening_mm"] == 140
    assert after.bikes["heron-2022-plain"].has.places["pods"].geometry["opening_mm"] == 140


def test_a_file_from_another_system_keeps_its_line_ends(catalog):
    path = catalog / "bikes" / "heron.yaml"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    before = path.read_bytes()
    write_all(catalog, new_year(catalog, "heron", 2022, (DEPTH,), DAY))
    lines = path.read_bytes().splitlines(keepends=True)
    assert all(line.endswith(b"\r\n") for line in lines)
    assert len([line for line in before.splitlines(keepends=True) if line not in lines]) == 2


def test_a_change_of_one_trim_leaves_the_other_as_it_was(catalog):
    after = filled_in(catalog, new_year(catalog, "heron", 2022, (f"fair:{DEPTH}",), DAY))
    assert isinstance(after.bikes["heron-2022-fair"].has.places["pods"].geometry["depth_mm"], Unknown)
    assert after.bikes["heron-2022-plain"].has.places["pods"].geometry["depth_mm"] == 62


def test_an_unknown_has_the_catalogs_own_words_for_finding_out(catalog):
    after = filled_in(catalog, new_year(catalog, "heron", 2022, (CHARGING, DEPTH), DAY))
    has = after.bikes["heron-2022-plain"].has
    assert has.facts["charging_headroom_a"] == Unknown(
        unknown="measure the current at the battery at 3000 rpm"
    )
    assert has.places["pods"].geometry["depth_mm"] == Unknown(
        unknown="measure depth [mm] at the pods of the Heron Fair, or read it in the maker's sheet"
    )


def test_a_year_without_changes_has_an_entry_with_its_own_source(catalog):
    proposal = new_year(catalog, "heron", 2022, (), DAY)
    after = filled_in(catalog, proposal)
    assert after.bikes["heron-2022-plain"].has == after.bikes["heron-2021-plain"].has
    assert proposal.added_lines == 4


@pytest.mark.parametrize(
    ("family", "year", "changes", "told"),
    [
        ("herron", 2022, (), "did you mean `heron`"),
        ("heron", 2023, (), "the next one is 2022"),
        ("heron", 2020, (), "the next one is 2022"),
        ("heron", 2022, ("places.pod.geometry.depth_mm",), "did you mean `places.pods.geometry.depth_mm`"),
        ("heron", 2022, ("plane:facts.pod_series",), "did you mean `plain`"),
        (
            "heron",
            2022,
            ("stock.dash.head_unit",),
            "say what is there now: --change stock.dash.head_unit=VALUE",
        ),
    ],
)
def test_a_mistake_is_told_with_what_to_do(catalog, family, year, changes, told):
    with pytest.raises(CannotWrite, match=told):
        new_year(catalog, family, year, changes, DAY)


def test_a_family_that_is_no_longer_built_has_no_next_year(tmp_path):
    ended = FILES["bikes/heron.yaml"].replace("years: 2018-2021}", "years: 2018-2020}")
    with pytest.raises(CannotWrite, match="no trim of heron was sold in 2021"):
        new_year(write(tmp_path, dict(FILES) | {"bikes/heron.yaml": ended}), "heron", 2022, (), DAY)
