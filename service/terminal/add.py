"""`loomway add`: templates for a model year, a family, a part, a rule."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from service.authoring.new_family import FamilyAsked, new_family
from service.authoring.new_part import PartAsked, new_part, priced
from service.authoring.new_rule import new_rule
from service.authoring.new_year import new_year
from service.authoring.proposal import neighbours
from service.terminal.output import hint
from service.terminal.propose import propose

_TO_DO = "what is marked FILL IN, and each unknown that somebody has measured, is yours to replace"


def add_year(
    directory: Path, family: str, year: int, changes: tuple[str, ...], on: date, *, write: bool
) -> None:
    """Propose a new model year of a family."""
    proposal = new_year(directory, family, year, changes, on)
    propose(directory, proposal, write=write)
    hint(_TO_DO)


def add_family(directory: Path, asked: FamilyAsked, on: date, *, write: bool) -> None:
    """Propose a file for a new family."""
    propose(directory, new_family(directory, asked, on), write=write)
    hint(_TO_DO)


def add_part(directory: Path, asked: PartAsked, price: int | None, on: date, *, write: bool) -> None:
    """Propose a new part, with its price where that is given."""
    proposals = [new_part(directory, asked, on)]
    if price is not None:
        proposals.append(priced(directory, neighbours(directory), asked.part, price))
    propose(directory, *proposals, write=write)
    hint(_TO_DO)


def add_rule(
    directory: Path, rule: str, kind: str, topic: str, *, like: str | None, on: date, write: bool
) -> None:
    """Propose a new rule."""
    proposal = new_rule(directory, rule, kind, topic, like=like, on=on)
    propose(directory, proposal, write=write)
    hint(_TO_DO)
