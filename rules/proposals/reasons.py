"""Why a system is proposed, in the rider's words; each reason says what it rests on. More level is never one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from rules.calculations.registry import calculation
from rules.catalog.catalog import Catalog
from rules.cautions import PRACTICE
from rules.explain import sentence
from rules.figures import VisitFigures
from rules.figures.figure import VisitFigure
from rules.proposals.brief import Brief
from rules.proposals.system import BASS, FRONTS, LIDS, LOWERS, REARS, System
from rules.verdict import Finding

Basis = Literal["calculation", "rule", "practice"]

FAST_KMH = 110.0
"""Speed for which wind in a helmet is told to who rides fast [km/h]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One sentence, what the rider said that it answers, and what it rests on.

    Attributes:
        answers: Fields of the brief: rides, passenger, listens, annoys, parked, functions; empty for what is always so.
        cites: Id of the calculation or rule; that it is common practice without a source, where it is that.
        source: Of the calculation, as published.
    """

    says: str
    answers: tuple[str, ...] = ()
    basis: Basis = "practice"
    cites: str = PRACTICE
    source: str = ""


def reasons_of(
    system: System, brief: Brief, last: VisitFigures, advice: Iterable[Finding], catalog: Catalog
) -> tuple[Reason, ...]:
    """Give the reasons of a system, and what to mind with it.

    Args:
        last: Figures of the bike as it is ridden in the end.
        advice: That the catalog's rules give of the plan.
    """
    return (
        *_of_zones(system, brief),
        *(_of_amplifier(brief) if system.amplified else _of_radio(brief)),
        *_of_brief(brief),
        *_of_figures(brief, last),
        *_of_rules(advice, catalog),
    )


_ZONES = {
    FRONTS: "The fronts face you, so most of what you hear comes from them; they come first.",
    REARS: "What your passenger hears comes from the rears.",
    LIDS: "Lids play to the rear, for your passenger and for a stop by the road.",
    LOWERS: "Lowers add a second pair in front of you where there is room for no larger one.",
    BASS: "Low notes take air: a large speaker in a closed case makes them, and the small ones need not try.",
}
"""Common practice, no source."""


def _of_zones(system: System, brief: Brief) -> Iterator[Reason]:
    misses = {"listens": brief.says("low_notes"), "annoys": brief.says("thin")}
    unheard = {"passenger": True, "annoys": brief.says("passenger_hears_nothing")}
    answers = {REARS: _true(unheard), BASS: _true(misses)}
    for zone in system.zones:
        yield Reason(says=_ZONES[zone], answers=answers.get(zone, ()))


def _true(said: dict[str, bool]) -> tuple[str, ...]:
    return tuple(field for field, is_said in said.items() if is_said)


def _of_amplifier(brief: Brief) -> Iterator[Reason]:
    if brief.says("distorts"):
        yield Reason(
            says="Yours rasps at the volume that you use, for the radio is at its end there; an amplifier is clean at that volume.",
            answers=("annoys",),
        )
    if brief.rides == "fast" or brief.says("wind"):
        yield Reason(
            says="At speed, music must be clean at the volume that you use now; the radio runs out before an amplifier does.",
            answers=("rides",) if brief.rides == "fast" else ("annoys",),
        )
    yield Reason(
        says="An amplifier is set once for its speakers, with filters that keep from them what would harm them."
    )


def _of_radio(brief: Brief) -> Iterator[Reason]:
    yield Reason(
        says="The radio that is there drives them: nothing is set, nothing is drawn from the battery beyond what is now.",
        answers=("rides",) if brief.rides == "town" else (),
    )


def _of_brief(brief: Brief) -> Iterator[Reason]:
    if brief.rides == "fast" or brief.says("wind"):
        wind = calculation("wind_noise")
        yield Reason(
            says="Wind in the helmet covers music, and no system changes that; turning it up only tires the ears. "
            "A quieter screen or ear plugs help more.",
            answers=("rides",) if brief.rides == "fast" else ("annoys",),
            basis="calculation",
            cites=wind.id,
            source=wind.source,
        )
    if brief.says("broken"):
        yield Reason(
            says="What fails is looked at first: a silent speaker can be a wire, and then nothing need be bought for it.",
            answers=("annoys",),
        )
    if brief.says("thin") and not brief.says("low_notes"):
        yield Reason(
            says="Before anything is bought for it: one speaker that is the wrong way round makes music thin, and costs nothing.",
            answers=("annoys",),
            basis="calculation",
            cites="reversed_speaker",
            source=calculation("reversed_speaker").source,
        )


def _of_figures(brief: Brief, last: VisitFigures) -> Iterator[Reason]:
    headroom = _figure(last, "charging_balance", "cruise")
    if headroom is not None:
        spare = _number(headroom.result)
        yield _calculated(
            headroom,
            f"With everything on, at an easy riding speed the bike still makes {spare:.0f} A more than it needs."
            if spare >= 0
            else f"With everything on, the battery gives {-spare:.0f} A even at an easy riding speed: something must stay off.",
        )
    parked = _figure(last, "parked_time") if brief.parked else None
    if parked is not None:
        hours = _number(parked.result)
        says = f"With the engine off it plays for about {hours:.1f} h; after that the battery may not start the engine."
        yield _calculated(parked, says, ("parked",))


def _figure(figures: VisitFigures, asked: str, about: str = "") -> VisitFigure | None:
    found = (
        x
        for x in figures.electrical
        if x.calculation == asked and x.is_verified and x.about[0].endswith(about)
    )
    return next((x for x in found if isinstance(x.result, int | float)), None)


def _number(result: object) -> float:
    return float(result) if isinstance(result, int | float) else 0.0


def _calculated(figure: VisitFigure, says: str, answers: tuple[str, ...] = ()) -> Reason:
    source = calculation(figure.calculation).source
    return Reason(says=says, answers=answers, basis="calculation", cites=figure.calculation, source=source)


def _of_rules(advice: Iterable[Finding], catalog: Catalog) -> Iterator[Reason]:
    """Give what the catalog's rules say, each once, in order of the rules' ids."""
    said = {finding.rule: sentence(finding, catalog) for finding in advice}
    for rule, says in sorted(said.items()):
        yield Reason(says=says, basis="rule", cites=rule)
