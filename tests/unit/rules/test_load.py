"""Reading a catalog directory."""

from __future__ import annotations

import gc

import pytest

from rules.load import CatalogRefused, check_catalog, load_catalog
from tests.diagnostics.base import FILES, write


def test_a_catalog_without_fault_is_loaded_whole(tmp_path):
    catalog = load_catalog(write(tmp_path))
    assert catalog.shop.currency == "EUR"
    assert list(catalog.places) == ["battery", "dash", "pods", "tray"]
    assert catalog.lines["tern_pod"] == "tern"
    assert catalog.makers["old_pod"] == "Torvund"
    assert catalog.topics["seat_off"] == "work"
    assert [prices.price_list for prices in catalog.price_lists] == ["spring-2025", "spring-2026"]
    assert len(catalog.cases) == 2
    assert len(catalog.parts) == 10


def test_positions_tell_where_each_entry_was_written(tmp_path):
    positions = load_catalog(write(tmp_path), shown_as="shop").positions
    assert (positions["part:tern_ring"].file, positions["part:tern_ring"].line) == (
        "shop/parts/tern.yaml",
        17,
    )
    assert positions["rule:seat_off"].line == 3
    assert positions["bike:heron"].column == 9
    assert positions["case:the pod fits the plain trim"].file == "shop/cases/fronts.yaml"


def test_a_refused_catalog_carries_all_its_diagnostics(tmp_path):
    files = dict(FILES) | {"shop.yaml": FILES["shop.yaml"].replace("EUR", "euro").replace("20", "-20")}
    with pytest.raises(CatalogRefused) as refused:
        load_catalog(write(tmp_path, files))
    assert [found.code for found in refused.value.diagnostics] == ["bad-currency", "out-of-range"]
    assert str(refused.value).count("\n") == 1


def test_a_warning_does_not_refuse_a_catalog(tmp_path):
    old = "        battery: {max_mass_kg: absent}\n"
    bike = FILES["bikes/heron.yaml"].replace(old, old + "        pods: {geometry: {depth_mm: 62.0}}\n")
    catalog, found = check_catalog(write(tmp_path, dict(FILES) | {"bikes/heron.yaml": bike}))
    assert catalog is not None
    assert [each.severity for each in found] == ["warning"]


def test_files_are_shown_below_the_directory_s_own_name_unless_another_is_given(tmp_path):
    write(tmp_path / "demo", dict(FILES) | {"shop.yaml": "name: [\n"})
    assert check_catalog(tmp_path / "demo")[1][0].span.file == "demo/shop.yaml"
    assert check_catalog(tmp_path / "demo", shown_as="a/b")[1][0].span.file == "a/b/shop.yaml"
    assert check_catalog(tmp_path / "demo", shown_as="")[1][0].span.file == "shop.yaml"


@pytest.mark.parametrize("enabled", [True, False])
def test_reading_leaves_the_garbage_collector_as_it_was(enabled, tmp_path):
    was_enabled = gc.isenabled()
    (gc.enable if enabled else gc.disable)()
    try:
        check_catalog(write(tmp_path))
        assert gc.isenabled() is enabled
    finally:
        (gc.enable if was_enabled else gc.disable)()


def test_a_link_inside_the_catalog_is_followed(tmp_path):
    write(tmp_path)
    (tmp_path / "cases" / "fronts.yaml").rename(tmp_path / ".fronts.yaml")
    (tmp_path / "cases" / "fronts.yaml").symlink_to("../.fronts.yaml")
    assert check_catalog(tmp_path)[1] == ()


def test_links_in_a_circle_are_reported(tmp_path):
    write(tmp_path)
    (tmp_path / "cases" / "a.yaml").symlink_to("b.yaml")
    (tmp_path / "cases" / "b.yaml").symlink_to("a.yaml")
    assert {found.code for found in check_catalog(tmp_path)[1]} == {"unreadable-file"}


def test_a_file_s_odd_name_does_not_break_a_diagnostic_in_two(tmp_path):
    write(tmp_path)
    (tmp_path / "parts" / "a\nb.txt").write_text("x", encoding="utf-8")
    (found,) = check_catalog(tmp_path, shown_as="")[1]
    assert (found.code, found.span.file) == ("unexpected-file", "parts/a?b.txt")


def test_the_same_files_give_the_same_catalog(tmp_path):
    one, other = load_catalog(write(tmp_path / "x")), load_catalog(write(tmp_path / "x"))
    assert one == other
