"""A drafted case says what the engine says, and counts only once a person has written why."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from rules.build import Placement
from rules.cases import DRAFT, found_of, path_question, run_case, run_cases
from rules.catalog.case import CarryOverCase, CartCase, FitCase, PathCase
from rules.drafting import draft_carry_over, draft_cart, draft_fit, draft_path
from rules.engine import Engine
from rules.errors import MalformedQuestion
from rules.load import check_catalog, load_catalog
from rules.question import CarryOverQuestion, CartQuestion, FitQuestion, Want
from rules.release import release_id
from service.authoring.new_case import new_case
from service.authoring.proposal import write_all
from service.authoring.refusal import CannotWrite
from service.terminal.cases import ask_cases
from service.terminal.reading import open_catalog
from tests.diagnostics.base import FILES, write
from tests.unit.service.authoring.templates import ROOT

ON = date(2025, 5, 1)
SOUND = FILES["cases/fronts.yaml"].partition("  - name: pods now")[0]


@pytest.fixture
def catalog(tmp_path):
    return write(tmp_path / "shop", dict(FILES) | {"cases/fronts.yaml": SOUND})


@pytest.fixture(scope="module")
def demo():
    return Engine(load_catalog(ROOT / "catalog_demo"))


def draft(engine, bike="heron-2018-plain", part="tern_pod"):
    question = FitQuestion(bike=bike, part=part, place="pods", on=ON)
    return draft_fit(question, engine.fit(question))


def redrafted(engine, case):
    """Draft a case from another's question."""
    found = found_of(case.found)
    if isinstance(case, FitCase):
        fit = FitQuestion(
            bike=case.bike, part=case.part, place=case.place, on=case.date, fitter=case.fitter, found=found
        )
        return draft_fit(fit, engine.fit(fit), case.name)
    if isinstance(case, CartCase):
        wants = tuple(Want(parts=(part,)) for part in case.parts)
        cart = CartQuestion(bike=case.bike, wants=wants, on=case.date, fitter=case.fitter, found=found)
        return draft_cart(cart, engine.cart(cart), case.name)
    if isinstance(case, PathCase):
        return draft_path(path_question(case), engine.path(path_question(case)), case.name)
    over = CarryOverQuestion(bike=case.bike, next_bike=case.next_bike, on=case.date, found=found)
    return draft_carry_over(over, engine.carry_over(over), case.name)


def some_of_each_kind():
    cases = load_catalog(ROOT / "catalog_demo").cases
    kinds = (FitCase, CartCase, PathCase, CarryOverCase)
    return [case for kind in kinds for case in [case for case in cases if isinstance(case, kind)][::9][:6]]


@pytest.mark.parametrize("case", some_of_each_kind(), ids=lambda case: f"{case.kind}: {case.name}")
def test_a_draft_asks_the_same_and_expects_at_least_as_much_as_the_case_it_is_drafted_from(demo, case):
    drafted = redrafted(demo, case)
    assert drafted.is_draft
    assert run_case(demo, drafted).differences == ()
    for name in type(case).model_fields:
        told = getattr(case, name)
        if (
            name not in ("why", "source", "found", "carries", "advice", "rules", "year_budgets")
            and told is not None
        ):
            mine = getattr(drafted, name)
            assert mine == told or (isinstance(told, tuple) and name in ("visits", "extras", "missing")), name


def test_a_draft_is_told_and_fails_until_somebody_has_written_why(catalog, capsys):
    drafted = draft(Engine(load_catalog(catalog)))
    write_all(catalog, new_case(catalog, drafted, "cases/drafts.yaml"))
    assert [found.code for found in check_catalog(catalog)[1]] == ["drafted-case"]
    assert ask_cases(open_catalog(catalog), jobs=1, as_json=False) == 1
    assert DRAFT in capsys.readouterr().err
    path = catalog / "cases" / "drafts.yaml"
    text = path.read_text(encoding="utf-8")
    why = next(line for line in text.splitlines() if "why:" in line)
    path.write_text(text.replace(why, "    why: 62 mm of pod, and somebody tried it"), encoding="utf-8")
    assert check_catalog(catalog)[1] == ()
    assert ask_cases(open_catalog(catalog), jobs=1, as_json=False) == 0


def test_a_draft_is_no_case_for_coverage_and_strength_yet_part_of_the_release(catalog):
    before = load_catalog(catalog)
    write_all(catalog, new_case(catalog, draft(Engine(before)), "cases/drafts.yaml"))
    after = load_catalog(catalog)
    assert after.cases == before.cases
    assert [case.name for case in after.drafts] == ["tern_pod at pods fits on heron-2018-plain on 2025-05-01"]
    assert release_id(after) != release_id(before)


def test_a_run_without_cases_fails(tmp_path):
    files = {name: text for name, text in FILES.items() if not name.startswith("cases/")}
    assert ask_cases(open_catalog(write(tmp_path, files)), jobs=1, as_json=False) == 1


def test_a_path_with_another_number_of_visits_than_expected_fails(demo):
    case = next(
        case for case in demo.catalog.cases if isinstance(case, PathCase) and len(case.visits or ()) > 1
    )
    assert case.visits is not None
    shorter = case.model_copy(update={"visits": case.visits[:-1], "total": None})
    assert any(line.startswith("visits: expected") for line in run_case(demo, shorter).differences)


def test_a_case_goes_to_the_end_of_its_file_and_its_name_is_new(catalog):
    drafted = draft(Engine(load_catalog(catalog)))
    proposal = new_case(catalog, drafted, "cases/fronts.yaml")
    assert proposal.after.startswith(SOUND)
    write_all(catalog, proposal)
    with pytest.raises(CannotWrite, match="there is a case"):
        new_case(catalog, drafted, "cases/fronts.yaml")
    assert [result.name for result in run_cases(Engine(load_catalog(catalog))) if not result.passed] == [
        drafted.name
    ]


@pytest.mark.parametrize(
    "change", [{"may_go": frozenset({Placement("a", "b")})}, {"wants": (Want(parts=("a", "b")),)}]
)
def test_what_a_case_has_no_words_for_is_refused(demo, change):
    case = next(case for case in demo.catalog.cases if isinstance(case, PathCase))
    question = path_question(case)
    with pytest.raises(MalformedQuestion):
        draft_path(replace(question, **change), demo.path(question))
