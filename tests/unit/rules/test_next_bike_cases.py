"""A case may ask what the next bike comes to, and says in what the answer is otherwise."""

from __future__ import annotations

import pytest

from rules.cases import answer_case, differences
from rules.engine import Engine
from rules.load import check_catalog, load_catalog
from service.settings import DEMO_CATALOG
from tests.diagnostics.base import FILES, write


@pytest.fixture(scope="module")
def asked():
    """The same fronts on the next Gadwall: a case of the demo, with its answer."""
    catalog = load_catalog(DEMO_CATALOG)
    case = next(x for x in catalog.cases if x.kind == "next_bike" and x.wanted and x.net == 2820)
    return case, answer_case(Engine(catalog), case)


def test_taking_the_own_fronts_along_costs_their_work_and_all_new_costs_the_pair(asked):
    case, answer = asked
    assert differences(case, answer) == ()


@pytest.mark.parametrize(
    ("slip", "told"),
    [
        ({"net": 2821}, "net: expected 2821, found 2820"),
        ({"new_net": 0}, "new_net: expected 0, found 21320"),
        ({"takes": ()}, "takes: expected [], found ['dunlin-65', 'saltwort-flat-blades']"),
        ({"sells": ("dunlin-65",)}, "sells: expected ['dunlin-65'], found []"),
    ],
)
def test_each_expectation_that_does_not_hold_is_told(asked, slip, told):
    case, answer = asked
    assert differences(case.model_copy(update=slip), answer) == (told,)


def test_what_a_next_bike_case_names_must_be_in_the_catalog(tmp_path):
    case = """\
cases:
  - name: to a bike that nobody knows
    why: it is written wrongly
    kind: next_bike
    bike: heron-2018-plain
    next_bike: heron-2028-plain
    stages: [{date: 2025-05-01}, {date: 2025-04-01}]
    wanted: [{part: tern_rod, place: pods}]
    takes: [tern_rid]
    net: -100
"""
    _, found = check_catalog(write(tmp_path, dict(FILES) | {"cases/next.yaml": case}))
    assert sorted(x.code for x in found) == [
        "unknown-bike",
        "unknown-part",
        "unknown-part",
        "visits-out-of-order",
    ]
