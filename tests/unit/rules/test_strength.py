"""A slip counts if it alters an answer, and is noticed if a case then comes out otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from rules.coverage import RuleCover, outcome_cover
from rules.load import read_documents
from rules.strength.judge import Judge
from rules.strength.looks import Looker
from rules.strength.mutants import Slip
from rules.strength.score import Draw, judged_in_order, tally
from rules.strength.workshop import Workshop
from tests.diagnostics.base import FILES, write

CASES = """\
cases:
  - name: the pod fits the plain trim
    why: somebody tried it
    kind: fit
    bike: heron-2018-plain
    part: tern_pod
    place: pods
    date: 2025-05-01
    verdict: fits
    total: 25900
"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    return write(tmp_path_factory.mktemp("shop"), dict(FILES) | {"cases/fronts.yaml": CASES})


@pytest.fixture(scope="module")
def workshop(shop):
    return Workshop(read_documents(shop))


@pytest.fixture(scope="module")
def looks(workshop):
    looker = Looker(workshop.catalog)
    return {case.name: looker.look(case) for case in workshop.catalog.cases}


def fate(tmp_path: Path, judge: Judge, file: str, old: str, new: str):
    """Judge one slip: the catalog with a text replaced."""
    assert FILES[file].count(old) == 1
    slipped = dict(FILES) | {"cases/fronts.yaml": CASES, file: FILES[file].replace(old, new)}
    catalog = Workshop(read_documents(write(tmp_path, slipped))).catalog
    return judge.judge_catalog(Slip(kind="by hand", place=file, says=new), catalog)


def test_a_slip_that_a_case_tells_of_is_noticed_and_the_case_is_named(tmp_path, workshop, looks):
    judged = fate(tmp_path, Judge(workshop, looks), "rules/work.yaml", "minutes: 30", "minutes: 45")
    assert (judged.fate, judged.by) == ("noticed", "the pod fits the plain trim")


def test_a_slip_that_alters_an_answer_that_no_case_asks_for_survives_with_that_question(
    tmp_path, workshop, looks
):
    judged = fate(tmp_path, Judge(workshop, looks), "prices/2026.yaml", "tern_pod: 20900", "tern_pod: 21900")
    assert judged.fate == "survived"
    assert "tern_pod at pods 2026-01-01" in judged.witness


def test_an_exception_moved_to_another_rule_is_noticed(tmp_path, workshop, looks):
    judged = fate(
        tmp_path,
        Judge(workshop, looks),
        "rules/fit.yaml",
        "overrides: pod_too_deep",
        "overrides: ring_needs_pod",
    )
    assert judged.fate == "noticed"


def test_a_better_sentence_alters_nothing(tmp_path, workshop, looks):
    judged = fate(tmp_path, Judge(workshop, looks), "rules/work.yaml", "Take off the seat.", "Lift the seat.")
    assert judged.fate == "same"


def test_a_limit_moved_where_nothing_comes_near_it_does_not_count(tmp_path, workshop, looks):
    judged = fate(
        tmp_path, Judge(workshop, looks), "bikes/heron.yaml", "max_mass_kg: 9.0", "max_mass_kg: 8.5"
    )
    assert judged.fate == "same"


def test_a_question_that_makes_no_sense_any_more_is_noticed(tmp_path, workshop, looks):
    judged = fate(
        tmp_path,
        Judge(workshop, looks),
        "bikes/heron.yaml",
        "name: Plain, years: 2018-2021",
        "name: Plain, years: 2019-2021",
    )
    assert (judged.fate, judged.by) == ("noticed", "the pod fits the plain trim")


def test_the_same_seed_makes_the_same_slips_and_each_counts_once(workshop, looks):
    told = [tally(judged_in_order(Judge(workshop, looks), Draw(workshop, 3), 6), 6) for _ in range(2)]
    assert told[0] == told[1]
    assert len(told[0].counted) == 6
    assert len({x.slip.key for x in told[0].counted}) == 6
    assert {x.fate for x in told[0].counted} == {"noticed", "survived"}


def test_a_case_looks_at_the_same_whatever_was_asked_before(workshop):
    looker = Looker(workshop.catalog)
    case = workshop.catalog.cases[0]
    assert looker.look(case) == looker.look(case) == Looker(workshop.catalog).look(case)


def test_a_rule_is_exercised_only_if_the_answer_is_another_one_without_it(workshop, looks):
    cover = RuleCover(workshop, looks)
    assert cover.of("pod_measured").by == "the pod fits the plain trim"
    assert cover.of("pod_too_deep").by == ""
    assert cover.of("amp_not_in_series_b").by == ""


def test_a_flash_that_is_bought_for_the_stock_head_unit_shows_that_its_rule_asks_for_more(tmp_path):
    rule = """\
  - id: radio_needs_flash
    kind: flash_needed
    says: The works radio needs a flash with other speakers.
    subject: {tag: radio}
    needs: {tag: flat_sound}
    when: {fitted: {line: tern, slot: speaker}}
"""
    files = dict(FILES) | {"rules/fit.yaml": FILES["rules/fit.yaml"] + rule, "cases/fronts.yaml": CASES}
    workshop = Workshop(read_documents(write(tmp_path, files)))
    looker = Looker(workshop.catalog)
    looks = {case.name: looker.look(case) for case in workshop.catalog.cases}
    covered = {x.what: x.by for x in outcome_cover(workshop.catalog, looks)}
    assert covered["radio_needs_flash asks for more"] == "the pod fits the plain trim"
