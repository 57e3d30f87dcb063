"""From what a rider tells to systems side by side, in the rider's words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal, cast, get_args

from rules.catalog.catalog import Catalog
from rules.explain import part_name, place_name
from rules.proposals import Annoys, Brief, Listens, Passenger, Proposal, Proposals, Reason, Rides
from service.desk import words
from service.desk.asked import Fields, address, minor_of, read, visits_in, years_in
from service.desk.brief import functions_in
from service.desk.found import found_in
from service.desk.telling import WayVisit, way_visits
from service.serving import Serving

RIDES: Mapping[Rides, str] = {
    "town": "mostly in town",
    "country": "on country roads",
    "fast": "on motorways, or otherwise fast",
}
PASSENGER: Mapping[Passenger, str] = {"never": "never", "sometimes": "sometimes", "often": "often"}
LISTENS: Mapping[Listens, str] = {
    "speech": "voices and announcements",
    "music": "music",
    "low_notes": "music that lives of its low notes",
}
ANNOYS: Mapping[Annoys, str] = {
    "distorts": "it rasps at the volume that I use",
    "thin": "it sounds thin",
    "wind": "it is lost in the wind",
    "passenger_hears_nothing": "my passenger hears nothing of it",
    "broken": "something of it fails",
}
ASKED: Mapping[str, Mapping[str, str]] = {
    "rides": cast("Mapping[str, str]", RIDES),
    "passenger": cast("Mapping[str, str]", PASSENGER),
    "listens": cast("Mapping[str, str]", LISTENS),
    "annoys": cast("Mapping[str, str]", ANNOYS),
}
"""What is asked at the counter, with the answers that can be ticked."""


def read_brief(fields: Fields, serving: Serving, today: date) -> Brief:
    """Read what a rider told.

    Raises:
        MalformedQuestion: A field cannot be read.
    """
    shop = serving.catalog.shop
    asked = read(
        {
            "bike": fields.one("bike"),
            "visits": visits_in(fields, shop),
            "wants": [{"zone": "fronts"}],
            "budget_minor": minor_of(fields.one("whole"), shop, "whole"),
            "year_budgets": years_in(fields, shop),
            "found": found_in(fields, serving, today),
        }
    )
    return Brief(
        bike=asked.bike,
        found=asked.found,
        stages=asked.stages,
        budget=asked.budget,
        year_budgets=asked.year_budgets,
        rides=cast("Rides | None", _known(fields.one("rides"), get_args(Rides))),
        passenger=cast("Passenger | None", _known(fields.one("passenger"), get_args(Passenger))),
        listens=frozenset(cast("Listens", x) for x in fields.all("listens") if x in LISTENS),
        annoys=frozenset(cast("Annoys", x) for x in fields.all("annoys") if x in ANNOYS),
        parked=fields.has("parked"),
        functions=functions_in(fields),
        colour=fields.one("colour") or None,
    )


def _known(told: str, known: tuple[str, ...]) -> str | None:
    return told if told in known else None


def told_in_words(brief: Brief) -> str:
    """Say what the rider told, as one line."""
    told = [f"Rides {RIDES[brief.rides]}"] if brief.rides else []
    told += [f"with a passenger {PASSENGER[brief.passenger]}"] if brief.passenger else []
    listens = [LISTENS[x] for x in get_args(Listens) if x in brief.listens]
    told += [f"listens to {' and '.join(listens)}"] if listens else []
    annoys = [ANNOYS[x] for x in get_args(Annoys) if x in brief.annoys]
    told += [f"what annoys: {', '.join(annoys)}"] if annoys else []
    functions = [x.replace("-", " ") for x in brief.functions]
    told += [f"wants {' and '.join(functions)}"] if functions else []
    return words.sentence("; ".join(told))


@dataclass(frozen=True, slots=True, kw_only=True)
class ReasonView:
    """A reason, and what it rests on."""

    says: str
    rests_on: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposalView:
    """One system as it stands beside the others."""

    name: str
    total: str
    first: str
    visits: tuple[WayVisit, ...]
    stays: tuple[str, ...]
    reasons: tuple[ReasonView, ...]
    take: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposalsView:
    """Systems side by side; those that cannot be had; or what must be asked first."""

    proposals: tuple[ProposalView, ...]
    without: tuple[str, ...]
    ask: tuple[str, ...]


def tell_proposals(found: Proposals, catalog: Catalog) -> ProposalsView:
    """Put proposals in words."""
    return ProposalsView(
        proposals=tuple(_proposal(x, catalog) for x in found.proposals),
        without=tuple(dict.fromkeys(x.name for x in found.not_proposed)),
        ask=tuple(x.ask for x in found.unasked),
    )


def _proposal(proposal: Proposal, catalog: Catalog) -> ProposalView:
    plan, shop = proposal.plan, catalog.shop
    done = [x for x in plan.visits if not x.is_empty]
    return ProposalView(
        name=proposal.name,
        total=f"{words.money(plan.total, shop)} {shop.currency}",
        first=f"{words.money(done[0].spent, shop)} {shop.currency} on {words.day(done[0].on)}"
        if done
        else "nothing",
        visits=tuple(way_visits(plan, catalog)),
        stays=tuple(f"{part_name(x.part, catalog)} ({place_name(x.place, catalog)})" for x in proposal.stays),
        reasons=tuple(_reason(x, catalog) for x in proposal.reasons),
        take=address("/desk/plan", proposal.question),
    )


BASES: Mapping[Literal["calculation", "rule", "practice"], str] = {
    "calculation": "worked out; {source}",
    "rule": "the workshop's own rule",
    "practice": "common practice, no source",
}


def _reason(reason: Reason, catalog: Catalog) -> ReasonView:
    rule = catalog.rules.get(reason.cites)
    source = rule.source.ref if rule is not None and rule.source else ""
    told = BASES[reason.basis].format(source=reason.source)
    return ReasonView(says=words.sentence(reason.says), rests_on=f"{told}: {source}" if source else told)
