"""Which parts of a rider's bike go on to the next one."""

from __future__ import annotations

from rules.answer import CarryOver, CarryWord, FitAnswer
from rules.build import Placement
from rules.desk import Desk
from rules.fitment import ORDER, Inquiry, judge, no_place
from rules.question import CarryOverQuestion
from rules.verdict import Verdict

WORDS: dict[Verdict, CarryWord] = {
    Verdict.FITS: "as_is",
    Verdict.FITS_WITH: "with_adapter",
    Verdict.NOT_VERIFIED: "not_verified",
    Verdict.DOES_NOT_FIT: "no",
}


def carry_over(here: Desk, there: Desk, question: CarryOverQuestion, placed: Placement) -> CarryOver:
    """Judge one part that the rider owns on the stock next bike: at its old place if it fits there, else at the best one."""
    answers = [
        (place, _judge(there, question, Placement(placed.part, place))) for place in _places(there, placed)
    ]
    resale = here.pricer.resale(placed.part, question.on)
    if not answers:
        return CarryOver(
            part=placed.part,
            from_place=placed.place,
            answer="no",
            to_place=None,
            extras=(),
            findings=(no_place(there, placed.part),),
            missing=(),
            resale=resale,
        )
    place, best = min(
        answers, key=lambda x: (ORDER.index(x[1].verdict), x[0] != placed.place, x[1].total or 0, x[0])
    )
    return CarryOver(
        part=placed.part,
        from_place=placed.place,
        answer=WORDS[best.verdict],
        to_place=place,
        extras=best.extras,
        findings=best.findings,
        missing=best.missing,
        resale=resale,
    )


def _places(desk: Desk, placed: Placement) -> list[str]:
    part = desk.bench.part(placed)
    return [place for place in sorted(desk.bench.has.places) if desk.bench.can_place(part, place)]


def _judge(desk: Desk, question: CarryOverQuestion, placed: Placement) -> FitAnswer:
    return judge(Inquiry(desk, question.on, question.fitter, frozenset({placed}), owned=True))
