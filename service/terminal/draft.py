"""`loomway draft`: cases from what the engine answers now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pydantic import ValidationError

from rules.build import STOCK, AsFound
from rules.cases import found_of
from rules.catalog.case import Case, Found
from rules.drafting import draft_carry_over, draft_cart, draft_fit, draft_path
from rules.engine import Engine
from rules.question import CarryOverQuestion, CartQuestion, FitQuestion, Fitter, Want
from service.authoring.new_case import new_case
from service.authoring.proposal import neighbours
from service.faults import faults
from service.terminal.mistakes import WrongCommand
from service.terminal.output import hint
from service.terminal.propose import propose
from service.terminal.question import read_path_question, read_yaml


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftAsked:
    """Where a drafted case goes. `found` is a file with what is known of the rider's bike, as a case has it."""

    catalog: Path
    into: str
    name: str | None
    found: Path | None = None
    write: bool = False


def draft_a_fit(
    asked: DraftAsked, bike: str, part: str, *, place: str | None, on: date, fitter: Fitter
) -> None:
    """Draft a case from whether a part fits."""
    question = FitQuestion(bike=bike, part=part, place=place, on=on, fitter=fitter, found=_found(asked.found))
    _keep(asked, draft_fit(question, _engine(asked).fit(question), asked.name))


def draft_a_cart(asked: DraftAsked, bike: str, parts: tuple[str, ...], *, on: date, fitter: Fitter) -> None:
    """Draft a case from whether a cart is complete."""
    wants = tuple(Want(parts=(part,)) for part in parts)
    question = CartQuestion(bike=bike, wants=wants, on=on, fitter=fitter, found=_found(asked.found))
    _keep(asked, draft_cart(question, _engine(asked).cart(question), asked.name))


def draft_a_path(asked: DraftAsked, file: Path) -> None:
    """Draft a case from a plan's question."""
    question = read_path_question(file).to_domain()
    _keep(asked, draft_path(question, _engine(asked).path(question), asked.name))


def draft_a_carry_over(asked: DraftAsked, bike: str, next_bike: str, *, on: date) -> None:
    """Draft a case from what goes on to the next bike."""
    question = CarryOverQuestion(bike=bike, next_bike=next_bike, on=on, found=_found(asked.found))
    _keep(asked, draft_carry_over(question, _engine(asked).carry_over(question), asked.name))


def _engine(asked: DraftAsked) -> Engine:
    return Engine(neighbours(asked.catalog))


def _keep(asked: DraftAsked, case: Case) -> None:
    propose(asked.catalog, new_case(asked.catalog, case, asked.into), write=asked.write)
    hint("check what it expects, and write why; until then it counts for nothing, and `loomway cases` fails")


def _found(file: Path | None) -> AsFound:
    """Read what is known of a rider's bike.

    Raises:
        WrongCommand: With every fault of the file.
    """
    if file is None:
        return STOCK
    try:
        return found_of(Found.model_validate(read_yaml(file)))
    except ValidationError as error:
        told = [
            f"{file}: {fault.field.strip('/').replace('/', '.')}: {fault.says}"
            for fault in faults(error.errors())
        ]
        raise WrongCommand("\n".join(told)) from error
