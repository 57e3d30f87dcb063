"""What an engine has learned of bikes is bounded, and forgetting it changes no answer."""

from __future__ import annotations

from datetime import date

from rules.engine import Engine
from rules.question import FitQuestion, PathQuestion, Stage, Want
from tests.contract.whole import demo_release

ON = date(2026, 5, 4)
BIKES = 3


def kept_by(engine: Engine) -> int:
    """Count the builds that are kept."""
    return sum(desk.examiner.kept for desk in engine._desks.values())


def test_builds_are_forgotten_between_questions_and_answers_stay_the_same(monkeypatch):
    catalog = demo_release().catalog
    speakers = sorted(x.id for x in catalog.parts.values() if x.kind == "speaker" and not x.stock_only)
    plain = Engine(catalog)
    monkeypatch.setattr("rules.engine.BUILDS_KEPT", 20)
    bounded = Engine(catalog)
    was_over = was_forgotten = False
    for bike in sorted(catalog.bikes)[:BIKES]:
        for part in speakers[:4]:
            before = kept_by(bounded)
            question = FitQuestion(bike=bike, part=part, on=ON)
            assert bounded.fit(question) == plain.fit(question)
            was_over = was_over or before > 20
            was_forgotten = was_forgotten or kept_by(bounded) < before
        path = PathQuestion(
            bike=bike,
            stages=(Stage(on=ON), Stage(on=date(2027, 4, 5))),
            wants=(Want(kind="speaker", zone="fronts"),),
        )
        assert bounded.path(path) == plain.path(path)
    assert was_over
    assert was_forgotten


def test_what_was_found_out_about_wirings_goes_with_the_last_bike_that_has_them():
    engine = Engine(demo_release().catalog)
    bike = min(engine.catalog.bikes)
    universe = engine.tables.universe(frozenset(engine.desk(bike).bench.has.places))
    assert len(universe._judged) == 1
    engine._forget()
    assert not universe._judged
