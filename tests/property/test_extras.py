"""Extras that are shown were tried: the build with them is valid, and none of them is there for nothing."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import assume, given, settings

from rules.answer import FitAnswer
from rules.bench import Bench
from rules.build import Build, LedgerEntry, Placement
from rules.desk import Desk
from rules.examine import Examiner
from rules.fitment import fit_anywhere, fit_at
from rules.pricing import Doings
from rules.verdict import Verdict
from tests.property.strategies import bench_of, fit_instance, seeds


def asked(seed: int) -> tuple[Desk, FitAnswer]:
    """Answer the drawn question at its place, or anywhere."""
    instance = fit_instance(seed)
    desk = Desk.for_bench(bench_of(instance))
    question = instance.question
    if question.place is None:
        return desk, fit_anywhere(desk, question)
    return desk, fit_at(desk, question, question.place)


def built(desk: Desk, answer: FitAnswer) -> Build:
    """Give the bike as the answer leaves it."""
    placed = {Placement(answer.part, answer.place or ""), *answer.extras}
    return (desk.bench.present - set(answer.displaced)) | placed


@given(seeds)
@settings(max_examples=25)
def test_a_yes_with_its_extras_is_a_valid_bike(seed):
    desk, answer = asked(seed)
    assume(answer.verdict in (Verdict.FITS, Verdict.FITS_WITH))
    examination = Examiner(desk.bench).examine(built(desk, answer))
    assert examination.is_valid, examination.findings
    assert {(x.place, x.side) for x in answer.feeds} <= {
        (sink.speaker.place, sink.side) for option in examination.options for sink in option.feeds
    }


@given(seeds)
@settings(max_examples=25)
def test_fits_needs_nothing_besides(seed):
    _, answer = asked(seed)
    assume(answer.verdict is Verdict.FITS)
    assert not answer.extras
    assert not answer.presets


@given(seeds)
@settings(max_examples=30)
def test_without_any_one_extra_the_bike_is_not_valid_or_not_cheaper(seed):
    desk, answer = asked(seed)
    assume(answer.verdict is Verdict.FITS_WITH and answer.total is not None)
    assert answer.extras or answer.presets
    question = fit_instance(seed).question
    whole = built(desk, answer)
    for extra in answer.extras:
        fewer = whole - {extra}
        if Examiner(desk.bench).examine(fewer).is_valid:
            doings = Doings(
                on=question.on,
                fitter=question.fitter,
                adds=fewer - desk.bench.present,
                removes=frozenset(answer.displaced),
            )
            lines = desk.pricer.lines(doings)
            assert lines is None or sum(x.total for x in lines) >= (answer.total or 0), extra


@given(seeds)
@settings(max_examples=25)
def test_the_total_of_an_answer_is_the_sum_of_its_lines(seed):
    _, answer = asked(seed)
    assume(answer.total is not None)
    assert answer.total == sum(line.total for line in answer.lines)


@given(seeds)
@settings(max_examples=20)
def test_extras_bought_beforehand_make_it_fit(seed):
    desk, answer = asked(seed)
    assume(answer.verdict is Verdict.FITS_WITH and not answer.presets)
    later = Desk.for_bench(with_fitted(desk, answer.extras))
    question = replace(fit_instance(seed).question, found=later.bench.found)
    again = fit_at(later, question, answer.place or "")
    if not set(answer.extras) & set(again.displaced):
        assert again.verdict is Verdict.FITS, (answer, again)


def with_fitted(desk: Desk, extras):
    found = desk.bench.found
    more = tuple(LedgerEntry(placement=x) for x in extras)
    return Bench(desk.bench.tables, desk.bench.bike, replace(found, fitted=(*found.fitted, *more)))
