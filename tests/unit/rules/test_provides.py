"""Rules that give bikes a plug or a fact."""

from __future__ import annotations

from pathlib import Path

import pytest

from rules.catalog.catalog import Bike
from rules.catalog.facts import Unknown
from rules.load import check_catalog, load_catalog
from tests.diagnostics.base import FILES, write

WORK, BIKE = "rules/work.yaml", "bikes/heron.yaml"
LOOK = Unknown(unknown="look for a white socket under the tray")


def bike(directory: Path, name: str, **edits: tuple[str, str]) -> Bike:
    return load_catalog(write(directory, edited(**edits))).bikes[name]


def edited(**edits: tuple[str, str]) -> dict[str, str]:
    files = dict(FILES)
    for file, (old, new) in {{"work": WORK, "bike": BIKE}[key]: edit for key, edit in edits.items()}.items():
        assert files[file].count(old) == 1
        files[file] = files[file].replace(old, new)
    return files


def test_a_bike_that_meets_the_condition_gets_plug_link_and_fact(tmp_path):
    fair = bike(tmp_path, "heron-2018-fair")
    assert fair.has.loom.connectors["tray"].presence is None
    assert fair.has.loom.links["tray.drive"] == "main.front_$side"
    assert fair.has.facts["has_tray_socket"] is True


def test_a_bike_that_does_not_gets_nothing(tmp_path):
    plain = bike(tmp_path, "heron-2018-plain")
    assert "tray" not in plain.has.loom.connectors
    assert "has_tray_socket" not in plain.has.facts


def test_where_the_condition_is_unknown_the_plug_may_be_there_and_the_rule_says_how_to_look(tmp_path):
    unsure = bike(
        tmp_path,
        "heron-2018-fair",
        work=("fact: bike.trim, is: fair", "fact: bike.charging_headroom_a, at_most: 3"),
    )
    assert "tray" not in unsure.has.loom.connectors
    other = load_catalog(tmp_path).bikes["heron-2020-fair"]
    assert other.has.loom.connectors["tray"].presence == LOOK
    assert other.has.facts["has_tray_socket"] == LOOK


def test_a_provided_value_knows_the_rule_s_source_and_place(tmp_path):
    origin = bike(tmp_path, "heron-2018-fair").origins["facts.has_tray_socket"]
    assert origin.source.ref == "sheet 5"
    assert (Path(origin.file).name, origin.line) == ("work.yaml", 26)


def test_a_rule_may_repeat_what_the_bike_s_own_file_says(tmp_path):
    same = bike(
        tmp_path,
        "heron-2018-fair",
        bike=("      fair:\n", "      fair:\n        facts: {has_tray_socket: true}\n"),
    )
    assert same.origins["facts.has_tray_socket"].source.ref == "sheet 4"


def test_a_rule_settles_what_the_bike_s_own_file_leaves_unknown(tmp_path):
    settled = bike(
        tmp_path,
        "heron-2018-fair",
        bike=("      fair:\n", "      fair:\n        facts: {has_tray_socket: {unknown: look}}\n"),
    )
    assert settled.has.facts["has_tray_socket"] is True


def test_what_a_bike_s_own_file_says_outranks_an_unsure_rule(tmp_path):
    known = bike(
        tmp_path,
        "heron-2020-fair",
        work=("fact: bike.trim, is: fair", "fact: bike.charging_headroom_a, at_most: 3"),
        bike=("      fair:\n", "      fair:\n        facts: {has_tray_socket: false}\n"),
    )
    assert known.has.facts["has_tray_socket"] is False


SECOND = """\
  - id: a_second_socket
    kind: provides
    says: These bikes have a socket for the tray.
    when: {fact: bike.trim, is: fair}
    facts: {has_tray_socket: VALUE}
    look: look again
    source: {kind: measured, ref: bench note 20, date: 2024-02-01}
"""


@pytest.mark.parametrize(("value", "codes"), [("true", []), ("false", ["contradiction"])])
def test_two_rules_may_agree_but_not_disagree(value, codes, tmp_path):
    files = dict(FILES)
    files[WORK] += SECOND.replace("VALUE", value)
    found = check_catalog(write(tmp_path, files), shown_as="")[1]
    assert [each.code for each in found] == codes
    assert all("rules/work.yaml:33" in each.message for each in found)
