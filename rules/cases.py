"""Cases: the catalog manager's questions with expected answers, asked of the engine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rules.answer import CarryOverAnswer, CartAnswer, FitAnswer, NoPlan, Plan, Visit
from rules.build import AsFound, LedgerEntry, Measured, Placement
from rules.catalog.case import (
    CarryOverCase,
    CartCase,
    Case,
    ExpectedVisit,
    FitCase,
    Found,
    NextBikeCase,
    PathCase,
    StageAsked,
    Wanted,
)
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.next_bike import NextBike
from rules.question import (
    CarryOverQuestion,
    CartQuestion,
    FitQuestion,
    NextBikeQuestion,
    PathQuestion,
    Stage,
    Want,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseResult:
    """One case's outcome: what came out otherwise than expected, a line each."""

    name: str
    differences: tuple[str, ...]

    @property
    def passed(self) -> bool:
        """Tell whether the answer is as expected."""
        return not self.differences


DRAFT = "why: nobody has written yet why this answer is right"
"""What is wrong with a case that was drafted from an answer, and that nobody has thought about."""


def run_cases(engine: Engine) -> tuple[CaseResult, ...]:
    """Ask every case of the engine's catalog, in order; a draft fails, whatever it expects."""
    return (*(run_case(engine, case) for case in engine.catalog.cases), *failed_drafts(engine.catalog))


def failed_drafts(catalog: Catalog) -> tuple[CaseResult, ...]:
    """Give what becomes of the drafts of a catalog."""
    return tuple(CaseResult(name=case.name, differences=(DRAFT,)) for case in catalog.drafts)


def run_case(engine: Engine, case: Case) -> CaseResult:
    """Ask one case."""
    return CaseResult(name=case.name, differences=differences(case, answer_case(engine, case)))


CaseAnswer = FitAnswer | CartAnswer | Plan | NoPlan | CarryOverAnswer | NextBike


def answer_case(engine: Engine, case: Case) -> CaseAnswer:
    """Ask a case's question.

    Raises: `LoomwayError` where the question itself makes no sense.
    """
    match case:
        case FitCase():
            return engine.fit(_fit_question(case))
        case CartCase():
            return engine.cart(_cart_question(case))
        case PathCase():
            return engine.path(path_question(case))
        case CarryOverCase():
            return engine.carry_over(_carry_over_question(case))
        case NextBikeCase():
            return engine.next_bike(_next_bike_question(case))


def differences(case: Case, answer: CaseAnswer) -> tuple[str, ...]:
    """Say in what an answer is otherwise than a case expects, a line each."""
    match case, answer:
        case FitCase(), FitAnswer():
            return tuple(_fit(case, answer))
        case CartCase(), CartAnswer():
            return tuple(_verdict(case, answer))
        case PathCase(), Plan() | NoPlan():
            return tuple(_path(case, answer))
        case CarryOverCase(), CarryOverAnswer():
            return tuple(_carry_over(case, answer))
        case NextBikeCase(), NextBike():
            return tuple(_next_bike(case, answer))
    message = "this is the answer of another kind of question"
    raise TypeError(message)


def found_of(found: Found | None) -> AsFound:
    """Read what a case says of a rider's own bike."""
    if found is None:
        return AsFound()
    return AsFound(
        fitted=tuple(
            LedgerEntry(
                placement=Placement(x.part, x.place), paid=x.paid, fitted_on=x.fitted_on, fitter=x.fitter
            )
            for x in found.fitted
        ),
        removed=tuple(Placement(x.part, x.place) for x in found.removed),
        presets=found.presets,
        unknown_work=frozenset(found.unknown_work),
        measured=tuple(Measured(path=path, value=value) for path, value in sorted(found.measured.items())),
        wiring=frozenset(found.wiring.items()),
        own_parts=found.own_parts,
    )


def _fit_question(case: FitCase) -> FitQuestion:
    return FitQuestion(
        bike=case.bike,
        part=case.part,
        place=case.place,
        on=case.date,
        fitter=case.fitter,
        found=found_of(case.found),
    )


def _fit(case: FitCase, answer: FitAnswer) -> Iterator[str]:
    yield from _verdict(case, answer)
    if case.missing is not None:
        yield from _differ("missing", sorted(set(case.missing)), sorted({x.fact for x in answer.missing}))
    if case.advice is not None:
        yield from _differ("advice", sorted(set(case.advice)), sorted({x.rule for x in answer.advice}))


def _cart_question(case: CartCase) -> CartQuestion:
    return CartQuestion(
        bike=case.bike,
        wants=tuple(Want(parts=(part,)) for part in case.parts),
        on=case.date,
        fitter=case.fitter,
        found=found_of(case.found),
    )


def _verdict(case: FitCase | CartCase, answer: FitAnswer | CartAnswer) -> Iterator[str]:
    yield from _differ("verdict", case.verdict, answer.verdict.value)
    if case.rules is not None:
        yield from _differ("rules", sorted(set(case.rules)), sorted({x.rule for x in answer.findings}))
    if case.extras is not None:
        extras = [*(x.part for x in answer.extras), *(x.service for x in answer.presets)]
        yield from _differ("extras", sorted(case.extras), sorted(extras))
    if case.total is not None:
        yield from _differ("total", case.total, answer.total)


def path_question(case: PathCase) -> PathQuestion:
    """Read a path case as a question."""
    return PathQuestion(
        bike=case.bike,
        stages=_stages(case.stages),
        wants=tuple(_want(x) for x in case.wanted),
        found=found_of(case.found),
        budget=case.budget,
        year_budgets={int(year): cap for year, cap in sorted(case.year_budgets.items())},
        resale_counts=case.resale_counts,
        excluded=frozenset(case.excluded),
        locked=frozenset(Placement(x.part, x.place) for x in case.locked),
        allowed_rewiring=frozenset(case.allow_rewiring),
        colour=case.colour,
        most_added_kg=case.most_added_kg,
    )


def _stages(stages: tuple[StageAsked, ...]) -> tuple[Stage, ...]:
    return tuple(Stage(on=x.date, fitter=x.fitter, budget=x.budget) for x in stages)


def _want(wanted: Wanted) -> Want:
    return Want(
        parts=() if wanted.part is None else (wanted.part,),
        place=wanted.place,
        zone=wanted.zone,
        kind=wanted.kind,
        functions=wanted.functions,
        lines=wanted.lines,
        colour=wanted.colour,
        most_kg=wanted.most_kg,
        least_w=wanted.least_w,
        by=wanted.by_visit,
    )


def _path(case: PathCase, answer: Plan | NoPlan) -> Iterator[str]:
    outcome = _outcome(answer)
    yield from _differ("outcome", case.outcome, outcome)
    if isinstance(answer, Plan):
        if case.total is not None:
            yield from _differ("total", case.total, answer.total)
        if case.visits is not None:
            yield from _differ("visits", len(case.visits), len(answer.visits))
        for index, (wanted, visit) in enumerate(zip(case.visits or (), answer.visits, strict=False), 1):
            yield from _visit(f"visit {index}", wanted, visit)


def _outcome(answer: Plan | NoPlan) -> str:
    if isinstance(answer, Plan):
        return "path"
    return "no_path" if answer.reason == "conflict" else "not_verified"


def _visit(name: str, wanted: ExpectedVisit, visit: Visit) -> Iterator[str]:
    if wanted.adds is not None:
        yield from _differ(f"{name} adds", sorted(wanted.adds), sorted(x.part for x in visit.adds))
    if wanted.removes is not None:
        yield from _differ(f"{name} removes", sorted(wanted.removes), sorted(x.part for x in visit.removes))
    if wanted.total is not None:
        yield from _differ(f"{name} total", wanted.total, visit.spent - visit.resale)


def _carry_over_question(case: CarryOverCase) -> CarryOverQuestion:
    return CarryOverQuestion(
        bike=case.bike, next_bike=case.next_bike, on=case.date, found=found_of(case.found)
    )


def _carry_over(case: CarryOverCase, answer: CarryOverAnswer) -> Iterator[str]:
    answers = {x.part: x.answer for x in answer.parts}
    for part, expected in sorted(case.carries.items()):
        yield from _differ(part, expected, answers.get(part))


def _next_bike_question(case: NextBikeCase) -> NextBikeQuestion:
    return NextBikeQuestion(
        bike=case.bike,
        next_bike=case.next_bike,
        stages=_stages(case.stages),
        wants=tuple(_want(x) for x in case.wanted),
        found=found_of(case.found),
    )


def _next_bike(case: NextBikeCase, answer: NextBike) -> Iterator[str]:
    yield from _differ("net", case.net, answer.net)
    if case.new_net is not None:
        yield from _differ("new_net", case.new_net, answer.new_net)
    for name, expected, found in (("takes", case.takes, answer.own), ("sells", case.sells, answer.sold)):
        if expected is not None:
            yield from _differ(name, sorted(expected), sorted(x.part for x in found))


def _differ(what: str, expected: object, found: object) -> Iterator[str]:
    if expected != found:
        yield f"{what}: expected {expected}, found {found}"
