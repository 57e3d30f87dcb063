"""Which parts of a rider's bike go on to the next one."""

from __future__ import annotations

from dataclasses import replace

from rules.answer import CarryOver, CarryWord, Judgement
from rules.build import Placement
from rules.desk import Desk
from rules.fitment import ORDER, REFUSED, Inquiry, judge, no_place
from rules.question import CarryOverQuestion
from rules.things import HOST
from rules.verdict import Finding, Status, Verdict

WORDS: dict[Verdict, CarryWord] = {
    Verdict.FITS: "as_is",
    Verdict.FITS_WITH: "with_adapter",
    Verdict.NOT_VERIFIED: "not_verified",
    Verdict.DOES_NOT_FIT: "no",
}


def carry_over(here: Desk, there: Desk, question: CarryOverQuestion, placed: Placement) -> CarryOver:
    """Judge one part that the rider owns on the stock next bike, with all his other parts to hand.

    At its old place, unless that refuses it; else at the best one. What stays with the old bike's own unit does not go on.
    """
    part = here.bench.part(placed)
    own = frozenset(x.part for x in here.bench.present - here.bench.stock)
    answers = [
        (place, _judge(there, question, Placement(placed.part, place), own))
        for place in _places(there, placed)
    ]
    stays_behind = bool(part.host) and own.isdisjoint(part.host)
    if not answers or stays_behind:
        finding = left_behind(there, placed) if stays_behind else no_place(there, placed.part)
        return _told(here, question, placed, None, replace(REFUSED, findings=(finding,)))
    place, best = min(answers, key=lambda x: _rank(x[0], x[1], placed.place))
    return _told(here, question, placed, place, best)


def _rank(place: str, answer: Judgement, old: str) -> tuple[bool, int, int, str]:
    refused = answer.verdict is Verdict.DOES_NOT_FIT
    return place != old or refused, ORDER.index(answer.verdict), answer.total or 0, place


def _told(
    here: Desk, question: CarryOverQuestion, placed: Placement, place: str | None, answer: Judgement
) -> CarryOver:
    own = frozenset(x.part for x in here.bench.present - here.bench.stock)
    bought = tuple(x for x in answer.extras if x.part not in own)
    word: CarryWord = "as_is" if answer.verdict is Verdict.FITS_WITH and not bought else WORDS[answer.verdict]
    return CarryOver(
        part=placed.part,
        from_place=placed.place,
        answer=word,
        to_place=place,
        extras=bought,
        findings=answer.findings,
        missing=answer.missing,
        resale=here.pricer.resale(placed.part, question.on),
        paid=next((x.paid for x in here.bench.found.fitted if x.placement == placed), None),
    )


def left_behind(desk: Desk, placed: Placement) -> Finding:
    """Say that a part lives in a unit of the old bike and stays with it."""
    cause = desk.bench.cause("part.id", placed)
    return Finding(rule=HOST, status=Status.REFUSED, present=frozenset({placed}), causes=(cause,))


def _places(desk: Desk, placed: Placement) -> list[str]:
    part = desk.bench.part(placed)
    return [place for place in sorted(desk.bench.has.places) if desk.bench.can_place(part, place)]


def _judge(desk: Desk, question: CarryOverQuestion, placed: Placement, own: frozenset[str]) -> Judgement:
    return judge(Inquiry(desk, question.on, question.fitter, frozenset({placed}), own=own))
