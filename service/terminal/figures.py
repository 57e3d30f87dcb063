"""The figures of a visit as tables, for whoever fits and sets; levels are for programs that choose, not for a counter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from rules.catalog.catalog import Catalog
from rules.figures import Label, VisitFigure, VisitFigures
from service.shapes.calculations import cautions_told
from service.shapes.placement import read_placement
from service.terminal.calc import shown
from service.terminal.fit import tell_missing
from service.terminal.output import say, show_table


class Row(NamedTuple):
    """How a calculation is told: in which words, and which of its figures; the one that is asked for, unless named."""

    words: str
    figure: str = ""


ELECTRICAL = {
    "parallel_impedance": Row("load on a channel"),
    "power_at_load": Row("power of a channel"),
    "power_share": Row("for each speaker on it"),
    "rms_margin": Row("left of the speaker's rating"),
    "cap_voltage": Row("a preset caps the channel at"),
    "supply_currents": Row("draws, loud at cruise", "third_a"),
    "fuse_choice": Row("main fuse"),
    "lead_drop": Row("lost in the power lead"),
    "charging_balance": Row("left of the charging"),
    "parked_time": Row("plays parked, and still starts"),
    "idle_balance": Row("lasts at idle", "time_h"),
    "mass_left": Row("left of the mass limit"),
}
SETTINGS = {
    "speaker_in_pod": Row("speaker in its pod"),
    "zone_filter": Row("keep low notes away, below"),
    "volume_reference": Row("volume for setting gains, step"),
    "gain": Row("set the gain to"),
    "gain_tone": Row("then the meter shows"),
}
TIMES = {
    "listening_time": Row("ears may hear it a day, full on"),
    "labour_time": Row("work"),
    "warranty_end": Row("under warranty until"),
}


def tell_figures(figures: VisitFigures, catalog: Catalog) -> None:
    """Tell a visit's figures, what is not verified yet, the labels, and how polarity is checked."""
    for title, rows in (
        ("Figures", ELECTRICAL),
        ("To be set", SETTINGS),
        ("Times", TIMES),
    ):
        told = [row for one in figures.all if one.calculation in rows for row in _rows(one, rows, catalog)]
        if told:
            show_table(title, ("what", "of", "comes to"), told, money=1)
    for label in figures.labels:
        _tell_label(label, catalog)
    say(*(f"{' and '.join(x.zones).capitalize()} are on the same channels. {x.says}" for x in figures.shared))
    if figures.polarity:
        say("Check polarity, in this order: " + "; ".join(x.compare for x in figures.polarity) + ".")
    if figures.missing:
        tell_missing(figures.missing)


def tell_figure_cautions(figures: Iterable[VisitFigures]) -> None:
    """Tell once what must be said with all these figures."""
    ids = tuple(dict.fromkeys(x for one in figures for x in one.cautions))
    if ids:
        say("", "Take care", *(f"  - {caution.text}" for caution in cautions_told(ids)))


def _rows(one: VisitFigure, rows: dict[str, Row], catalog: Catalog) -> Iterator[tuple[str, str, str]]:
    row = rows[one.calculation]
    yield row.words, _about(one, catalog), _value(one, row)


def _value(one: VisitFigure, row: Row) -> str:
    if not one.is_verified:
        return "not verified"
    figure = one.figures[row.figure or _asked(one)]
    held = ""
    if one.limit is not None and not one.limit.stands:
        held = ", too little" if one.limit.relation == "at_least" else ", too much"
    return f"{shown(figure.value)}{'' if figure.unit in ('1', 'date') else f' {figure.unit}'}{held}"


def _asked(one: VisitFigure) -> str:
    return next(name for name, figure in one.figures.items() if figure.value == one.result)


def _about(one: VisitFigure, catalog: Catalog) -> str:
    named = [_named(about, catalog) for about in one.about]
    owners = list(dict.fromkeys(owner for owner, _ in named))
    details = {owner: [detail for other, detail in named if other == owner and detail] for owner in owners}
    return "; ".join(f"{owner}: {', '.join(x)}" if (x := details[owner]) else owner for owner in owners)


def _named(about: str, catalog: Catalog) -> tuple[str, str]:
    """Name a placement and its channel or side in words; anything else stays as it is."""
    owner, _, detail = about.partition(":")
    if "@" not in owner:
        places = [catalog.places[x].name if x in catalog.places else x for x in about.split(", ")]
        return ", ".join(places), ""
    placed = read_placement(owner)
    zone = catalog.places[placed.place].zone
    part = catalog.parts[placed.part]
    name = zone if zone and part.kind == "speaker" else part.name.split(",")[0]
    return name, detail.replace("_", " ")


def _tell_label(label: Label, catalog: Catalog) -> None:
    name = catalog.parts[label.amplifier.part].name
    if not label.lines:
        say(f"The label for {name} is not verified yet. {label.why}".strip())
        return
    say("", f"Label for {name}", *(f"  {line}" for line in label.lines))
