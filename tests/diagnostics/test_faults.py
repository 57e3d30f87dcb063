"""Every seeded fault is flagged with its code, exactly where it is, and nothing else is."""

from __future__ import annotations

import random

import pytest

from rules.diagnostics import Span, full, one_line
from rules.registry import CODES
from tests.diagnostics.base import FILES, write
from tests.diagnostics.corpus.survey import DAY
from tests.diagnostics.fault import Fault, check, is_flagged, unmarked
from tests.diagnostics.faults import FAULTS

EDITS = tuple(fault for fault in FAULTS if len(fault.edits) == 1 and fault.at is None and not fault.on)


def test_the_base_catalog_has_no_fault(tmp_path):
    assert check(write(tmp_path), DAY) == ()


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: f"{fault.code}: {fault.title}")
def test_a_seeded_fault_is_flagged_where_it_is(fault, tmp_path):
    directory = tmp_path / "catalog"
    place = fault.seed(directory)
    found = check(directory, fault.on)
    assert is_flagged(fault, place, found), "\n".join(map(full, found))


def test_every_code_has_a_seeded_fault():
    assert {fault.code for fault in FAULTS} == set(CODES)


def test_no_fault_is_seeded_twice():
    titles = [(fault.code, fault.title, fault.edits) for fault in FAULTS]
    assert len(set(titles)) == len(titles)


@pytest.mark.parametrize("seed", range(12))
def test_faults_in_different_files_are_all_flagged_in_one_run(seed, tmp_path):
    faults = pick_one_for_each_file(random.Random(seed))
    places = [fault.find({fault.edits[0][0]: edited(fault)}) for fault in faults]
    files = dict(FILES) | {fault.edits[0][0]: unmarked(edited(fault)) for fault in faults}
    found = {(each.code, each.span) for each in check(write(tmp_path, files))}
    assert {(fault.code, place) for fault, place in zip(faults, places, strict=True)} <= found


def pick_one_for_each_file(source: random.Random) -> list[Fault]:
    # Checks that compare files are silent while one of them is at fault, which is the point of them; so only
    # faults that a file can have by itself are combined.
    alone = [fault for fault in EDITS if fault.code in ALONE]
    by_file: dict[str, list[Fault]] = {}
    for fault in alone:
        by_file.setdefault(fault.edits[0][0], []).append(fault)
    return [source.choice(faults) for _, faults in sorted(by_file.items())]


ALONE = {
    "bad-date",
    "bad-id",
    "boolean-word",
    "duplicate-key",
    "missing-key",
    "no-value",
    "octal-number",
    "out-of-range",
    "text-length",
    "unclear-number",
    "unknown-key",
    "unknown-word",
    "wrong-type",
    "yaml-alias",
    "yaml-tag",
}


def edited(fault: Fault) -> str:
    file, old, new = fault.edits[0]
    return FILES[file].replace(old, new)


def test_several_faults_in_one_file_are_reported_in_the_order_of_lines(tmp_path):
    text = (
        FILES["parts/tern.yaml"].replace("mass_kg: 1.2", "mas_kg: yes").replace("slot: harness", "slot: 12")
    )
    found = check(write(tmp_path, dict(FILES) | {"parts/tern.yaml": text}))
    assert [each.code for each in found] == ["unknown-key", "boolean-word", "wrong-type"]
    assert [each.span.line for each in found] == sorted(each.span.line for each in found)


def test_a_file_that_is_no_yaml_does_not_hide_faults_of_other_files(tmp_path):
    files = dict(FILES) | {
        "parts/works.yaml": "line: [",
        "shop.yaml": FILES["shop.yaml"].replace("EUR", "euro"),
    }
    found = check(write(tmp_path, files))
    assert [(each.code, each.span.file) for each in found] == [
        ("yaml-syntax", "parts/works.yaml"),
        ("bad-currency", "shop.yaml"),
    ]


def test_a_value_without_meaning_is_reported_once_and_not_again_as_a_wrong_type(tmp_path):
    files = dict(FILES) | {"shop.yaml": FILES["shop.yaml"].replace("tax_percent: 20", "tax_percent: yes")}
    assert [each.code for each in check(write(tmp_path, files))] == ["boolean-word"]


def test_columns_count_letters_and_not_bytes(tmp_path):
    files = dict(FILES) | {
        "shop.yaml": 'name: "Möwe \U0001f426"  # ü\ncurrency: EUR\ndecimals: 2\nté: 1\ntax_percent: 20\n'
    }
    (found,) = check(write(tmp_path, files))
    assert (found.code, found.span) == ("unknown-key", Span("shop.yaml", 4, 1, 3))


def test_lines_may_end_as_another_system_ends_them(tmp_path):
    files = {name: text.replace("\n", "\r\n") for name, text in FILES.items()}
    assert check(write(tmp_path, files)) == ()


@pytest.mark.parametrize("name", ["README.md", ".hidden.yaml", "preview.html"])
def test_notes_and_hidden_files_are_passed_over(name, tmp_path):
    write(tmp_path)
    (tmp_path / "parts" / name).write_text("[", encoding="utf-8")
    assert check(tmp_path) == ()


def test_a_file_of_five_megabytes_is_read(tmp_path):
    files = dict(FILES) | {"shop.yaml": FILES["shop.yaml"] + "# padding\n" * 500_000}
    assert check(write(tmp_path, files)) == ()


def test_a_name_is_suggested_with_the_place_of_its_definition(tmp_path):
    files = dict(FILES) | {"rules/fit.yaml": FILES["rules/fit.yaml"].replace("[tern_ring]", "[tern_rng]")}
    (found,) = check(write(tmp_path, files))
    assert found.hint == "did you mean `tern_ring`, defined at parts/tern.yaml:17?"
    assert one_line(found).startswith(
        "rules/fit.yaml:16:22: error[unknown-part]: rule `ring_needs_pod` names part "
    )
