"""The extras of a part are those that the money model finds: as cheap, as few, and the same ones."""

from __future__ import annotations

from typing import Any

import pytest

from rules.bench import Bench
from rules.build import Placement
from rules.desk import Desk
from rules.extras import Extras
from rules.fitment import Inquiry
from rules.laws import HOPEFUL, VERIFIED, Laws
from rules.plan.solve import Search
from rules.tables import Tables
from tests.oracle.generate import verdict_instance


def inquiries(seed: int) -> list[Inquiry]:
    instance = verdict_instance(seed)
    question, tables = instance.question, Tables(instance.catalog)
    bike = instance.catalog.bikes.get(question.bike)
    if bike is None:
        return []
    bench = Bench(tables, bike, question.found)
    part = instance.catalog.parts.get(question.part)
    places = [x for x in sorted(bench.has.places) if part is not None and bench.can_place(part, x)]
    return [
        Inquiry(
            Desk.for_bench(bench), question.on, question.fitter, frozenset({Placement(question.part, place)})
        )
        for place in places
    ]


def found_by_extras(inquiry: Inquiry, counted: frozenset[Any]) -> tuple[str, object]:
    found = Extras(inquiry.desk, inquiry.problem(), Laws(counted, inquiry.desk.bench.like)).run()
    return found.state, found.schedule and (found.schedule.builds, found.schedule.presets, found.cost)


def found_by_model(inquiry: Inquiry, counted: frozenset[Any]) -> tuple[str, object]:
    laws = Laws(counted, inquiry.desk.bench.like)
    found = Search(desk=inquiry.desk, problem=inquiry.problem(), laws=laws, by_path=False).run()
    return found.state, found.schedule and (found.schedule.builds, found.schedule.presets, found.cost)


@pytest.mark.parametrize("seed", range(24))
def test_the_extras_are_those_of_the_money_model(seed):
    for inquiry in inquiries(seed):
        assert found_by_extras(inquiry, VERIFIED) == found_by_model(inquiry, VERIFIED), (seed, inquiry.asked)
        assert found_by_extras(inquiry, HOPEFUL) == found_by_model(inquiry, HOPEFUL), (seed, inquiry.asked)


@pytest.mark.parametrize("seed", range(24, 48))
def test_laws_that_leave_no_way_do_so_alone(seed):
    for inquiry in inquiries(seed):
        search = Extras(
            inquiry.desk, inquiry.problem(), Laws(HOPEFUL, inquiry.desk.bench.like), all_alike=True
        )
        if search.run().state == "none":
            model = Search(
                desk=inquiry.desk,
                problem=inquiry.problem(),
                laws=Laws(HOPEFUL, inquiry.desk.bench.like),
                by_path=False,
            )
            assert model.run().state == "none", (seed, inquiry.asked)
            laws = search.conflicting_laws()
            assert all(x.may_hold_in(inquiry.desk.bench.universe | inquiry.build) for x in laws)
