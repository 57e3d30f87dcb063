"""A saved plan whose release is not there any more: what the catalog of today does not know keeps its id for a name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from rules.answer import Plan, Visit
from rules.catalog.catalog import Catalog
from rules.catalog.facts import Source
from rules.catalog.part import Part
from rules.question import PathQuestion


def readable(question: PathQuestion, plan: Plan, catalog: Catalog) -> tuple[PathQuestion, Plan]:
    """Make a plan readable under another catalog than its own.

    Parts that this one does not know are named by their ids. How plugs were mated is left out: a plug may be another one now.
    """
    known = catalog.parts.keys() | {x.id for x in question.found.own_parts}
    stubs = tuple(_stub(x) for x in sorted(set(_parts(question, plan)) - known))
    found = replace(question.found, own_parts=(*question.found.own_parts, *stubs), measured=())
    visits = tuple(_without_plugs(x) for x in plan.visits)
    return replace(question, found=found), replace(plan, visits=visits, start_wiring=None)


def _parts(question: PathQuestion, plan: Plan) -> Iterator[str]:
    yield from (x.placement.part for x in question.found.fitted)
    yield from (x.part for x in question.found.removed)
    yield from (part for want in question.wants for part in want.parts)
    yield from (x.part for x in plan.ledger)
    for visit in plan.visits:
        yield from (x.part for x in (*visit.adds, *visit.removes, *visit.build))


def _stub(name: str) -> Part:
    source = Source(kind="assumed", ref="not in the catalog any more", date=date.min)
    return Part(id=name, name=name, kind="hardware", source=source)


def _without_plugs(visit: Visit) -> Visit:
    return replace(visit, wiring=None, changes=(), feeds=())
