"""A plan as it is read at the counter and on paper: names instead of ids, words instead of states, money as it is written."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from markupsafe import Markup

from rules.answer import LedgerPart, Plan, Visit
from rules.bench import Bench
from rules.build import Placement
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.part import Kind
from rules.cautions import CAUTIONS, Caution, cautions_of
from rules.explain import how_to_find, sentence
from rules.figures import VisitFigures
from rules.money import Line, LineKind
from rules.question import PathQuestion
from rules.quote import Totals, totals
from service.desk import words
from service.desk.drawing.bike import BikeDrawing, draw_bike, letters_of
from service.desk.drawing.timeline import Moment, draw_timeline
from service.desk.drawing.wires import draw_wires
from service.desk.wiring import Plugged, plugged
from service.serving import Serving

FITTERS = {"shop": "fitted in the workshop", "home": "fitted at home"}

LINE_WORDS: dict[LineKind, str] = {
    "part": "Parts",
    "bundle": "Sets",
    "labour": "Work",
    "preset": "Preset",
    "freight": "Freight",
    "resale": "Sold on",
}

HIDDEN: frozenset[Kind] = frozenset({"preset", "bundle"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A part at its place, in words."""

    letter: str
    name: str
    where: str
    kind: Kind
    afterwards: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineView:
    """One line of money in words."""

    kind: LineKind
    what: str
    where: str
    quantity: str
    amount: str
    assumed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerView:
    """What becomes of one part, in words."""

    name: str
    where: str
    since: str
    afterwards: str
    paid: str
    fetches: str
    stays: bool


class VisitView:
    """One visit in words. What is costly to draw is drawn when a template asks for it."""

    def __init__(self, plan: PlanView, number: int, visit: Visit, figures: VisitFigures) -> None:
        self.plan, self.number, self.visit, self.figures = plan, number, visit, figures
        self.on = visit.on
        self.fitter = FITTERS[visit.fitter]
        self.at_home = visit.fitter == "home"
        self.is_empty = visit.is_empty
        self.spent = plan.money(visit.spent)
        self.resale = plan.money(visit.resale)
        self.comes_to = plan.money(visit.spent - visit.resale)
        self.has_resale = bool(visit.resale)

    @cached_property
    def adds(self) -> tuple[Named, ...]:
        """What comes in."""
        return tuple(self.plan.named(x, self._afterwards(x)) for x in self.plan.sorted(self.visit.adds))

    @cached_property
    def removes(self) -> tuple[Named, ...]:
        """What comes off."""
        return tuple(self.plan.named(x) for x in self.plan.sorted(self.visit.removes))

    def _afterwards(self, placed: Placement) -> str:
        if placed in self.visit.stays:
            return "stays"
        gone = next((x for x in self.plan.plan.visits if placed in x.removes), None)
        return f"sold on {words.day(gone.on)}" if gone else "stays"

    @cached_property
    def lines(self) -> tuple[LineView, ...]:
        """All lines of money."""
        return tuple(self.plan.line(x) for x in self.visit.lines)

    @cached_property
    def groups(self) -> tuple[tuple[str, tuple[LineView, ...], str], ...]:
        """The lines by kind, each kind with its sum."""
        kinds = dict.fromkeys(x.kind for x in self.visit.lines)
        return tuple(
            (
                LINE_WORDS[kind],
                tuple(x for x in self.lines if x.kind == kind),
                self.plan.money(sum(x.total for x in self.visit.lines if x.kind == kind)),
            )
            for kind in kinds
        )

    @cached_property
    def totals(self) -> Totals:
        """The foot of its quote."""
        return totals(self.visit.lines, self.plan.catalog.shop.tax_percent)

    @property
    def has_assumed(self) -> bool:
        """Tell whether some price is that of the last list, carried on."""
        return any(x.assumed for x in self.visit.lines)

    @property
    def advice(self) -> tuple[str, ...]:
        """What to mind."""
        return tuple(words.sentence(sentence(x, self.plan.catalog)) for x in self.visit.advice)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What must be said with it."""
        return cautions_of(self.figures.cautions)

    @cached_property
    def plugged(self) -> Plugged:
        """How the bike is plugged together afterwards."""
        return plugged(self.visit, self.plan.bench)

    @cached_property
    def wires(self) -> Markup:
        """The same as a picture."""
        return draw_wires(
            self.plugged, self.plan.bench, frozenset(self.visit.adds), name=f"wires-{self.number}"
        )

    @cached_property
    def drawing(self) -> BikeDrawing:
        """The bike with what this visit brings."""
        return draw_bike(
            self.plan.bike,
            self.plan.catalog,
            new=[x.place for x in self.visit.adds],
            there=[x.place for x in self.visit.build if x not in self.visit.adds],
            name=f"bike-{self.number}",
        )

    @property
    def minutes(self) -> int:
        """Minutes of work that is paid for."""
        return sum(x.quantity for x in self.visit.lines if x.kind == "labour")

    @property
    def time(self) -> str:
        """How long the work takes, in hours."""
        hours, minutes = divmod(self.minutes, 60)
        return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"

    @property
    def lead_days(self) -> int:
        """Days until everything is here, the longest of all parts; paint is the usual reason."""
        return max((self.plan.catalog.parts[x.part].lead_days for x in self.visit.adds), default=0)

    @property
    def days_off(self) -> int:
        """Days that an amplifier is away to be preset."""
        return max((x.days for x in self.visit.presets), default=0)


class PlanView:
    """A plan in words."""

    def __init__(
        self, question: PathQuestion, plan: Plan, figures: tuple[VisitFigures, ...], serving: Serving
    ) -> None:
        self.question, self.plan, self.serving = question, plan, serving
        self.bench = bench_of(question, serving)
        self.catalog: Catalog = self.bench.tables.catalog
        self.bike: Bike = self.bench.bike
        self.shop = self.catalog.shop
        self.letters = letters_of(self.bike, self.catalog)
        self.all_visits = tuple(
            VisitView(self, number, *both)
            for number, both in enumerate(zip(plan.visits, figures, strict=True), 1)
        )
        self.visits = tuple(x for x in self.all_visits if not x.is_empty)
        self.spent = self.money(plan.spent)
        self.resale = self.money(plan.resale)
        self.total = self.money(plan.total)
        self.gone = self.money(plan.waste)

    def money(self, minor: int | None) -> str:
        """Write money."""
        return words.money(minor, self.shop)

    def sorted(self, placements: Iterable[Placement]) -> list[Placement]:
        """Put placements in the order of the bike, from front to back."""
        order = list(self.letters)
        return sorted(
            placements, key=lambda x: (order.index(x.place) if x.place in order else len(order), x.part)
        )

    def named(self, placed: Placement, afterwards: str = "") -> Named:
        """Put a placement in words."""
        part = self.catalog.parts[placed.part]
        return Named(
            letter=self.letters.get(placed.place, ""),
            name=part.name,
            where=self.catalog.places[placed.place].name,
            kind=part.kind,
            afterwards=afterwards,
        )

    def line(self, line: Line) -> LineView:
        """Put a line of money in words."""
        part = self.catalog.parts.get(line.about)
        rule = self.catalog.rules.get(line.about)
        what = part.name if part else rule.says.removesuffix(".") if rule else words.capital(line.about)
        place = self.catalog.places.get(line.of.partition("@")[2])
        return LineView(
            kind=line.kind,
            what=what if line.kind != "labour" or part is None else f"Make the preset: {what}",
            where=place.name if place else "",
            quantity=f"{line.quantity} min" if line.kind == "labour" else f"{line.quantity} ×",
            amount=self.money(line.total),
            assumed=line.assumed,
        )

    @cached_property
    def positions(self) -> tuple[Position, ...]:
        """The table of positions: each place, what is there now, and what each visit does there."""
        return tuple(self._position(place, letter) for place, letter in self.letters.items())

    def _position(self, place: str, letter: str) -> Position:
        now = [x for x in self.sorted(self.bench.present) if x.place == place]
        return Position(
            letter=letter,
            name=self.catalog.places[place].name,
            now=tuple(self.catalog.parts[x.part].name for x in now),
            visits=tuple(
                Done(
                    adds=tuple(
                        y.name
                        for x, y in zip(self.sorted(v.visit.adds), v.adds, strict=True)
                        if x.place == place
                    ),
                    removes=tuple(
                        y.name
                        for x, y in zip(self.sorted(v.visit.removes), v.removes, strict=True)
                        if x.place == place
                    ),
                )
                for v in self.visits
            ),
        )

    @cached_property
    def touched(self) -> tuple[Position, ...]:
        """The positions at which something happens, or something is."""
        return tuple(x for x in self.positions if x.now or any(y.adds or y.removes for y in x.visits))

    @cached_property
    def untouched(self) -> tuple[str, ...]:
        """The names of the other positions, with their letters."""
        return tuple(f"{x.letter} {x.name}" for x in self.positions if x not in self.touched)

    @cached_property
    def ledger(self) -> tuple[LedgerView, ...]:
        """What becomes of every part."""
        return tuple(self._entry(x) for x in self.plan.ledger)

    def _entry(self, entry: LedgerPart) -> LedgerView:
        fitter = {"shop": ", in the workshop", "home": ", at home"}.get(entry.fitter or "", "")
        return LedgerView(
            name=self.catalog.parts[entry.part].name,
            where=self.catalog.places[entry.place].name if entry.place else "",
            since=f"{words.day(entry.on)}{fitter}" if entry.on else "before",
            afterwards=self._becomes(entry),
            paid=self.money(entry.paid),
            fetches=self.money(entry.resale) if entry.resale else "",
            stays=entry.stays,
        )

    def _becomes(self, entry: LedgerPart) -> str:
        if entry.sold_at is not None:
            word = "sold on" if entry.resale else "comes off"
            return f"{word} {words.day(self.plan.visits[entry.sold_at - 1].on)}"
        return "stays" if entry.stays else "came in a set, not needed"

    @cached_property
    def timeline(self) -> Markup:
        """The visits along time, with what each comes to."""
        running, moments = 0, []
        for visit in self.visits:
            running += visit.visit.spent
            moments.append(
                Moment(
                    on=visit.on,
                    amount=visit.visit.spent,
                    told=visit.spent,
                    so_far=self.money(running),
                    says=visit.fitter,
                )
            )
        return draw_timeline(moments, self.shop.currency, name="timeline")

    @cached_property
    def running(self) -> tuple[str, ...]:
        """What has been spent in all after each visit."""
        sums, running = [], 0
        for visit in self.visits:
            running += visit.visit.spent
            sums.append(self.money(running))
        return tuple(sums)

    @cached_property
    def cautions(self) -> tuple[Caution, ...]:
        """What must be said with all of it, once."""
        said = {x for visit in self.visits for x in visit.figures.cautions}
        return tuple(x for x in CAUTIONS if x.id in said)

    @cached_property
    def to_measure(self) -> tuple[str, ...]:
        """Facts without which some parts were left out."""
        return tuple(dict.fromkeys(how_to_find(x, self.catalog) for x in self.plan.lost_to_missing_facts))

    @property
    def proof(self) -> str:
        """Say for the salesperson how sure the plan is."""
        if self.plan.proof.is_proven:
            return "There is no cheaper way."
        least = self.money(self.plan.proof.bound)
        return f"This is the best way found; none can cost less than {least} {self.shop.currency}."

    @property
    def first_day(self) -> date:
        """Day of the first visit on which something is done."""
        return self.visits[0].on if self.visits else self.plan.visits[0].on


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What a visit does at one place."""

    adds: tuple[str, ...]
    removes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One place of the bike over all visits."""

    letter: str
    name: str
    now: tuple[str, ...]
    visits: tuple[Done, ...]


def bench_of(question: PathQuestion, serving: Serving) -> Bench:
    """Give a bench of the bike that a question is about; at a split, of its first side."""
    engine = serving.engine
    bike = serving.catalog.bikes[engine.bikes_meant(question.bike)[0]]
    return Bench(engine.tables.widened(question.found.own_parts), bike, question.found)
