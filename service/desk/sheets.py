"""The papers by name: which template, and what it is filled with."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from rules.cautions import cautions_of
from rules.explain import how_to_find
from service.desk import words
from service.desk.papers import (
    Offer,
    channels,
    covered,
    fitting_sheet,
    head_units,
    labels,
    quoted_cautions,
)
from service.desk.view import PlanView, VisitView

Filling = Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """One paper of a visit: its name on links, its template, and what it is filled with."""

    id: str
    name: str
    template: str
    fill: Callable[[PlanView, VisitView, Offer], Filling]


def _quote(view: PlanView, visit: VisitView, offer: Offer) -> Filling:
    later = [x for x in view.visits if x.number > visit.number]
    return {"offer": offer, "later": later, "cautions": quoted_cautions(view)}


def _picks(view: PlanView, visit: VisitView, _: Offer) -> Filling:
    parts = view.catalog.parts
    placed = [x for x in view.sorted(visit.visit.adds) if parts[x.part].kind != "flash"]
    return {
        "picks": [
            {
                "name": parts[x.part].name,
                "pair": parts[x.part].kind == "speaker" and view.catalog.places[x.place].pair,
                "letter": view.letters[x.place],
                "where": view.catalog.places[x.place].name,
                "id": x.part,
                "serial": parts[x.part].kind in {"amplifier", "head_unit"},
            }
            for x in placed
        ],
        "ordered": [parts[x.part].name for x in placed if parts[x.part].lead_days],
        "channels": channels(view, visit),
        "labels": labels(view, visit),
        "head_unit": head_units(view, visit),
        "volume": _volume(visit),
        "shared": [
            f"{' and '.join(x.zones).capitalize()}: {words.sentence(x.says)}" for x in visit.figures.shared
        ],
        "missing": tuple(dict.fromkeys(how_to_find(x, view.catalog) for x in visit.figures.missing)),
    }


def _volume(visit: VisitView) -> str:
    found = (x for x in visit.figures.presets if x.calculation == "volume_reference" and x.is_verified)
    return next((words.number(float(x.result)) for x in found if isinstance(x.result, int | float)), "")


def _fitting(view: PlanView, visit: VisitView, _: Offer) -> Filling:
    return {"sheet": fitting_sheet(view, visit, home=False), "home": False}


def _at_home(view: PlanView, visit: VisitView, _: Offer) -> Filling:
    return {"sheet": fitting_sheet(view, visit, home=True), "home": True}


def _test(view: PlanView, visit: VisitView, _: Offer) -> Filling:
    said = ("tone", "hearing", "battery", "hot")
    return {
        "channels": channels(view, visit),
        "polarity": visit.figures.polarity,
        "cautions": cautions_of(tuple(x for x in said)),
    }


def _warranty(view: PlanView, visit: VisitView, _: Offer) -> Filling:
    said = ("estimate", "mass", "water")
    return {"covered": covered(view, visit), "labels": labels(view, visit), "cautions": cautions_of(said)}


QUOTE = Paper(id="quote", name="Quote", template="paper_quote.html", fill=_quote)

PAPERS = (
    Paper(id="picks", name="Pick and preset list", template="paper_picks.html", fill=_picks),
    Paper(id="fitting", name="Fitting sheet", template="paper_fitting.html", fill=_fitting),
    Paper(id="at-home", name="Sheet for fitting at home", template="paper_fitting.html", fill=_at_home),
    Paper(id="test", name="Test sheet", template="paper_test.html", fill=_test),
    Paper(id="warranty", name="Warranty card", template="paper_warranty.html", fill=_warranty),
)
BY_ID = {x.id: x for x in (QUOTE, *PAPERS)}
