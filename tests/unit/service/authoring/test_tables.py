"""Parts and prices from tables: shown first, every fault at its cell, nothing written unless all is right."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rules.catalog.facts import Unknown
from rules.catalog.part import Speaker
from rules.catalog.shop import Shop
from rules.diagnostics import Collector, one_line
from rules.load import load_catalog
from rules.release import release_id
from service.authoring.export import export_parts, export_prices
from service.authoring.import_parts import LineAsked, import_parts
from service.authoring.import_prices import ListAsked, import_prices, minor_units, money
from service.authoring.proposal import write_all
from service.authoring.refusal import CannotWrite
from service.terminal.tables import take_parts, take_prices
from tests.diagnostics.base import FILES, write
from tests.unit.service.authoring.templates import ROOT

NEXT = ListAsked(first=date(2027, 1, 1), last=date(2027, 12, 31))
EURO = Shop(name="s", currency="EUR", decimals=2, tax_percent=20)
SAME_LIST, SAME_LINE = ListAsked(), LineAsked()
HEADER = "id,name,kind,slot,spec.height_mm,source.kind,source.ref,source.date\n"
RING = "gull_ring,Gull ring,ring,ring,8,measured,bench note 8,2026-05-01\n"


@pytest.fixture
def catalog(tmp_path):
    return write(tmp_path / "shop")


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    return shutil.copytree(ROOT / "catalog_demo", tmp_path_factory.mktemp("demo") / "catalog_demo")


@pytest.fixture
def prices(catalog, tmp_path, capsys):
    def prices(text, into="prices/2026.yaml", asked=SAME_LIST, *, write=True):
        (tmp_path / "table.csv").write_text(text, encoding="utf-8")
        code = take_prices(catalog, tmp_path / "table.csv", into, asked, write=write)
        said = capsys.readouterr()
        return code, said.out, said.err

    return prices


@pytest.fixture
def parts(catalog, tmp_path, capsys):
    def parts(text, into="parts/tern.yaml", asked=SAME_LINE, *, write=True):
        (tmp_path / "table.csv").write_text(text, encoding="utf-8")
        code = take_parts(catalog, tmp_path / "table.csv", into, asked, write=write)
        said = capsys.readouterr()
        return code, said.out, said.err

    return parts


def texts(directory):
    return {
        path.relative_to(directory).as_posix(): path.read_text(encoding="utf-8")
        for path in directory.rglob("*.yaml")
    }


def test_prices_are_shown_first_and_written_when_asked_to(prices, catalog):
    code, out, err = prices("part,price\ntern_pod,219.50\n", write=False)
    assert code == 0
    assert "-  tern_pod: 20900\n+  tern_pod: 21950" in out
    assert "add --write" in err
    assert texts(catalog) == FILES
    prices("part,price\ntern_pod,219.50\n")
    expected = FILES["prices/2026.yaml"].replace("tern_pod: 20900", "tern_pod: 21950")
    assert texts(catalog) == dict(FILES) | {"prices/2026.yaml": expected}


def test_a_new_list_takes_the_rates_of_the_one_before(prices, catalog):
    assert prices("part,price,resale\ntern_pod,229,60\ntern_ring,29,\n", "prices/2027.yaml", NEXT)[0] == 0
    newest = load_catalog(catalog).price_lists[-1]
    assert (newest.price_list, newest.labour_per_hour, newest.freight) == ("2027", 8400, 2000)
    assert (newest.prices, newest.resale) == ({"tern_pod": 22900, "tern_ring": 2900}, {"tern_pod": 6000})


def test_every_bad_row_is_told_at_its_cell_and_nothing_is_written(prices, catalog):
    code, _, err = prices("part,price\ntern_pd,219\ntern_ring,2 9\ntern_amp,3.599\ntern_pod\n")
    assert code == 1
    told = [line for line in err.splitlines() if line.startswith("table.csv")]
    assert [line.partition("]:")[0] for line in told] == [
        "table.csv:2:1: error[unknown-part",
        "table.csv:3:11: error[table-cell",
        "table.csv:4:10: error[table-cell",
        "table.csv:5:1: error[table-row",
    ]
    assert texts(catalog) == FILES


def test_a_part_that_the_catalog_lacks_is_told_at_its_cell(prices, catalog):
    code, _, err = prices("part,price\ntern_ring,30\n  tern_pd,219\n")
    assert code == 1
    assert "table.csv:3:3: error[unknown-part]" in err
    assert "did you mean `tern_pod`" in err
    assert texts(catalog) == FILES


@pytest.mark.parametrize(
    ("price", "is_taken"),
    [("41.80", False), ("41.81", True), ("1044.99", True), ("1045", False), ("20900", False)],
)
def test_a_price_far_from_the_last_one_is_taken_only_when_it_is_meant(prices, catalog, price, is_taken):
    code, _, err = prices(f"part,price\ntern_pod,{price}\n")
    assert ("table.csv:2:10: error[price-jump]" not in err) == is_taken == (code == 0)
    if not is_taken:
        assert texts(catalog) == FILES
        assert prices(f"part,price\ntern_pod,{price}\n", asked=ListAsked(accept_jumps=True))[0] == 0


def test_a_new_list_that_leaves_a_gap_is_refused(prices, catalog):
    later = replace(NEXT, first=date(2027, 2, 1))
    code, _, err = prices("part,price\ntern_pod,219\n", "prices/2027.yaml", later)
    assert code == 1
    assert "error[price-gap]" in err
    assert texts(catalog) == FILES


def test_new_parts_go_to_the_end_of_their_line_and_changed_figures_to_their_place(parts, catalog):
    changed = "tern_ring,,,,7,,,\n"
    code, out, err = parts(HEADER + RING + changed)
    assert code == 0, err
    assert "-    spec: {height_mm: 6.0}\n+    spec: {height_mm: 7}" in out
    assert "warning[never-priced]" in err
    text = FILES["parts/tern.yaml"].replace("height_mm: 6.0", "height_mm: 7")
    assert texts(catalog)["parts/tern.yaml"].startswith(text)
    assert texts(catalog)["parts/tern.yaml"].removeprefix(text) == (
        "  - id: gull_ring\n    name: Gull ring\n    kind: ring\n    slot: ring\n    spec: {height_mm: 8}\n"
        "    source: {kind: measured, ref: bench note 8, date: 2026-05-01}\n"
    )


def test_a_part_like_another_has_its_plugs(parts, prices, catalog):
    header = HEADER.replace("source.kind", "speaker.impedance_ohm,speaker.rms_w,like,source.kind")
    row = "gull_pod,Gull pod,speaker,speaker,,4,unknown: read the label,tern_pod,measured,bench note 9,2026-05-01\n"
    assert parts(header + row)[0] == 0
    assert prices("part,price\ngull_pod,99\n")[0] == 0
    found = load_catalog(catalog).parts
    assert found["gull_pod"].connectors == found["tern_pod"].connectors
    assert found["gull_pod"].speaker == Speaker(impedance_ohm=4.0, rms_w=Unknown(unknown="read the label"))


def test_a_new_line_gets_a_file_of_its_own(parts, catalog):
    assert parts(HEADER + RING, "parts/gull.yaml", LineAsked(maker="Strand Audio", name="Gull"))[0] == 0
    assert texts(catalog)["parts/gull.yaml"].startswith(
        "line: gull\nmaker: Strand Audio\nname: Gull\nparts:\n"
    )


@pytest.mark.parametrize(
    ("row", "place"),
    [
        ("gull ring,Gull ring,ring,ring,8,measured,note,2026-05-01\n", "2:1: error[bad-id]"),
        ("gull_ring,Gull ring,rng,ring,8,measured,note,2026-05-01\n", "2:21: error[unknown-word]"),
        ("gull_ring,Gull ring,ring,rng,8,measured,note,2026-05-01\n", "2:26: error[unknown-slot]"),
        ("gull_ring,Gull ring,ring,ring,8,guessed,note,2026-05-01\n", "2:33: error[unknown-word]"),
        ("gull_ring,Gull ring,ring,ring,8,measured,note,2026-02-30\n", "2:47: error[bad-date]"),
        ("gull_ring,,ring,ring,8,measured,note,2026-05-01\n", "2:1: error[missing-key]"),
        ("old_pod,Old pod,ring,ring,8,measured,note,2026-05-01\n", "2:1: error[duplicate-id]"),
    ],
)
def test_a_fault_of_a_part_is_told_at_its_cell(parts, catalog, row, place):
    code, _, err = parts(HEADER + row)
    assert code == 1
    assert f"table.csv:{place}" in err
    assert texts(catalog) == FILES


def test_a_column_without_a_unit_and_an_unknown_neighbour_are_told(parts):
    _, _, err = parts(HEADER.replace("height_mm", "height") + RING)
    assert "table.csv:2:31: error[missing-unit]" in err
    _, _, err = parts(HEADER.replace("spec.height_mm", "like") + RING.replace(",8,", ",tern_rng,"))
    assert "table.csv:2:31: error[unknown-part]" in err
    assert "did you mean `tern_ring`" in err


@pytest.mark.parametrize(
    "into", ["../elsewhere.yaml", "parts/../shop.yaml", "prices/2027.yaml", "parts/a/b.yaml"]
)
def test_nothing_is_written_outside_of_the_folder(catalog, into):
    with pytest.raises(CannotWrite, match="name a file in parts/"):
        import_parts(catalog, HEADER + RING, "t.csv", into, LineAsked(), Collector())


def test_a_table_that_is_no_text_is_told(catalog, tmp_path, capsys):
    (tmp_path / "t.csv").write_bytes(b"part,price\n\xff,1\n")
    assert take_prices(catalog, tmp_path / "t.csv", "prices/2026.yaml", ListAsked(), write=True) == 1
    assert "t.csv:1:1: error[table-unreadable]" in capsys.readouterr().err


def test_lines_of_every_kind_and_every_list_of_the_demo_are_exported_and_imported_without_a_change(demo):
    catalog = load_catalog(demo)
    of_each_kind = {catalog.parts[name].kind: line for name, line in catalog.lines.items()}
    for line in sorted(set(of_each_kind.values())):
        told = import_parts(
            demo, export_parts(catalog, line), "t.csv", f"parts/{line}.yaml", LineAsked(), Collector()
        )
        assert told is not None
        assert told.proposal.after == told.proposal.before
    for one in catalog.price_lists:
        name = f"prices/{one.price_list}.yaml"
        told = import_prices(
            demo, export_prices(catalog, one.price_list), "t.csv", name, ListAsked(), Collector()
        )
        assert told is not None
        assert told.proposal.after == told.proposal.before


def test_a_line_without_wires_comes_back_whole_from_its_table(demo, monkeypatch):
    catalog, table = load_catalog(demo), export_parts(load_catalog(demo), "glasswort")
    (demo / "parts" / "glasswort.yaml").unlink()
    asked = LineAsked(maker=catalog.makers["glasswort-65-flat"], name="Glasswort grilles")
    # The catalog names parts of the line that is gone, so it is imported beside the rest as it will be.
    monkeypatch.setattr(
        "service.authoring.import_parts.neighbours", lambda _: catalog_without(catalog, "glasswort")
    )
    told = import_parts(demo, table, "t.csv", "parts/glasswort.yaml", asked, Collector())
    assert told is not None
    write_all(demo, told.proposal)
    assert release_id(load_catalog(demo)) == release_id(catalog)


def catalog_without(catalog, line):
    positions = {
        key: at
        for key, at in catalog.positions.items()
        if catalog.lines.get(key.removeprefix("part:")) != line
    }
    return replace(catalog, positions=positions)


AMOUNTS = st.dictionaries(
    st.sampled_from(["tern_pod", "tern_ring", "tern_amp", "tern_kit"]), st.integers(0, 10**8), min_size=1
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25, deadline=None)
@given(sold=AMOUNTS, bought=AMOUNTS)
def test_prices_that_are_imported_are_exported_again(catalog, sold, bought):
    shop = load_catalog(catalog).shop
    rows = [
        f"{part},{money(sold[part], shop) if part in sold else ''},{money(bought[part], shop) if part in bought else ''}"
        for part in sorted({*sold, *bought})
    ]
    table = "\n".join(["part,price,resale", *rows, ""])
    collector = Collector()
    asked = replace(NEXT, accept_jumps=True)
    told = import_prices(catalog, table, "t.csv", "prices/2027.yaml", asked, collector)
    assert told is not None, [one_line(found) for found in collector.sorted({})]
    copy = shutil.copytree(catalog, catalog.parent / "copy", dirs_exist_ok=True)
    write_all(copy, told.proposal)
    assert export_prices(load_catalog(copy), "2027") == table


@settings(deadline=None)
@given(st.integers(0, 10**10 - 1))
def test_money_that_is_written_and_read_is_the_same_money(amount):
    assert minor_units(money(amount, EURO), EURO) == amount


@pytest.mark.parametrize("text", ["", "1,50", "1.234", "-1", "1e3", "12 00", "0x1", "1.", ".5", "٣"])
def test_what_is_no_plain_amount_is_refused(text):
    assert minor_units(text, EURO) is None
