"""How long a visit's work takes, and until when what is fitted in it is under warranty."""

from __future__ import annotations

from collections.abc import Iterator

from rules.build import Placement
from rules.calculations.calculation import Figure, Result
from rules.calculations.registry import calculation
from rules.catalog.rule import Operation
from rules.figures.figure import Given, Known, VisitFigure, figure
from rules.figures.ridden import Ridden, stated
from rules.labour_time import MOST_PIECES, Piece, labour_time
from rules.money import Line
from rules.verdict import Cause


def labour_figures(ridden: Ridden) -> Iterator[VisitFigure]:
    """Work out the labour that is paid for: one person's minutes, and from start to end with two."""
    lines = [line for line in ridden.visit.lines if line.kind == "labour"][:MOST_PIECES]
    if not lines:
        return
    pieces = tuple(_piece(ridden, line, lines) for line in lines)
    entry, found = calculation("labour_time"), labour_time(pieces)
    units = {x.name: x.unit for x in entry.outputs}
    told: dict[str, Result] = {
        "person_minutes": found.person_minutes,
        "elapsed_two": found.elapsed_two,
        "is_least": found.is_least,
        "order": found.order,
    }
    minutes = stated(tuple(float(x.minutes) for x in pieces), "labour lines of the visit, in their order")
    yield VisitFigure(
        about=(ridden.visit.on.isoformat(),),
        calculation=entry.id,
        inputs=(Given(name="minutes", unit="min", known=minutes),),
        unit=entry.output.unit,
        result=found.person_minutes,
        figures={name: Figure(value=value, unit=units[name]) for name, value in told.items()},
        cautions=entry.cautions,
    )


def _piece(ridden: Ridden, line: Line, lines: list[Line]) -> Piece:
    """Give a line as a piece of work, after all lines of the operations that its rule names."""
    rule = ridden.bench.tables.catalog.rules.get(line.about)
    after = rule.after if isinstance(rule, Operation) else ()
    return Piece(
        name=_name(line), minutes=line.quantity, after=tuple(_name(x) for x in lines if x.about in after)
    )


def _name(line: Line) -> str:
    return f"{line.about} {line.of}".strip()


def warranty_figures(ridden: Ridden) -> Iterator[VisitFigure]:
    """Give the last day under warranty of everything that is fitted new; a flash is work, and no thing."""
    for placed in ridden.visit.adds:
        if ridden.part(placed).kind == "flash":
            continue
        yield figure(
            str(placed),
            "warranty_end",
            {
                "start": stated(ridden.visit.on.isoformat(), "day of the visit"),
                "months": _months(ridden, placed),
            },
        )


def _months(ridden: Ridden, placed: Placement) -> Known:
    part = ridden.part(placed)
    cause = Cause(fact="part.warranty_months", of=part.id, value=part.warranty_months, source=part.source)
    return Known(value=part.warranty_months, causes=(cause,))
