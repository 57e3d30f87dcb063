"""An engine with canned answers that hold everything an answer can hold, for tests of shapes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from rules.alternatives import Alternative, Alternatives, Better, Measures, WhatIf
from rules.answer import (
    CarryOver,
    CarryOverAnswer,
    CartAnswer,
    Change,
    Conflict,
    Cure,
    Feed,
    FitAnswer,
    NoPlan,
    Plan,
    PresetMade,
    Proof,
    Visit,
)
from rules.build import Placement
from rules.catalog.facts import Source, Unknown, YearSpan
from rules.engine import Engine
from rules.errors import MalformedQuestion, UnknownBike, UnknownPart, UnknownPlace
from rules.figures import VisitFigures, figures_of
from rules.money import Line
from rules.next_bike import NextBike, path_of
from rules.question import CarryOverQuestion, CartQuestion, FitQuestion, NextBikeQuestion, PathQuestion, Want
from rules.verdict import Calculation, Cause, Entered, Finding, Status, Verdict
from rules.why import Moved, Need, NotBought, Reason, Reasons

SPEAKER = Placement("curlew-slim", "fairing_pods")
GRILLE = Placement("curlew-grille", "fairing_pods")
STOCK = Placement("bench-pod", "fairing_pods")
RADIO = Placement("bench-radio", "dash")
SHEET = Source(kind="maker_sheet", ref="Rushholm data sheet C", date=date(2025, 1, 8))
MISSING = Cause(fact="depth_mm", of="rear_pods", value=Unknown(unknown="measure down to the first rib"))
FINDING = Finding(
    rule="speaker_too_deep",
    status=Status.REFUSED,
    present=frozenset({SPEAKER}),
    causes=(
        Cause(fact="depth_mm", of="curlew-slim", value=41.0, source=SHEET, span=YearSpan(2019, 2021)),
        MISSING,
    ),
    calculation=Calculation(
        equation="depth + margin <= room",
        inputs=(Entered("depth_mm", 41.0, "mm"), Entered("margin_mm", 2.0, "mm")),
        result=43.0,
        limit=40.0,
        unit="mm",
    ),
)
ADVICE = Finding(rule="check_rear_range", status=Status.ADVICE, present=frozenset({SPEAKER}))
WORK = {
    "presets": (PresetMade(amplifier=RADIO, service="curlew-grille", days=3),),
    "lines": (
        Line(kind="part", about="curlew-slim", of="curlew-slim@fairing_pods", total=9_900),
        Line(kind="labour", about="fit_speaker", quantity=25, total=3_125, assumed=True),
    ),
    "advice": (ADVICE,),
    "changes": (Change(kind="re-plugged", first="loom:pods", second="curlew-slim@fairing_pods:terminals"),),
    "feeds": (
        Feed(
            place="fairing_pods",
            side="left",
            speaker="curlew-slim",
            source=RADIO,
            channel="front_left",
            load_ohm=4.0,
        ),
    ),
}


class CannedEngine(Engine):
    """Knows the small catalog's ids, and always gives the same answers."""

    def fit(self, question: FitQuestion) -> FitAnswer:
        """Fits with a grille, in every way that an answer can say so."""
        self._known(question.bike, question.part, question.place)
        return self._canned(question.bike, question.part, question.place)

    def _canned(self, bike: str, part: str, place: str | None) -> FitAnswer:
        there = tuple(
            FitAnswer(
                verdict=verdict, bike=bike, part=part, place=name, findings=(FINDING,), missing=(MISSING,)
            )
            for verdict, name in ((Verdict.DOES_NOT_FIT, "fairing_pods"), (Verdict.NOT_VERIFIED, "rear_pods"))
        )
        return FitAnswer(
            verdict=Verdict.FITS_WITH,
            bike=bike,
            part=part,
            place=place or "fairing_pods",
            findings=(FINDING,),
            extras=(GRILLE,),
            displaced=(STOCK,),
            total=13_025,
            missing=(MISSING,),
            ask="When was it built?",
            alternatives=(Placement("curlew-slim", "rear_pods"),),
            places=there,
            **WORK,  # type: ignore[arg-type]
        )

    def cart(self, question: CartQuestion) -> CartAnswer:
        """Refuses."""
        self._known(question.bike)
        for index, want in enumerate(question.wants):
            self._known(part=want.parts[0], place=want.place)
            if want in question.wants[:index]:
                raise MalformedQuestion(f"parts.{index}", "twice", "Name each part once for each place.")
        return CartAnswer(
            verdict=Verdict.DOES_NOT_FIT,
            bike=question.bike,
            placed=(SPEAKER,),
            findings=(FINDING,),
            extras=(GRILLE,),
            missing=(MISSING,),
            **WORK,  # type: ignore[arg-type]
        )

    def path(self, question: PathQuestion) -> Plan | NoPlan:
        """A plan of two visits, or none within a budget of nothing."""
        self._known(question.bike)
        for want in question.wants:
            for part in want.parts:
                self._known(part=part, place=want.place)
        if question.budget == 0:
            conflict = Conflict(kind="path_budget", about="0")
            return NoPlan(reason="conflict", conflicts=(conflict,), findings=(FINDING,), missing=(MISSING,))
        visits = tuple(self._visits(question))
        return Plan(
            visits=visits,
            spent=13_025,
            resale=500,
            waste=3_125,
            proof=Proof(state="proven", bound=12_525),
            lost_to_missing_facts=(MISSING,),
        )

    def cured(self, question: PathQuestion) -> Plan | NoPlan:
        """The same, with one change of every kind that a cure can hold."""
        answer = self.path(question)
        if isinstance(answer, Plan):
            return answer
        raised = Cure(kind="raise_path_budget", about="path", total=12_525, more=13_025)
        later = Cure(kind="later", about="curlew-slim", total=12_525, visit=2)
        again = Cure(kind="another_visit", about="2031-05-01", total=12_525, on=date(2031, 5, 1))
        return replace(answer, cures=(raised, later, again))

    def alternatives(self, question: PathQuestion) -> Alternatives | NoPlan:
        """The plan, itself as another one, and what one budget would change."""
        answer = self.path(question)
        if isinstance(answer, NoPlan):
            return answer
        measures = Measures(
            total=12_525, spent=13_025, visits=1, waste=3_125, wants_first=0, first_visit=13_025
        )
        better = (Better(what="visits", by=1), Better(what="waste", by=250))
        other = Alternative(plan=answer, better=better, dearer_by=0, measures=measures)
        what_if = WhatIf(
            kind="budget",
            about="2026-05-04",
            budget=14_000,
            used=13_025,
            total_without=12_000,
            better_from=15_000,
            better_total=12_000,
            total_below=None,
        )
        return Alternatives(cheapest=answer, measures=measures, others=(other,), what_ifs=(what_if,))

    def reasons(self, question: PathQuestion) -> Reasons | NoPlan:
        """The plan, one purchase with every kind of reason, and one choice that was not taken."""
        answer = self.path(question)
        if isinstance(answer, NoPlan):
            return answer
        moved = (
            Moved(visit=2, outcome="dearer", by=500, parts=400, labour=100),
            Moved(visit=3, outcome="over_budget", by=0, about="budget 2026-05-04", short=100),
        )
        reason = Reason(
            part=SPEAKER,
            visit=1,
            wanted=("curlew-slim",),
            due=1,
            needed=(Need(rule="speaker_too_deep", by=(GRILLE,), visit=1),),
            for_later=("curlew-grille",),
            bundle="curlew-set",
            moved=moved,
            paid=9_900,
            kept=9_000,
            wasted=900,
        )
        other = NotBought(want="curlew-slim", part=GRILLE, total=13_000, dearer_by=475)
        none = NotBought(want="curlew-slim", part=STOCK, total=None, dearer_by=None)
        return Reasons(plan=answer, purchases=(reason,), not_bought=(other, none))

    def _visits(self, question: PathQuestion) -> Iterator[Visit]:
        for index, stage in enumerate(question.stages):
            first = index == 0
            yield Visit(
                on=stage.on,
                fitter=stage.fitter,
                adds=(SPEAKER, GRILLE) if first else (),
                removes=(STOCK,) if first else (),
                presets=WORK["presets"] if first else (),  # type: ignore[arg-type]
                lines=WORK["lines"] if first else (),  # type: ignore[arg-type]
                spent=13_025 if first else 0,
                resale=500 if first else 0,
                build=frozenset({SPEAKER, GRILLE, RADIO}),
                stays=(SPEAKER, GRILLE) if first else (),
                changes=WORK["changes"],  # type: ignore[arg-type]
                feeds=WORK["feeds"],  # type: ignore[arg-type]
                advice=(ADVICE,),
            )

    def figures(self, question: PathQuestion, plan: Plan) -> tuple[VisitFigures, ...]:
        """The figures of the canned plan, on the first bike as it left the works."""
        return figures_of(self.desk(next(iter(self.catalog.bikes))).bench, plan)

    def carry_over(self, question: CarryOverQuestion) -> CarryOverAnswer:
        """One part goes on with a grille."""
        self._known(question.bike)
        self._known(question.next_bike)
        carried = CarryOver(
            part="curlew-slim",
            from_place="fairing_pods",
            answer="with_adapter",
            to_place="fairing_pods",
            extras=(GRILLE,),
            findings=(FINDING,),
            missing=(MISSING,),
            resale=500,
        )
        return CarryOverAnswer(bike=question.bike, next_bike=question.next_bike, parts=(carried,))

    def next_bike(self, question: NextBikeQuestion) -> NextBike:
        """The canned plan with a speaker pair brought along and a grille sold, and the same with everything new."""
        carried = self.carry_over(
            CarryOverQuestion(bike=question.bike, next_bike=question.next_bike, on=question.stages[0].on)
        )
        plan = self.path(path_of(question))
        assert isinstance(plan, Plan)
        return NextBike(
            wants=question.wants or (Want(zone="fronts", least_w=20.0),),
            parts=carried.parts,
            worth=900,
            plan=plan,
            own=(SPEAKER,),
            sold=(GRILLE,),
            fetched=400,
            net=12_125,
            presets=WORK["presets"],  # type: ignore[arg-type]
            new=plan,
            new_net=11_625,
            ask="When was it built?",
        )

    def _known(self, bike: str | None = None, part: str | None = None, place: str | None = None) -> None:
        bikes = [*self.catalog.bikes, *self.catalog.ambiguous]
        if bike is not None and bike not in bikes:
            raise UnknownBike(bike, bikes)
        if part is not None and part not in self.catalog.parts:
            raise UnknownPart(part, self.catalog.parts)
        if place is not None and place not in self.catalog.places:
            raise UnknownPlace(place, self.catalog.places)
