"""Every fact, rule, verdict and code can be explained: what it is, where it is written, since when, and by whom vouched for."""

from __future__ import annotations

from datetime import date

import pytest

from rules.load import load_catalog
from rules.registry import CODES
from rules.release import Release
from service.authoring.csv_table import CODES as TABLE_CODES
from service.serving import Serving
from service.terminal.explain import LISTS, VERDICTS, WordAsked, explain_word
from service.terminal.mistakes import WrongCommand
from tests.diagnostics.base import FILES, write
from tests.unit.service.authoring.templates import ROOT

ON = date(2025, 5, 1)


@pytest.fixture(scope="module")
def serving(tmp_path_factory):
    return Serving.of(Release.of(load_catalog(write(tmp_path_factory.mktemp("at") / "shop"))))


@pytest.fixture(scope="module")
def demo():
    return Serving.of(Release.of(load_catalog(ROOT / "catalog_demo")))


@pytest.fixture
def explain(serving, capsys):
    def explain(word, more=None, place=None):
        explain_word(serving, WordAsked(word=word, more=more, place=place, on=ON), as_json=False)
        return capsys.readouterr().out.splitlines()

    return explain


BIKE, FIT, WORK = "bikes/heron.yaml", "rules/fit.yaml", "rules/work.yaml"


def at(file: str, text: str) -> str:
    """Give the place of a line as it is told."""
    line = next(number for number, line in enumerate(FILES[file].splitlines(), 1) if text in line)
    return f"shop/{file}:{line}"


def test_an_inherited_fact_says_since_when_and_from_where(explain):
    assert explain("heron-2021-plain", "places.pods.geometry.depth_mm") == [
        "heron-2021-plain: Torvund Heron Plain, model year 2021",
        "  places.pods.geometry.depth_mm: 62",
        f"    inherited since 2018, from model years 2018-2019; {at(BIKE, 'depth_mm: 62.0')}",
        "    source: maker sheet: sheet 4, 2024-02-01",
    ]


def test_an_overridden_fact_says_what_held_before(explain):
    told = explain("heron-2020-plain", "facts.charging_headroom_a")
    assert f"    written for model years 2020-2021; {at(BIKE, 'facts: {charging_headroom_a: {unk')}" in told
    before = at(BIKE, "charging_headroom_a: 12.0")
    assert f"    before, in 2018-2019: 12 (maker sheet: sheet 4, 2024-02-01; {before})" in told
    assert "  facts.charging_headroom_a: not known; measure the current at the battery at 3000 rpm" in told


def test_a_fact_of_one_trim_says_what_the_other_has(explain):
    told = explain("heron-2018-fair", "places.pods.geometry.opening_mm")
    assert "    source: measured: bench note 7, 2024-03-01" in told
    assert f"    heron-2018-plain has 131 ({at(BIKE, 'opening_mm: 131.0')})" in told


def test_a_plug_that_a_rule_gives_names_the_rules_place(explain):
    told = explain("heron-2018-fair", "loom.connectors.tray")
    assert f"    given by a rule at {at(WORK, 'tray: {map: pod')}" in told


def test_several_facts_are_told_in_a_line_each(explain):
    told = explain("heron-2021-plain", "places.pods")
    assert len(told) == 3
    assert told[1].startswith(
        "  places.pods.geometry.depth_mm: 62 (maker sheet: sheet 4, 2024-02-01; inherited since 2018, from"
    )


def test_a_name_of_two_bikes_tells_the_fact_of_both(explain):
    assert [
        line for line in explain("heron-2019-fair", "facts.pod_series") if line.startswith("  facts")
    ] == [
        "  facts.pod_series: a",
        "  facts.pod_series: b",
    ]


def test_a_verdict_is_told_with_rules_facts_and_their_places(explain):
    assert explain("heron-2021-plain", "tern_pod", "pods") == [
        "heron-2021-plain: with tern_pod on 2025-05-01",
        "  fits_with at pods",
        "  needs besides: tern_ring@pods",
        "  takes the place of: old_pod@pods",
    ]
    refused = explain("heron-2019-fair-late", "tern_amp", "tray")
    assert f"    rule amp_not_in_series_b, excludes at {at(FIT, '- id: amp_not')}" in refused
    where = at(BIKE, "facts: {pod_series: b}")
    assert (
        f"    facts.pod_series of heron-2019-fair-late: b (maker sheet: sheet 4, 2024-02-01) at {where}"
        in refused
    )


def test_every_bike_part_rule_fact_and_code_has_an_explanation(demo, capsys):
    catalog = demo.catalog
    words = [
        *catalog.rules,
        *catalog.parts,
        *catalog.bikes,
        *catalog.ambiguous,
        *catalog.places,
        *LISTS,
        *VERDICTS,
    ]
    for word in (*words, *CODES, *(code.name for code in TABLE_CODES)):
        explain_word(demo, WordAsked(word=word, more=None, place=None, on=ON), as_json=False)
        assert len(capsys.readouterr().out.splitlines()) > 1, word
    for bike in list(catalog.bikes.values())[::7]:
        for path in bike.origins:
            explain_word(demo, WordAsked(word=bike.id, more=path, place=None, on=ON), as_json=False)
            told = capsys.readouterr().out
            assert "source: " in told
            assert ".yaml:" in told


def test_a_rule_is_told_with_what_it_asks_its_exceptions_and_its_cases(explain):
    told = explain("pod_too_deep")
    assert "  subject: {kind: speaker, at: [pods]}" in told
    assert f"  overridden by pod_measured at {at(FIT, '- id: pod_measured')}" in told


def test_a_fact_of_a_part_is_told(explain):
    assert explain("tern_pod", "spec.depth_mm")[1] == "  spec.depth_mm: 61"
    assert explain("tern_pod", "speaker.rms_w")[1] == "  speaker.rms_w: 60"
    with pytest.raises(WrongCommand, match="no such fact"):
        explain("tern_pod", "spec.deep_mm")


@pytest.mark.parametrize("word", ["heron-2021-plane", "pod_to_deep", "never-fire"])
def test_a_misspelt_word_is_told_with_the_nearest(explain, word):
    with pytest.raises(WrongCommand, match="did you mean"):
        explain(word)
