"""Cases drafted from answers: the question with what the engine says to it now, for a person to check and to vouch for."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from rules.answer import CarryOverAnswer, CartAnswer, FitAnswer, NoPlan, Plan, Visit
from rules.build import STOCK, AsFound, Placement
from rules.catalog.case import (
    CarryOverCase,
    CartCase,
    ExpectedVisit,
    FitCase,
    Found,
    FoundPart,
    PathCase,
    PlacedPart,
    StageAsked,
    Wanted,
)
from rules.catalog.facts import Unknown
from rules.catalog.part import OwnPart
from rules.errors import MalformedQuestion
from rules.question import CarryOverQuestion, CartQuestion, FitQuestion, PathQuestion, Stage, Want
from rules.verdict import Verdict

WHY = Unknown(unknown="check this answer, and say what makes it right")
"""What stands in a draft until a person has written why."""

_YES = (Verdict.FITS, Verdict.FITS_WITH)
_SAID = {
    Verdict.FITS: "fits",
    Verdict.FITS_WITH: "fits with more",
    Verdict.NOT_VERIFIED: "is not verified",
    Verdict.DOES_NOT_FIT: "does not fit",
}


def draft_fit(question: FitQuestion, answer: FitAnswer, name: str | None = None) -> FitCase:
    """Draft a case from whether a part fits a bike."""
    where = f" at {question.place}" if question.place else ""
    return FitCase(
        name=name or f"{question.part}{where} {_SAID[answer.verdict]} on {question.bike} on {question.on}",
        why=WHY,
        kind="fit",
        bike=question.bike,
        part=question.part,
        place=question.place,
        date=question.on,
        fitter=question.fitter,
        found=found_entry(question.found),
        verdict=answer.verdict.value,
        rules=_rules(answer),
        extras=_extras(answer),
        total=answer.total if answer.verdict in _YES else None,
        missing=_sorted(x.fact for x in answer.missing) if answer.verdict is Verdict.NOT_VERIFIED else None,
        advice=_sorted(x.rule for x in answer.advice) or None,
    )


def draft_cart(question: CartQuestion, answer: CartAnswer, name: str | None = None) -> CartCase:
    """Draft a case from whether parts are complete and free of conflicts on a bike."""
    parts = tuple(_one_part(want, "cart") for want in question.wants)
    return CartCase(
        name=name
        or f"{' and '.join(parts)}: the cart {_SAID[answer.verdict]} on {question.bike} on {question.on}",
        why=WHY,
        kind="cart",
        bike=question.bike,
        parts=parts,
        date=question.on,
        fitter=question.fitter,
        found=found_entry(question.found),
        verdict=answer.verdict.value,
        rules=_rules(answer),
        extras=_extras(answer),
        total=answer.total if answer.verdict in _YES else None,
    )


def draft_path(question: PathQuestion, answer: Plan | NoPlan, name: str | None = None) -> PathCase:
    """Draft a case from the cheapest path.

    Raises:
        MalformedQuestion: The question asks for something that a case has no words for.
    """
    if question.may_go:
        raise _no_words("may_go", "leave it out")
    plan = answer if isinstance(answer, Plan) else None
    outcome = _outcome(answer)
    return PathCase(
        name=name or f"{_wanted_words(question)} on {question.bike} from {question.stages[0].on}: {outcome}",
        why=WHY,
        kind="path",
        bike=question.bike,
        found=found_entry(question.found),
        stages=tuple(_stage(stage) for stage in question.stages),
        wanted=tuple(_wanted(want) for want in question.wants),
        budget=question.budget,
        year_budgets={str(year): cap for year, cap in sorted(question.year_budgets.items())},
        resale_counts=question.resale_counts,
        excluded=_sorted(question.excluded),
        locked=_placed(question.locked),
        allow_rewiring=_sorted(question.allowed_rewiring),
        colour=question.colour,
        most_added_kg=question.most_added_kg,
        outcome=outcome,
        total=_money(plan.total) if plan else None,
        visits=tuple(_visit(visit) for visit in plan.visits) if plan else None,
    )


def draft_carry_over(
    question: CarryOverQuestion, answer: CarryOverAnswer, name: str | None = None
) -> CarryOverCase:
    """Draft a case from what goes on to the next bike.

    Raises:
        MalformedQuestion: Nothing could go on: there is no own part on the bike, or one must ask the rider first.
    """
    if not answer.parts:
        raise _no_words("found", "name the parts that are fitted, and a next bike that stands for one")
    return CarryOverCase(
        name=name or f"what goes on from {question.bike} to {question.next_bike} on {question.on}",
        why=WHY,
        kind="carry_over",
        bike=question.bike,
        next_bike=question.next_bike,
        found=found_entry(question.found),
        date=question.on,
        carries={x.part: x.answer for x in answer.parts},
    )


def found_entry(found: AsFound) -> Found | None:
    """Write what is known of a rider's bike as a case has it: who measured something, and when, is left out."""
    if found == STOCK:
        return None
    return Found(
        fitted=tuple(
            FoundPart(
                part=x.placement.part,
                place=x.placement.place,
                paid=x.paid,
                fitted_on=x.fitted_on,
                fitter=x.fitter,  # type: ignore[arg-type]
            )
            for x in found.fitted
        ),
        removed=_placed(found.removed),
        presets=tuple(found.presets),
        unknown_work=_sorted(found.unknown_work),
        measured={x.path: x.value for x in found.measured},
        wiring=dict(sorted(found.wiring)),
        own_parts=tuple(OwnPart.model_validate(x.model_dump()) for x in found.own_parts),
    )


def _rules(answer: FitAnswer | CartAnswer) -> tuple[str, ...] | None:
    return _sorted(x.rule for x in answer.findings) if answer.verdict is Verdict.DOES_NOT_FIT else None


def _extras(answer: FitAnswer | CartAnswer) -> tuple[str, ...] | None:
    if answer.verdict is not Verdict.FITS_WITH:
        return None
    return tuple(sorted([*(x.part for x in answer.extras), *(x.service for x in answer.presets)]))


def _outcome(answer: Plan | NoPlan) -> Literal["path", "no_path", "not_verified"]:
    if isinstance(answer, Plan):
        return "path"
    return "no_path" if answer.reason == "conflict" else "not_verified"


def _money(amount: int) -> int | None:
    """Give what a case can expect: one in which the rider gets money back says nothing of the sum."""
    return amount if amount >= 0 else None


def _stage(stage: Stage) -> StageAsked:
    return StageAsked(date=stage.on, fitter=stage.fitter, budget=stage.budget)


def _wanted(want: Want) -> Wanted:
    return Wanted(
        part=_one_part(want, "wants") if want.parts else None,
        place=want.place,
        zone=want.zone,
        kind=want.kind,
        functions=want.functions,
        lines=want.lines,
        colour=want.colour,
        most_kg=want.most_kg,
        least_w=want.least_w,
        by_visit=want.by,
    )


def _one_part(want: Want, field: str) -> str:
    if len(want.parts) != 1:
        raise _no_words(field, "name one part in each")
    return want.parts[0]


def _wanted_words(question: PathQuestion) -> str:
    words = [
        want.parts[0] if want.parts else (want.zone or want.kind or "something") for want in question.wants
    ]
    return " and ".join(words)


def _visit(visit: Visit) -> ExpectedVisit:
    return ExpectedVisit(
        adds=tuple(sorted(x.part for x in visit.adds)),
        removes=tuple(sorted(x.part for x in visit.removes)),
        total=_money(visit.spent - visit.resale),
    )


def _placed(placements: Iterable[Placement]) -> tuple[PlacedPart, ...]:
    return tuple(PlacedPart(part=x.part, place=x.place) for x in sorted(placements))


def _sorted(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(words)))


def _no_words(field: str, cure: str) -> MalformedQuestion:
    return MalformedQuestion(field, "a case has no words for this", cure)
