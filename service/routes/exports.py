"""Everything about one bike, one part or one part line at once, a line of JSON for each pair, as it is worked out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import islice
from typing import Annotated

from fastapi import APIRouter, Path, Query
from fastapi.responses import StreamingResponse

from rules.question import FitQuestion
from service.dependencies import BikeId, PartId, ServingDep, TodayDep
from service.serving import Serving, UnknownLine
from service.shapes.fitment import ExportAsked
from service.storefront.answers import export_ends, export_head, fit_row

router = APIRouter(include_in_schema=False)
"""Not in the document: what it says of an answer is for one JSON value, and these are many. docs/api.md has them."""

AT_ONCE = 50
"""Lines that are sent together."""

LineId = Annotated[str, Path(max_length=80, description="Id of a part line.")]


@router.get("/v1/bikes/{bike}/parts.ndjson")
def export_parts(
    bike: BikeId, asked: Annotated[ExportAsked, Query()], serving: ServingDep, today: TodayDep
) -> StreamingResponse:
    """Every part that has a slot and is sold, on one bike as it left the works."""
    return _export([serving.bike_name(bike)], _sold(serving), asked, serving, asked.on or today)


@router.get("/v1/parts/{part}/bikes.ndjson")
def export_bikes(
    part: PartId, asked: Annotated[ExportAsked, Query()], serving: ServingDep, today: TodayDep
) -> StreamingResponse:
    """Every bike, for one part."""
    return _export(serving.catalog.bikes, [serving.part(part).id], asked, serving, asked.on or today)


@router.get("/v1/lines/{line}/fitment.ndjson")
def export_line(
    line: LineId, asked: Annotated[ExportAsked, Query()], serving: ServingDep, today: TodayDep
) -> StreamingResponse:
    """Every bike, for every part of a line."""
    lines = serving.catalog.lines
    if line not in lines.values():
        raise UnknownLine(line, sorted(set(lines.values())))
    parts = [part for part in _sold(serving) if lines[part] == line]
    return _export(serving.catalog.bikes, parts, asked, serving, asked.on or today)


def _sold(serving: Serving) -> list[str]:
    return [x.id for x in serving.catalog.parts.values() if x.slot and not x.stock_only]


def _export(
    bikes: Iterable[str], parts: list[str], asked: ExportAsked, serving: Serving, on: date
) -> StreamingResponse:
    questions = (
        FitQuestion(bike=bike, part=part, on=on, fitter=asked.fitter) for bike in bikes for part in parts
    )
    return StreamingResponse(
        _lines(questions, asked, serving, on),
        media_type="application/x-ndjson",
        headers={"Cache-Control": "no-store"},
    )


def _lines(
    questions: Iterator[FitQuestion], asked: ExportAsked, serving: Serving, on: date
) -> Iterator[bytes]:
    """Give the release, the rows, and at last how many there were: what ends without that is not complete."""
    yield export_head(on, serving)
    sent = 0
    while some := list(islice(questions, AT_ONCE)):
        told = (fit_row(question, serving) for question in some)
        rows = [row + b"\n" for verdict, row in told if verdict in asked.verdict]
        sent += len(rows)
        yield b"".join(rows)
    yield export_ends(sent)
