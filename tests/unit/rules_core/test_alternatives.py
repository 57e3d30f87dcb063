"""Plans besides the cheapest, each better in something, and what other budgets would change."""

from __future__ import annotations

from datetime import date
from itertools import combinations

from rules.alternatives import Alternatives, Better
from rules.answer import NoPlan
from rules.engine import Engine
from rules.question import PathQuestion, Stage, Want
from tests.unit.catalogs import (
    DAY,
    NEXT_YEAR,
    amplifier,
    as_found,
    bundle,
    harness,
    one,
    power_kit,
    prices,
    shop,
    speaker,
)

TWO_VISITS = (Stage(on=DAY), Stage(on=NEXT_YEAR))
SYSTEM = (amplifier(), harness(), power_kit())
FALLING = (
    prices("now", date(2030, 1, 1), date(2030, 12, 31), {"petrel": 1000}),
    prices("later", date(2031, 1, 1), date(2031, 12, 31), {"petrel": 800}),
)


def asked(catalog, *wants, stages=TWO_VISITS, **more) -> Alternatives:
    wanted = tuple(Want(parts=(x,)) if isinstance(x, str) else x for x in wants)
    answer = Engine(catalog).alternatives(PathQuestion(bike="curlew", stages=stages, wants=wanted, **more))
    assert isinstance(answer, Alternatives), answer
    return answer


def test_not_waiting_for_a_lower_price_is_worth_a_look_since_the_pair_is_there_at_once():
    (other,) = asked(shop(speaker(), lists=FALLING), "petrel").others
    assert (other.better, other.dearer_by) == ((Better(what="wants_first", by=1),), 200)
    assert other.plan.visits[0].adds


def test_an_alternative_never_claims_to_be_the_cheapest():
    answer = asked(shop(speaker(), lists=FALLING), "petrel")
    assert answer.cheapest.proof.is_proven
    assert [x.plan.proof.is_proven for x in answer.others] == [False]
    assert [x.plan.proof.bound for x in answer.others] == [800]


def test_a_first_visit_for_less_money_is_named_with_what_it_spares():
    answer = asked(shop(*SYSTEM, speaker()), "fulmar", "petrel")
    gains = {better.what: better.by for x in answer.others for better in x.better}
    assert answer.measures.first_visit - gains["first_visit"] == 1000


def test_fewer_visits_are_named_where_the_cheapest_plan_takes_more():
    lists = (
        prices("now", date(2030, 1, 1), date(2030, 12, 31), {"petrel": 1000, "tern": 900}),
        prices("later", date(2031, 1, 1), date(2031, 12, 31), {"petrel": 800, "tern": 1000}),
    )
    catalog = shop(speaker(at=("rears",)), speaker("tern", at=("pods",)), lists=lists)
    answer = asked(catalog, "petrel", "tern")
    assert answer.measures.visits == 2
    assert any(better.what == "visits" for x in answer.others for better in x.better)


def test_where_one_plan_is_best_in_everything_there_is_no_other():
    assert asked(shop(speaker()), "petrel", stages=(Stage(on=DAY),)).others == ()


def test_no_alternative_is_as_good_as_another_in_everything():
    found = asked(shop(*SYSTEM, speaker()), "fulmar", "petrel")
    measures = [found.measures, *(x.measures for x in found.others)]
    for a, b in combinations(measures, 2):
        assert not a.is_as_good_as(b)
        assert not b.is_as_good_as(a)


def test_the_amount_at_which_a_budget_changes_the_plan_is_named_to_the_cent():
    rising = (
        prices("now", date(2030, 1, 1), date(2030, 12, 31), {"petrel": 800}),
        prices("later", date(2031, 1, 1), date(2031, 12, 31), {"petrel": 1000}),
    )
    tight = (Stage(on=DAY, budget=799), Stage(on=NEXT_YEAR))
    (what_if,) = asked(shop(speaker(), lists=rising), "petrel", stages=tight).what_ifs
    assert (what_if.used, what_if.total_without) == (0, 800)
    assert (what_if.better_from, what_if.better_total) == (800, 800)
    assert what_if.total_below is None


def test_below_what_is_spent_now_the_plan_costs_more_or_is_gone():
    lists = (
        prices("now", date(2030, 1, 1), date(2030, 12, 31), {"petrel": 800}),
        prices("later", date(2031, 1, 1), date(2031, 12, 31), {"petrel": 1000}),
    )
    catalog = shop(speaker(), lists=lists)
    first, whole = asked(
        catalog, "petrel", stages=(Stage(on=DAY, budget=900), Stage(on=NEXT_YEAR)), budget=900
    ).what_ifs
    assert (first.kind, first.used, first.total_below) == ("budget", 800, None)
    assert (whole.kind, whole.used, whole.total_below) == ("path_budget", 800, None)
    (alone,) = asked(catalog, "petrel", stages=(Stage(on=DAY, budget=900), Stage(on=NEXT_YEAR))).what_ifs
    assert (alone.better_from, alone.total_below) == (None, 1000)


def test_a_question_without_a_path_has_no_alternatives():
    locked = frozenset({one("works-pods@pods")})
    question = PathQuestion(
        bike="curlew", stages=TWO_VISITS, wants=(Want(parts=("petrel",)),), locked=locked, found=as_found()
    )
    assert isinstance(Engine(shop(speaker(at=("pods",)))).alternatives(question), NoPlan)


def test_paying_more_for_one_piece_than_for_a_bundle_with_it_is_no_alternative():
    catalog = shop(
        speaker(at=("pods",)),
        speaker("tern", at=("pods",)),
        bundle("duo", "petrel", "tern"),
        price={"duo": 900},
    )
    answer = asked(catalog, Want(parts=("petrel",), place="pods"))
    assert answer.cheapest.total == 900
    assert answer.measures.waste > 0
    assert not any(better.what == "waste" for other in answer.others for better in other.better)
