"""Does a part fit a bike: the question, the answer, many at once, and the lists of what fits."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from itertools import islice
from typing import Annotated, Self

from pydantic import Field

from rules.answer import FitAnswer
from rules.catalog.catalog import Catalog
from rules.catalog.part import Kind
from rules.question import FitQuestion, Fitter
from rules.verdict import Verdict
from service.serving import Serving
from service.shapes.base import Asked, Day, FitterWord, Id, Told
from service.shapes.finding import FindingTold, findings_told
from service.shapes.found import FoundAsked
from service.shapes.judged import JudgedTold, judged
from service.shapes.page import Page, PageAsked, PageTold
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.problem import Problem
from service.shapes.release import ReleaseNamed

MOST_WORKED_OUT = 40
"""Questions for one page: a list may ask about every bike there is, and no request may take minutes."""

FITTER: FitterWord = Field(default="shop", description="Who fits: the workshop, or the rider at home.")


class PinnedFitAsked(Asked):
    """How to ask about a part and a bike at a pinned address."""

    place: str | None = Field(
        default=None, max_length=80, description="Where; left out, anywhere on the bike."
    )
    fitter: FitterWord = FITTER

    def to_domain(self, bike: str, part: str, on: date) -> FitQuestion:
        """Read it for a bike, a part and a day."""
        return FitQuestion(bike=bike, part=part, place=self.place, on=on, fitter=self.fitter)


class FitAsked(PinnedFitAsked):
    """How to ask about a part and a bike."""

    on: Day | None = Field(default=None, description="The day of fitting; left out, today at the shop.")


class PlaceFitTold(Told):
    """The answer for one place."""

    place: str
    place_name: str
    verdict: Verdict
    findings: tuple[FindingTold, ...]
    extras: tuple[PlacementTold, ...]
    displaced: tuple[PlacementTold, ...]
    total_minor: int | None

    @classmethod
    def from_domain(cls, answer: FitAnswer, catalog: Catalog) -> Self:
        """Write the answer for one of a bike's places."""
        place = answer.place or ""
        return cls(
            place=place,
            place_name=catalog.places[place].name if place in catalog.places else place,
            verdict=answer.verdict,
            findings=findings_told(answer.findings, catalog),
            extras=placements_told(answer.extras, catalog),
            displaced=placements_told(answer.displaced, catalog),
            total_minor=answer.total,
        )


class FitTold(JudgedTold):
    """Whether a part fits a bike, why, and what it takes: `place` is where it goes, or the best of all places asked."""

    bike: str
    part: str
    name: str
    place: str | None
    on: date
    fitter: Fitter
    currency: str
    alternatives: tuple[PlacementTold, ...]
    places: tuple[PlaceFitTold, ...]

    @classmethod
    def from_domain(cls, answer: FitAnswer, question: FitQuestion, serving: Serving) -> Self:
        """Write an answer."""
        catalog = serving.catalog_of(question.found)
        return cls(
            **judged(answer, catalog),
            bike=answer.bike,
            part=answer.part,
            name=catalog.parts[answer.part].name,
            place=answer.place,
            on=question.on,
            fitter=question.fitter,
            currency=catalog.shop.currency,
            alternatives=placements_told(answer.alternatives, catalog),
            places=tuple(PlaceFitTold.from_domain(place, catalog) for place in answer.places),
        )


class FitResponse(Told):
    """One answer. `pinned` is the address of this very answer for ever."""

    release: ReleaseNamed
    pinned: str
    answer: FitTold

    @classmethod
    def from_domain(cls, answer: FitAnswer, question: FitQuestion, pinned: str, serving: Serving) -> Self:
        """Write the response."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            pinned=pinned,
            answer=FitTold.from_domain(answer, question, serving),
        )


class FitQuestionAsked(Asked):
    """One question of many: a part on a bike as it was found."""

    bike: Id
    part: Id
    place: Id | None = None
    on: Day | None = None
    fitter: FitterWord = "shop"
    found: FoundAsked = FoundAsked()

    def to_domain(self, today: date) -> FitQuestion:
        """Read it."""
        return FitQuestion(
            bike=self.bike,
            part=self.part,
            place=self.place,
            on=self.on or today,
            fitter=self.fitter,
            found=self.found.to_domain(),
        )


class FitChecksAsked(Asked):
    """Many questions, all answered from one release."""

    questions: Annotated[tuple[FitQuestionAsked, ...], Field(min_length=1, max_length=1_000)]


class FitCheckTold(Told):
    """The answer to one question of many, or the problem with it.

    `status` is what it would have had alone.
    """

    status: int
    answer: FitTold | None
    problem: Problem | None


class FitChecksTold(Told):
    """Answers in the order of the questions."""

    release: ReleaseNamed
    results: tuple[FitCheckTold, ...]

    @classmethod
    def from_domain(cls, results: Iterable[FitCheckTold], serving: Serving) -> Self:
        """Write the response."""
        return cls(release=ReleaseNamed.from_domain(serving), results=tuple(results))


class ExportAsked(Asked):
    """Which answers to give."""

    on: Day | None = Field(default=None, description="The day of fitting; left out, today at the shop.")
    fitter: FitterWord = FITTER
    verdict: list[Verdict] = Field(
        default=[Verdict.FITS, Verdict.FITS_WITH],
        max_length=4,
        description="Verdicts to list; may be given several times.",
    )


class FittingAsked(ExportAsked, PageAsked):
    """Which answers to list."""

    def to_page(
        self,
        questions: Iterable[FitQuestion],
        row: Callable[[FitQuestion], tuple[Verdict, bytes]],
        key: Callable[[FitQuestion], str],
    ) -> Page[bytes]:
        """Ask until the page is full, or holds as many answers as one request may have worked out."""
        to_come = iter(questions)
        rows: list[bytes] = []
        last: str | None = None
        for question in islice(to_come, MOST_WORKED_OUT):
            if len(rows) == self.limit:
                return Page(rows=tuple(rows), complete=False, next=last)
            (verdict, told), last = row(question), key(question)
            rows += [told] if verdict in self.verdict else []
        complete = next(to_come, None) is None
        return Page(rows=tuple(rows), complete=complete, next=None if complete else last)


class FittingBikesAsked(FittingAsked):
    """Which bikes to list for a part."""

    def to_domain(self, part: str, on: date, catalog: Catalog) -> Iterator[FitQuestion]:
        """Ask about every bike that is to come."""
        for bike in self.to_come(catalog.bikes):
            yield FitQuestion(bike=bike, part=part, on=on, fitter=self.fitter)


class FittingPartsAsked(FittingAsked):
    """Which parts to list for a bike."""

    kind: Kind | None = Field(default=None, description="Kind of part.")
    place: str | None = Field(default=None, max_length=80, description="Only what fits at this place.")

    def to_domain(self, bike: str, on: date, catalog: Catalog) -> Iterator[FitQuestion]:
        """Ask about every part to come that is of the kind, has a slot, and is sold at all."""
        for name in self.to_come(catalog.parts):
            part = catalog.parts[name]
            if self.kind in (None, part.kind) and part.slot and not part.stock_only:
                yield FitQuestion(bike=bike, part=name, place=self.place, on=on, fitter=self.fitter)


class FittingRow(Told):
    """One part on one bike, in short; /v1/fitment/{bike}/{part} has the reasons."""

    bike: str
    part: str
    name: str
    kind: Kind
    verdict: Verdict
    place: str | None
    extras: tuple[PlacementTold, ...]
    total_minor: int | None

    @classmethod
    def from_domain(cls, answer: FitAnswer, catalog: Catalog) -> Self:
        """Write an answer as a row."""
        part = catalog.parts[answer.part]
        return cls(
            bike=answer.bike,
            part=part.id,
            name=part.name,
            kind=part.kind,
            verdict=answer.verdict,
            place=answer.place,
            extras=placements_told(answer.extras, catalog),
            total_minor=answer.total,
        )


class FittingTold(PageTold):
    """What fits, in order of id."""

    on: date
    currency: str
    rows: tuple[FittingRow, ...]

    @classmethod
    def from_domain(cls, page: Page[FitAnswer], on: date, serving: Serving) -> Self:
        """Write a page."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            on=on,
            currency=serving.catalog.shop.currency,
            rows=tuple(FittingRow.from_domain(answer, serving.catalog) for answer in page.rows),
            complete=page.complete,
            next=page.next,
        )
