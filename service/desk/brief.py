"""What a rider is asked first, and what can be chosen for the bike: all that may fit it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby, zip_longest

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.catalog import Bike, Catalog
from rules.desk import Desk
from rules.errors import MalformedQuestion
from rules.question import PathQuestion, Want
from rules.verdict import Finding, Status
from service.desk import words
from service.desk.asked import Fields, minor_of, read, visits_in, years_in
from service.desk.found import found_in
from service.plans.form import want_asked
from service.serving import Serving

CHOSEN = ("speaker", "amplifier", "head_unit")
"""What a rider chooses; everything else follows from it."""

TITLES = {"amplifier": "amplifier", "head_unit": "head unit"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One part that may fit, as it stands in a list."""

    value: str
    name: str
    price: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What can be chosen at one place."""

    title: str
    where: str
    now: str
    parts: tuple[Choice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """The bikes of one family, for the list of bikes."""

    name: str
    bikes: tuple[tuple[str, str], ...]


def families(catalog: Catalog) -> tuple[Family, ...]:
    """List all bikes by maker and family; where a bike was changed during its year, both sides with what tells them apart."""
    ordered = sorted(catalog.bikes.values(), key=lambda x: (x.maker, x.family, x.year, x.id))
    return tuple(
        Family(
            name=f"{maker} {family.capitalize()}",
            bikes=tuple((x.id, words.bike_name(x)) for x in held),
        )
        for (maker, family), held in groupby(ordered, key=lambda x: (x.maker, x.family))
    )


def other_bikes(catalog: Catalog, bike: str) -> tuple[Family, ...]:
    """List all bikes but one."""
    return tuple(
        Family(name=x.name, bikes=tuple(y for y in x.bikes if y[0] != bike)) for x in families(catalog)
    )


def choices(bike: Bike, serving: Serving, on: date) -> tuple[Choices, ...]:
    """Give for every place of a bike what may be fitted there on a day, with its price.

    What surely does not fit, whatever comes with it, is left out. Whether the rest does, and with what, the plan says.
    """
    desk = Desk.for_bench(Bench(serving.engine.tables, bike))
    return tuple(x for place in bike.has.places for x in _at(desk, place, on))


def _at(desk: Desk, place: str, on: date) -> Iterator[Choices]:
    catalog = desk.bench.tables.catalog
    where = catalog.places[place]
    for kind in CHOSEN:
        parts = tuple(_possible(desk, place, kind, on))
        if parts:
            now = desk.bench.bike.has.stock.get(f"{place}.{kind}")
            yield Choices(
                title=TITLES.get(kind) or where.zone or where.name,
                where=where.name,
                now=catalog.parts[now].name if now else "nothing",
                parts=parts,
            )


def _possible(desk: Desk, place: str, kind: str, on: date) -> Iterator[Choice]:
    catalog = desk.bench.tables.catalog
    for part in catalog.parts.values():
        placed = Placement(part.id, place)
        price = desk.pricer.price(part.id, on)
        if part.kind != kind or price is None or placed not in desk.bench.universe:
            continue
        if not any(_is_final(x, placed) for x in desk.audition(placed)):
            yield Choice(value=str(placed), name=part.name, price=words.money(price.amount, catalog.shop))


def _is_final(finding: Finding, placed: Placement) -> bool:
    """Tell whether nothing that is added helps: the part itself is refused here."""
    alone = finding.present <= {placed}
    return finding.status is Status.REFUSED and alone and not finding.repairs


BY = (("0", "any visit"), ("1", "the first visit"), ("2", "the second visit"), ("3", "the third visit"))
"""By when something chosen by hand can be asked for."""


def first_visits(today: date) -> tuple[date, date, date]:
    """Propose days: in two weeks, and in the spring of the next two years."""
    return today + timedelta(days=14), date(today.year + 1, 4, 5), date(today.year + 2, 4, 5)


def question_of(fields: Fields, serving: Serving, today: date) -> PathQuestion:
    """Read a brief into a question.

    Raises:
        MalformedQuestion: Nothing is wanted, or a field cannot be read.
    """
    wants = [want_asked(x) for x in (*_wants(fields), *(Want(functions=(x,)) for x in functions_in(fields)))]
    if not wants:
        raise MalformedQuestion("want", "nothing is wanted yet", "choose at least one thing")
    shop = serving.catalog.shop
    asked = {
        "bike": fields.one("bike"),
        "visits": visits_in(fields, shop),
        "wants": wants,
        "budget_minor": minor_of(fields.one("whole"), shop, "whole"),
        "year_budgets": years_in(fields, shop),
        "found": found_in(fields, serving, today),
        "colour": fields.one("colour") or None,
    }
    return read(asked)


def _wants(fields: Fields) -> Iterator[Want]:
    days = len([x for x in fields.all("on") if x])
    for chosen, by in zip_longest(fields.all("want"), fields.all("by"), fillvalue=""):
        part, _, place = chosen.partition("@")
        if part and place:
            yield Want(
                parts=(part,),
                place=place,
                by=min(int(by), days) if by in dict(BY) and by != "0" and days else None,
            )


FUNCTIONAL = ("head_unit", "flash", "microphone")
"""Kinds whose tags say what a rider can do with them."""


def functions(bike: Bike, serving: Serving, on: date) -> tuple[tuple[str, str], ...]:
    """Give what something in a system can be asked to have: the tags of what is for sale on a day and has room on the bike."""
    desk = Desk.for_bench(Bench(serving.engine.tables, bike))
    catalog = serving.catalog
    parts = (catalog.parts[x] for x in {x.part for x in desk.bench.universe})
    sold = (x for x in parts if x.kind in FUNCTIONAL and desk.pricer.price(x.id, on) is not None)
    return tuple((tag, tag.replace("-", " ")) for tag in sorted({tag for part in sold for tag in part.tags}))


def functions_in(fields: Fields) -> tuple[str, ...]:
    """Give what something in the system must have, each once."""
    return tuple(dict.fromkeys(x for x in fields.all("function") if x))
