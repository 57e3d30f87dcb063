"""How a plan is written down: its question in the words of the API, the rest as its data is named."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import TypeAdapter

from rules.answer import Plan
from rules.build import AsFound, LedgerEntry, Measured, Placement
from rules.catalog.facts import Unknown
from rules.done import VisitDone
from rules.question import PathQuestion, Stage, Want
from service.plans.saved import Moved, Pinned, SavedPlan
from service.shapes.found import FoundAsked
from service.shapes.paths import PathAsked

Word = TypeVar("Word", Placement, str)

FORM = 1
"""Raised when what is written below can no longer be read by this module."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Written:
    """What of a plan is in the content of a revision; its id, rider and dates are columns."""

    form: int
    question: dict[str, Any]
    plan: Plan
    pinned: Pinned
    done: tuple[VisitDone, ...]
    planned_after: int
    moved: dict[str, Any] | None
    corrected_found: dict[str, Any] | None = None


_WRITTEN = TypeAdapter(_Written)


def to_content(saved: SavedPlan) -> str:
    """Write a plan down.

    Raises:
        ValueError: It could not be read again: nothing is written that would be lost.
    """
    written = _Written(
        form=FORM,
        question=question_asked(saved.question),
        plan=saved.plan,
        pinned=saved.pinned,
        done=saved.done,
        planned_after=saved.planned_after,
        moved=None if saved.moved is None else _moved_written(saved.moved),
        corrected_found=None if saved.corrected_found is None else found_asked(saved.corrected_found),
    )
    content = _WRITTEN.dump_json(written).decode()
    if _read_back(content) != (saved.question, saved.plan, saved.done):
        raise ValueError("this plan could not be read again")
    return content


def _read_back(content: str) -> tuple[PathQuestion, Plan, tuple[VisitDone, ...]]:
    read = _WRITTEN.validate_json(content)
    return read_question(read.question), read.plan, read.done


def from_content(content: str, **about: Any) -> SavedPlan:  # noqa: ANN401 -- the columns, by name
    """Read a plan.

    Args:
        about: What is not in the content: id, revision, rider and dates.
    """
    written = _WRITTEN.validate_json(content)
    return SavedPlan(
        question=read_question(written.question),
        plan=written.plan,
        pinned=written.pinned,
        done=written.done,
        planned_after=written.planned_after,
        moved=None if written.moved is None else _moved_read(written.moved),
        corrected_found=None if written.corrected_found is None else _read_found(written.corrected_found),
        **about,
    )


def read_question(asked: dict[str, Any]) -> PathQuestion:
    """Read a question as the API is asked it."""
    return PathAsked.model_validate_json(json.dumps(asked)).to_domain()


def question_asked(question: PathQuestion) -> dict[str, Any]:
    """Write a question as the API is asked it; what is left as it is by itself is left out."""
    asked = {
        "bike": question.bike,
        "visits": [_stage(x) for x in question.stages],
        "wants": [want_asked(x) for x in question.wants],
        "found": found_asked(question.found),
        "budget_minor": question.budget,
        "year_budgets": [{"year": x, "budget_minor": y} for x, y in sorted(question.year_budgets.items())],
        "resale_counts": question.resale_counts,
        "excluded": sorted(question.excluded),
        "locked": [_placement(x) for x in sorted(question.locked)],
        "allowed_rewiring": sorted(question.allowed_rewiring),
        "may_go": [_placement(x) for x in sorted(question.may_go)],
        "colour": question.colour,
        "most_added_kg": question.most_added_kg,
    }
    return _said(asked)


def found_asked(found: AsFound) -> dict[str, Any]:
    """Write a bike as found as the API is asked about it."""
    return _said(
        {
            "fitted": [_fitted(x) for x in found.fitted],
            "removed": [_placement(x) for x in _in_order(found.removed)],
            "presets": list(_in_order(found.presets)),
            "unknown_work": sorted(found.unknown_work),
            "measured": [_measured(x) for x in found.measured],
            "wiring": [{"one": one, "other": other} for one, other in sorted(found.wiring)],
            "own_parts": [x.model_dump(mode="json", exclude_unset=True) for x in found.own_parts],
        }
    )


def _read_found(asked: dict[str, Any]) -> AsFound:
    return FoundAsked.model_validate_json(json.dumps(asked)).to_domain()


def _in_order(words: Collection[Word]) -> Iterable[Word]:
    """Give the order of the question, where it has one."""
    return words if isinstance(words, tuple) else sorted(words)


def _stage(stage: Stage) -> dict[str, Any]:
    return _said({"on": stage.on.isoformat(), "fitter": stage.fitter, "budget_minor": stage.budget})


def want_asked(want: Want) -> dict[str, Any]:
    """Write a want as the API is asked for it."""
    return _said(
        {
            "any_of": list(want.parts),
            "place": want.place,
            "zone": want.zone,
            "kind": want.kind,
            "functions": list(want.functions),
            "lines": list(want.lines),
            "colour": want.colour,
            "most_kg": want.most_kg,
            "least_power_w": want.least_w,
            "by_visit": want.by,
        }
    )


def _placement(placed: Placement) -> dict[str, Any]:
    return {"part": placed.part, "place": placed.place}


def _fitted(entry: LedgerEntry) -> dict[str, Any]:
    on = None if entry.fitted_on is None else entry.fitted_on.isoformat()
    known = {"paid_minor": entry.paid, "fitted_on": on, "fitter": entry.fitter}
    return {**_placement(entry.placement), **_said(known)}


def _measured(fact: Measured) -> dict[str, Any]:
    unknown = isinstance(fact.value, Unknown)
    told = {
        "measure": fact.value.unknown if isinstance(fact.value, Unknown) else None,
        "by": fact.by,
        "on": None if fact.on is None else fact.on.isoformat(),
        "photo": fact.photo,
    }
    value = list(fact.value) if isinstance(fact.value, tuple) else fact.value
    return {"path": fact.path, "value": None if unknown else value, **_said(told)}


def _said(told: dict[str, Any]) -> dict[str, Any]:
    """Leave out what says nothing; a budget of nothing says a lot."""
    return {name: value for name, value in told.items() if not _is_silent(value)}


def _is_silent(value: object) -> bool:
    return value is None or value is False or (isinstance(value, list | dict | str) and not value)


def _moved_written(moved: Moved) -> dict[str, Any]:
    return {
        "plan": moved.plan,
        "bike": moved.bike,
        "found": found_asked(moved.found),
        "own": [_placement(x) for x in moved.own],
        "sold": [_placement(x) for x in moved.sold],
        "fetched": moved.fetched,
    }


def _moved_read(written: dict[str, Any]) -> Moved:
    return Moved(
        plan=written["plan"],
        bike=written["bike"],
        found=_read_found(written["found"]),
        own=tuple(Placement(**x) for x in written["own"]),
        sold=tuple(Placement(**x) for x in written["sold"]),
        fetched=written["fetched"],
    )
