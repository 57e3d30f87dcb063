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
    places = _places(there, placed)
    if part.host and own.isdisjoint(part.host):
        return _refused(here, question, placed, left_behind(there, placed))
    if not places:
        return _refused(here, question, placed, no_place(there, placed.part))
    answers: list[tuple[str, Judgement]] = []
    # What fits where it is now need not be judged elsewhere.
    for place in sorted(places, key=lambda x: x != placed.place):
        answers.append((place, _judge(there, question, Placement(placed.part, place), own)))
        if place == placed.place and answers[0][1].verdict is not Verdict.DOES_NOT_FIT:
            return _told(here, question, placed, *answers[0])
    return _told(here, question, placed, *min(answers, key=_rank))


def _rank(answered: tuple[str, Judgement]) -> tuple[int, int, str]:
    place, answer = answered
    return ORDER.index(answer.verdict), answer.total or 0, place


def _refused(here: Desk, question: CarryOverQuestion, placed: Placement, finding: Finding) -> CarryOver:
    return _told(here, question, placed, None, replace(REFUSED, findings=(finding,)))


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
