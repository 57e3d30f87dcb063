"""A schedule that was refused does not come again; beside a part that makes other wirings it may."""

from __future__ import annotations

from rules.bench import Bench
from rules.build import Build, Placement
from rules.desk import Desk
from rules.path import problem_of
from rules.plan.master import Master
from rules.question import PathQuestion, Want
from rules.tables import Tables
from tests.oracle.small_shop import ONE_VISIT, part, rear_lead, shop, speaker

LEAD, REAR = Placement("lead", "tray"), Placement("rear", "rear_pods")
MAT = Placement("mat", "tray")
"""Something without plugs."""


def _refused(*more: Placement) -> tuple[str, Build]:
    """Ask for a lead, refuse the bike with nothing else, and give what is proposed then, where these parts may come as well."""
    goods = (
        rear_lead(),
        speaker("rear", at=("rear_pods",)),
        part("mat", "deadening", "amplifier", at=("tray",)),
    )
    catalog = shop(*goods)
    desk = Desk.for_bench(Bench(Tables(catalog), catalog.bikes["plover"]))
    question = PathQuestion(bike="plover", stages=ONE_VISIT, wants=(Want(parts=("lead",)),))
    master = Master(problem_of(desk, question), desk.pricer)
    master.build({LEAD, *more})
    master.forbid({1: desk.bench.present | {LEAD}})
    state, schedule, _, _ = master.solve(master.total())
    return state, schedule.builds[-1] - desk.bench.present if schedule else frozenset()


def test_the_same_bike_is_not_proposed_again():
    assert _refused() == ("infeasible", frozenset())


def test_a_part_without_plugs_makes_it_no_other_bike():
    assert _refused(MAT) == ("infeasible", frozenset())


def test_a_part_with_plugs_that_came_into_play_later_makes_it_another_bike():
    assert _refused(REAR) == ("optimal", frozenset({LEAD, REAR}))
