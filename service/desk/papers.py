"""What the papers say: each is one visit, or one plan, for one reader."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from rules.cautions import Caution, cautions_of
from rules.explain import fact_name, owner_name
from rules.figures import Label, VisitFigure
from rules.fitting_order import Step, fitting_order
from service.desk import words
from service.desk.view import PlanView, VisitView
from service.desk.wiring import short_name, side_by_side, words_of

LIVE = frozenset({"tone", "parked", "hearing"})
"""Cautions about what is done with the current on: none of it is on a home fitter's sheet."""

QUOTED = ("estimate", "paid_work", "outside", "wind", "hearing", "controls", "mass", "water")
"""Cautions that a buyer reads before agreeing; the others are for whoever does the work."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What a salesperson adds to a quote. What is left out is a line to write on."""

    made_on: date
    valid_until: date | None = None
    deposit: str = ""
    earliest: date | None = None
    rider: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One step of a fitting sheet."""

    says: str
    where: str
    minutes: int
    at_home: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One channel, as a form names it and as it is shown."""

    id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One channel as it is set: figures are written as they are read off."""

    name: str
    keys: tuple[Key, ...]
    zone: str
    load: str
    target: str
    tone: str
    reading: str
    high_pass: str
    low_pass: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingSheet:
    """The work of one visit in its order."""

    off: tuple[Job, ...]
    out: tuple[Job, ...]
    fit: tuple[Job, ...]
    last: tuple[Job, ...]
    putty: bool
    deadening: bool
    holes: tuple[str, ...]
    lids: bool
    fuse: str
    cautions: tuple[Caution, ...]


def quoted_cautions(view: PlanView) -> tuple[Caution, ...]:
    """Give what a buyer must read, from what is said with the plan."""
    said = {x.id for x in view.cautions} | {"estimate"}
    return cautions_of(tuple(x for x in QUOTED if x in said))


def fitting_sheet(view: PlanView, visit: VisitView, *, home: bool) -> FittingSheet:
    """Put the work of a visit in order; what is set or heard comes last, when the battery is on again.

    Args:
        home: For a home fitter: nothing that is done with the current on.
    """
    steps = fitting_order(view.bench, visit.visit)
    kinds = {view.catalog.parts[x.part].kind for x in visit.visit.adds}
    held = [x for x in steps if not x.is_tear_down]
    out = [x for x in held if x.of in visit.visit.removes]
    last = [x for x in held if x not in out and _is_set(visit, x)]
    return FittingSheet(
        off=_jobs(view, [x for x in steps if x.is_tear_down]),
        out=_jobs(view, out),
        fit=_jobs(view, [x for x in held if x not in out and x not in last]),
        last=_jobs(view, last),
        putty="grille" in kinds,
        deadening="deadening" in kinds,
        holes=tuple(words.sentence(x) for x in _holes(view, visit)),
        lids=any(x.place == "lids" for x in visit.visit.adds),
        fuse=_fuse(visit),
        cautions=tuple(x for x in visit.cautions if not (home and x.id in LIVE)),
    )


def _is_set(visit: VisitView, step: Step) -> bool:
    """Tell whether a step is the preset of an amplifier, for which there is current again."""
    return step.is_preset and step.of in {x.amplifier for x in visit.visit.presets}


def _holes(view: PlanView, visit: VisitView) -> Iterator[str]:
    """Tell of parts whose fitting leaves holes: the rider agrees to those first."""
    for placed in visit.visit.adds:
        part = view.catalog.parts[placed.part]
        if "short-screws" in part.tags or part.rewires:
            yield f"{part.name}, {view.catalog.places[placed.place].name}"


def _jobs(view: PlanView, steps: list[Step]) -> tuple[Job, ...]:
    return tuple(
        Job(
            says=words.sentence(x.says),
            where=view.catalog.places[x.of.place].name if x.of else "",
            minutes=x.minutes,
            at_home=x.at_home,
        )
        for x in steps
    )


def _fuse(visit: VisitView) -> str:
    """Give the main fuse as it was worked out, with its unit."""
    chosen = _figure(visit, "fuse_choice")
    return f"{words.number(_as_number(chosen.result))} {chosen.unit}" if chosen and chosen.is_verified else ""


def _figure(visit: VisitView, calculation: str) -> VisitFigure | None:
    return next((x for x in visit.figures.all if x.calculation == calculation), None)


def _as_number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


# --- presets --------------------------------------------------------------------------------------------------------


def channels(view: PlanView, visit: VisitView) -> tuple[Channel, ...]:
    """Give every amplifier channel as it is set."""
    tones = {x.about: x for x in _told(visit, "gain_tone")}
    return tuple(_channel(view, visit, x, tones.get(x.about)) for x in _told(visit, "gain"))


def _told(visit: VisitView, calculation: str) -> Iterator[VisitFigure]:
    return (x for x in visit.figures.presets if x.calculation == calculation)


def _channel(view: PlanView, visit: VisitView, gain: VisitFigure, tone: VisitFigure | None) -> Channel:
    owner, names = gain.about[0].split(":")[0], [x.split(":")[1] for x in gain.about]
    feeds = [x for x in visit.visit.feeds if str(x.source) == owner and x.channel in names]
    zones = dict.fromkeys(view.catalog.places[x.place].zone or x.place for x in feeds)
    given = {x.name: x.known.value for x in (tone.inputs if tone else ())}
    return Channel(
        name=side_by_side(names),
        keys=tuple(Key(id=x, name=words_of(x.partition(":")[2])) for x in gain.about),
        zone=", ".join(zones),
        load=_with_unit(feeds[0].load_ohm if feeds else None, "ohm"),
        target=_with_unit(_as_number(gain.result), "V"),
        tone=_with_unit(_read(tone, "frequency_hz"), "Hz"),
        reading=_with_unit(_read(tone, "reading_v"), "V"),
        high_pass=_with_unit(_as_number(given.get("high_pass_hz")), "Hz"),
        low_pass=_with_unit(_as_number(given.get("low_pass_hz")), "Hz"),
    )


def _read(figure: VisitFigure | None, name: str) -> float | None:
    return _as_number(figure.figures[name].value) if figure and figure.is_verified else None


def _with_unit(value: float | None, unit: str) -> str:
    return f"{words.number(value)} {unit}" if value is not None else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelView:
    """The label of one preset, or why there is none yet."""

    amplifier: str
    lines: tuple[str, ...]
    why: str


def labels(view: PlanView, visit: VisitView) -> tuple[LabelView, ...]:
    """Give the labels of the presets that are made in a visit."""
    return tuple(_label(view, x) for x in visit.figures.labels)


def _spaced(line: str) -> str:
    """Write the channel that a line begins with as it is written elsewhere."""
    channel, colon, rest = line.partition(":")
    return f"{words_of(channel)}{colon}{rest}" if colon and " " in channel and "," not in channel else line


def _label(view: PlanView, label: Label) -> LabelView:
    unknown = (f"{fact_name(x.fact)} of {owner_name(x.of, view.catalog)}" for x in label.missing)
    missing = "; ".join(dict.fromkeys(unknown))
    why = label.why or (f"not known yet: {missing}" if missing else "")
    return LabelView(
        amplifier=view.catalog.parts[label.amplifier.part].name,
        lines=tuple(map(_spaced, label.lines)),
        why=words.sentence(why) if why and not label.lines else "",
    )


# --- warranty -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Covered:
    """One part under warranty, with its last day."""

    name: str
    where: str
    until: date | None
    has_serial: bool


def covered(view: PlanView, visit: VisitView) -> tuple[Covered, ...]:
    """Give what a visit brings under warranty; a part about which nothing is promised says so."""
    ends = {name: x for x in visit.figures.warranty for name in x.about}
    found = []
    for placed in view.sorted(visit.visit.adds):
        part = view.catalog.parts[placed.part]
        told = ends.get(str(placed))
        if part.kind == "flash":
            continue
        until = date.fromisoformat(str(told.result)) if told and told.is_verified else None
        found.append(
            Covered(
                name=part.name,
                where=view.catalog.places[placed.place].name,
                until=until,
                has_serial=part.kind in {"amplifier", "head_unit"},
            )
        )
    return tuple(found)


def head_units(view: PlanView, visit: VisitView) -> str:
    """Name the head unit that is on the bike after a visit."""
    found = [x for x in visit.visit.build if view.catalog.parts[x.part].kind == "head_unit"]
    return ", ".join(short_name(view.catalog.parts[x.part].name) for x in sorted(found))
