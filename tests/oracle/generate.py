"""Seeded random questions over small random catalogs.

Run `python -m tests.oracle.compare --stats` to see how often each answer comes up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import count
from random import Random

from rules.build import AsFound, LedgerEntry, Measured, Placement
from rules.catalog.catalog import Ambiguous, Bike, Catalog, Position
from rules.catalog.part import Part
from rules.catalog.shop import Shop
from rules.question import FitQuestion, Fitter, PathQuestion, Stage, Want
from tests.oracle.checks_brute import electrics, things
from tests.oracle.draw_bike import BikeBox, draw_places
from tests.oracle.draw_parts import UNKNOWN, PartBox
from tests.oracle.draw_prices import draw_prices
from tests.oracle.draw_rules import RuleBox
from tests.oracle.plugs import CONNECTOR_TYPES, CONTACT_MAPS
from tests.oracle.reading import World
from tests.oracle.wirings_brute import wirings

FIRST = date(2030, 3, 1)


@dataclass(frozen=True)
class VerdictInstance:
    """A fit question over a catalog."""

    catalog: Catalog
    question: FitQuestion


@dataclass(frozen=True)
class PathInstance:
    """A path question over a catalog."""

    catalog: Catalog
    question: PathQuestion


def verdict_instance(seed: int) -> VerdictInstance:
    """Draw a fit question whose bike, as it left the works, is valid."""
    for attempt in count():
        rng = Random(f"verdict {seed} {attempt}")
        doubt = rng.choice([0.0, 0.0, 0.02, 0.06])
        catalog = _catalog(rng, doubt, most=rng.choice([5, 7, 9]), for_paths=False)
        bike = min(catalog.bikes)
        if _stock_is_valid(catalog, bike):
            return VerdictInstance(catalog, _fit_question(rng, catalog, bike, doubt))
    raise AssertionError


def path_instance(seed: int) -> PathInstance:
    """Draw a path question with at most six placements to add, on a bike that left the works valid."""
    for attempt in count():
        rng = Random(f"path {seed} {attempt}")
        doubt = rng.choice([0.0, 0.0, 0.0, 0.03])
        catalog = _catalog(rng, doubt, most=rng.choice([3, 4, 5, 6, 6, 7]), for_paths=True)
        bike = min(catalog.bikes)
        if _stock_is_valid(catalog, bike):
            instance = PathInstance(catalog, _path_question(rng, catalog, bike, doubt))
            if _is_small(instance):
                return instance
    raise AssertionError


def _stock_is_valid(catalog: Catalog, bike: str) -> bool:
    world = World(catalog, bike, AsFound())
    if things(world, world.stock, frozenset(), FIRST) is not True:
        return False
    return any(electrics(world, world.stock, one) is True for one in wirings(world, world.stock))


def _is_small(instance: PathInstance) -> bool:
    question = instance.question
    world = World(instance.catalog, question.bike, question.found)
    days = [stage.on for stage in question.stages]
    candidates = [
        one
        for one in world.placeable
        if one not in world.present
        and one.part not in question.excluded
        and any(world.for_sale(one.part, day) for day in days)
    ]
    return len(candidates) <= 6 and len(candidates) + len(world.present) <= 11


# Catalogs -----------------------------------------------------------------------------------------


def _catalog(rng: Random, doubt: float, most: int, for_paths: bool) -> Catalog:
    rear = rng.choice(["take-off", "take-off", "take-off", "none", "unseen", "factory"])
    places = _bike_places(rng, rear)
    box = PartBox(rng, doubt)
    parts, stock = _stock_parts(box, rear)
    for part in _offer(box, rear, places, most):
        parts[part.id] = part
    _spread_availability(box, parts)
    _never_placed(box, parts, for_paths)
    bikes = _bikes(rng, doubt, rear, places, stock, split=not for_paths and rng.random() < 0.12)
    rules = RuleBox(rng, parts, places, FIRST).draw()
    lines = {
        name: "samphire" if name.startswith("stock") else rng.choice(["tern", "tern", "samphire"])
        for name in sorted(parts)
    }
    here = Position(file="one.yaml", line=1, column=1)
    names = [*(f"part:{name}" for name in parts), *(f"rule:{name}" for name in rules), "bike:plover"]
    ambiguous = (
        {"plover": Ambiguous(id="plover", sides=tuple(sorted(bikes)), ask="Which side?")}
        if len(bikes) > 1
        else {}
    )
    return Catalog(
        shop=Shop(name="Harbour workshop", currency="EUR", decimals=2, tax_percent=20.0),
        places=dict(sorted(draw_places(rng).items())),
        connector_types=CONNECTOR_TYPES,
        contact_maps=CONTACT_MAPS,
        bikes=bikes,
        ambiguous=ambiguous,
        parts=dict(sorted(parts.items())),
        lines=lines,
        makers=dict.fromkeys(lines, "marram"),
        rules=rules,
        topics=dict.fromkeys(rules, "all"),
        price_lists=draw_prices(rng, parts, rng.choice([0.0, 0.0, 0.1])),
        cases=(),
        positions=dict.fromkeys(sorted(names), here),
    )


def _bike_places(rng: Random, rear: str) -> tuple[str, ...]:
    places = ["battery", "dash", "fairing_pods", "tray"]
    if rear == "factory" or rng.random() < 0.85:
        places.append("rear_pods")
    places += [name for name in ("lowers", "lid") if rng.random() < 0.3]
    return tuple(sorted(places))


def _stock_parts(box: PartBox, rear: str) -> tuple[dict[str, Part], dict[str, str]]:
    parts = [
        box.radio("stock-radio", stock=True),
        box.speaker("stock-front", ("fairing_pods",), "pod", stock=True, rms=30.0),
    ]
    stock = {"dash.head_unit": "stock-radio", "fairing_pods.speaker": "stock-front"}
    if rear == "factory":
        parts.append(box.speaker("stock-rear", ("rear_pods",), "pod", stock=True, rms=30.0))
        stock["rear_pods.speaker"] = "stock-rear"
    return {part.id: part for part in parts}, stock


def _offer(box: PartBox, rear: str, places: tuple[str, ...], most: int) -> list[Part]:
    """Draw a handful of parts that have to do with each other."""
    rng, drawn = box.rng, []
    if rng.random() < 0.75:
        drawn += _amplified(box, rear)
    if rng.random() < 0.5 or not drawn:
        drawn += _rear_sound(box, places)
    extra = _oddments(box, places)
    rng.shuffle(extra)
    drawn += extra
    kept: dict[str, Part] = {}
    for part in drawn:
        if len(kept) < most:
            kept.setdefault(part.id, part)
    return list(kept.values())


def _amplified(box: PartBox, rear: str) -> list[Part]:
    pairs = box.rng.choice([1, 2, 2])
    ways = ["passed", "amplified", "amplified", "plug"]
    return [
        box.amplifier("amp-one", pairs),
        box.in_line("harness-one", box.rng.choice(ways if rear != "none" else ["passed", "plug"])),
        box.power_kit("kit-one"),
        box.speaker("speaker-one", box.rng.choice([("fairing_pods",), ("fairing_pods", "rear_pods")]), "pod"),
    ]


def _rear_sound(box: PartBox, places: tuple[str, ...]) -> list[Part]:
    if "rear_pods" not in places:
        return [box.speaker("speaker-two", ("fairing_pods",), "pod")]
    return [
        box.rear_lead("lead-one", box.rng.choice(["take", "take", "amp", "mono"])),
        box.speaker("speaker-two", ("rear_pods",), "pod"),
        box.carrier("carrier-one", ("rear_pods",)),
    ]


def _oddments(box: PartBox, places: tuple[str, ...]) -> list[Part]:
    rng = box.rng
    needs = "rear-open" if rng.random() < 0.5 else None
    oddments = [
        box.speaker("speaker-blade", ("fairing_pods",), "blade"),
        box.adapter("adapter-one", "pod", "blade"),
        box.ring("ring-one"),
        box.amplifier("amp-two", rng.choice([1, 2])),
        box.power_kit("kit-two"),
        box.in_line("harness-two", rng.choice(["passed", "amplified", "plug"])),
        box.radio("radio-one", stock=False, needs=needs),
        box.flash("flash-one", rng.choice(["radio-one", "stock-radio"]), "rear-open"),
        box.control("control-one"),
        box.rear_lead("lead-two", rng.choice(["take", "amp", "mono"])),
    ]
    if "lowers" in places:
        oddments += [
            box.y_lead("y-lead"),
            box.speaker("speaker-low", ("lowers",), "pod"),
            box.carrier("lowers-shell", ("lowers",)),
        ]
    if "lid" in places:
        oddments += [box.lid_lead("lid-lead"), box.speaker("speaker-lid", ("lid",), "pod")]
    return oddments


def _spread_availability(box: PartBox, parts: dict[str, Part]) -> None:
    for name, part in list(parts.items()):
        if not part.stock_only and box.chance(0.06):
            first = FIRST + timedelta(days=box.rng.choice([-200, 150, 300]))
            parts[name] = box.sometimes_available(
                part, first, first + timedelta(days=box.rng.choice([120, 400, 900]))
            )


def _never_placed(box: PartBox, parts: dict[str, Part], for_paths: bool) -> None:
    amplifiers = sorted(part.id for part in parts.values() if part.kind == "amplifier")
    if amplifiers and box.chance(0.75):
        parts["preset-a"] = box.preset("preset-a", tuple(amplifiers), 20)
        if box.chance(0.3):
            parts["preset-b"] = box.preset("preset-b", tuple(amplifiers[:1]), 20)
    # In paths, bundles share nothing, and their parts have one place: it is clear which piece went where.
    pool = sorted(part.id for part in parts.values() if part.slot and not part.stock_only)
    pool = [name for name in pool if not for_paths or len(parts[name].at) == 1 or parts[name].slot == "flash"]
    box.rng.shuffle(pool)
    for number in range(box.rng.choice([0, 0, 1, 1, 2])):
        members, pool = pool[:3], pool[3:]
        members = members[: box.rng.choice([2, 3])]
        if len(members) > 1:
            parts[f"bundle-{number}"] = box.bundle(f"bundle-{number}", tuple(members))
        if not for_paths:
            pool = [*pool, *members]


def _bikes(
    rng: Random, doubt: float, rear: str, places: tuple[str, ...], stock: dict[str, str], split: bool
) -> dict[str, Bike]:
    box = BikeBox(rng, doubt, rear, places)
    if not split:
        return {"plover-2029": box.draw("plover-2029", stock)}
    early = box.draw("plover-early", stock)
    return {"plover-early": early, "plover-late": box.draw("plover-late", stock, early.has)}


# Questions ----------------------------------------------------------------------------------------


def _fit_question(rng: Random, catalog: Catalog, bike: str, doubt: float) -> FitQuestion:
    found = _found(rng, catalog, bike, doubt) if rng.random() < 0.5 else AsFound()
    world = World(catalog, bike, found)
    pool = [
        one for one in world.placeable if one not in world.present and not catalog.parts[one.part].stock_only
    ]
    if not pool or rng.random() < 0.05:
        pool = sorted(world.present)
    asked = rng.choice(pool)
    anywhere = rng.random() < 0.25
    place = None if anywhere else asked.place
    if not anywhere and rng.random() < 0.03:
        place = rng.choice(sorted(world.has.places))
    if catalog.ambiguous and rng.random() < 0.85:
        bike = "plover"
    on = FIRST + timedelta(days=rng.choice([0, 100, 250, 420, 800]))
    fitter: Fitter = "home" if rng.random() < 0.2 else "shop"
    return FitQuestion(bike=bike, part=asked.part, place=place, on=on, fitter=fitter, found=found)


def _found(rng: Random, catalog: Catalog, bike: str, doubt: float) -> AsFound:
    """Draw a rider's own bike: parts fitted earlier, facts measured, presets in force, unknown work."""
    world = World(catalog, bike, AsFound())
    build = set(world.stock)
    for _ in range(rng.choice([0, 1, 2, 3, 4])):
        _fit_something(rng, world, build)
    fitted = tuple(LedgerEntry(placement=one) for one in sorted(build - world.stock))
    amplifiers = sorted({one.part for one in build if catalog.parts[one.part].kind == "amplifier"})
    return AsFound(
        fitted=fitted,
        removed=frozenset(world.stock - build),
        presets=frozenset(name for name in amplifiers if rng.random() < 0.5),
        unknown_work=frozenset([rng.choice(sorted(world.has.places))])
        if rng.random() < 0.12
        else frozenset(),
        measured=_measured(rng, world, doubt),
    )


def _fit_something(rng: Random, world: World, build: set[Placement]) -> None:
    """Fit a part in the place of what was in its slot; mostly only if the bike can still be wired."""
    pool = [one for one in world.placeable if one not in build and not world.part(one).stock_only]
    if not pool:
        return
    one = rng.choice(pool)
    if not all(Placement(host, one.place) in build for host in world.part(one).host[:1]):
        return
    after = {other for other in build if world.slot(other) != world.slot(one)} | {one}
    after = {
        other
        for other in after
        if not world.part(other).host or Placement(world.part(other).host[0], other.place) in after
    }
    whole = frozenset(after)
    if wirings(world, whole) or rng.random() < 0.25:
        build.clear()
        build.update(after)


def _measured(rng: Random, world: World, doubt: float) -> tuple[Measured, ...]:
    draws = [
        Measured(path="facts.charging_headroom_a", value=rng.choice([3.0, 12.0, 25.0])),
        Measured(path="places.fairing_pods.geometry.depth_mm", value=rng.choice([50.0, 62.0, 70.0])),
        Measured(path="places.tray.max_mass_kg", value=rng.choice([1.0, 5.0])),
        Measured(path="facts.hinge", value=UNKNOWN if doubt else "long"),
    ]
    return tuple(one for one in draws if rng.random() < 0.12)


def _path_question(rng: Random, catalog: Catalog, bike: str, doubt: float) -> PathQuestion:
    found = _found(rng, catalog, bike, doubt / 2) if rng.random() < 0.4 else AsFound()
    if rng.random() < 0.8:
        found = replace(found, unknown_work=frozenset())
    world = World(catalog, bike, found)
    stages = _stages(rng)
    pool = [
        one for one in world.placeable if one not in world.present and not catalog.parts[one.part].stock_only
    ]
    pool = pool or sorted(world.present)
    wants = tuple(_want(rng, rng.choice(pool), pool, len(stages)) for _ in range(rng.choice([1, 1, 2])))
    named = {part for want in wants for part in want.parts}
    others = sorted({one.part for one in pool} - named)
    run = [
        part.id for part in catalog.parts.values() if part.kind in {"harness", "power_kit"} or part.rewires
    ]
    budgets = {2030: rng.randrange(20_000, 160_000)} if rng.random() < 0.15 else {}
    return PathQuestion(
        bike=bike,
        stages=stages,
        wants=wants,
        found=found,
        budget=rng.randrange(20_000, 220_000) if rng.random() < 0.2 else None,
        year_budgets=budgets,
        resale_counts=rng.random() < 0.4,
        excluded=frozenset([rng.choice(others)]) if others and rng.random() < 0.15 else frozenset(),
        locked=frozenset(one for one in sorted(world.present) if rng.random() < 0.15),
        allowed_rewiring=frozenset(name for name in run if rng.random() < 0.15),
    )


def _stages(rng: Random) -> tuple[Stage, ...]:
    days = sorted(rng.sample(range(0, 800, 20), rng.choice([1, 2, 2, 3, 3, 4])))
    return tuple(
        Stage(
            on=FIRST + timedelta(days=day),
            fitter="home" if rng.random() < 0.2 else "shop",
            budget=rng.randrange(5_000, 120_000) if rng.random() < 0.25 else None,
        )
        for day in days
    )


def _want(rng: Random, one: Placement, pool: list[Placement], last: int) -> Want:
    parts = (one.part, rng.choice(pool).part) if rng.random() < 0.15 else (one.part,)
    place = one.place if rng.random() < 0.5 else None
    return Want(parts=parts, place=place, by=rng.randrange(1, last + 1) if rng.random() < 0.25 else None)
