"""Seeded random questions over small random catalogs.

Run `python -m tests.oracle.compare --stats` to see how often each answer comes up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

from rules.build import AsFound, Build, LedgerEntry, Measured, Placement
from rules.catalog.catalog import Ambiguous, Bike, Catalog, Position
from rules.catalog.facts import DateSpan
from rules.catalog.part import Part
from rules.catalog.shop import Shop
from rules.question import FitQuestion, Fitter, PathQuestion, Stage, Want
from rules.verdict import Verdict
from tests.oracle import paths_brute, verdicts_brute
from tests.oracle.checks_brute import electrics, things
from tests.oracle.draw_bike import BikeBox, draw_places
from tests.oracle.draw_parts import UNKNOWN, PartBox
from tests.oracle.draw_prices import draw_prices
from tests.oracle.draw_rules import RuleBox
from tests.oracle.plugs import CONNECTOR_TYPES, CONTACT_MAPS
from tests.oracle.reading import World
from tests.oracle.wirings_brute import present_wirings, wirings

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
    """Draw a fit question on a bike that left the works valid; mostly one with an answer set beforehand.

    Left to chance, almost everything would be refused. Who draws the answer is the enumerating oracle.
    """
    aim = Random(f"verdict {seed}").choice(_VERDICT_AIMS)
    instance: VerdictInstance | None = None
    for attempt in range(_TRIES if aim not in _RARE else _MANY_TRIES):
        drawn = _draw_verdict(Random(f"verdict {seed} {attempt}"), "moved" if aim in _RARE else None)
        if drawn is not None:
            instance = drawn
            if _is_judged(aim, drawn):
                break
    assert instance is not None
    return instance


def path_instance(seed: int) -> PathInstance:
    """Draw a path question with at most six placements to add; mostly one that has a path."""
    aim = Random(f"path {seed}").choice(_AIMS)
    instance: PathInstance | None = None
    for attempt in range(_TRIES if aim not in _RARE else _MANY_TRIES):
        drawn = _draw_path(Random(f"path {seed} {attempt}"), aim)
        if drawn is not None:
            instance = drawn
            if _serves(aim, drawn):
                break
    assert instance is not None
    return instance


_RARE = ("moved", "split")
"""Re-plug labour in the cheapest answer; present wirings that have different answers."""
_AIMS = ("any", "path", "path", "visits", "visits", "visits", "waste", "swap", "swap", "moved", *_RARE)
_VERDICT_AIMS = (*map(str, Verdict), *map(str, Verdict), "any", "any", *_RARE)
_TRIES = 24
_MANY_TRIES = 100
_MOST_SEQUENCES = 150_000
"""More sequences of builds than this take the enumeration too long."""


def _serves(aim: str, instance: PathInstance) -> bool:
    if aim in {"any", "swap"}:
        return True
    told = paths_brute.tell(instance.catalog, instance.question)
    outcome = told.outcome
    serves = {
        "path": outcome is not None,
        "visits": outcome is not None and outcome.visits > 1,
        "waste": outcome is not None and outcome.waste > 0,
        "moved": told.pays_replugs,
        "split": told.is_split,
    }
    return serves[aim]


def _is_judged(aim: str, instance: VerdictInstance) -> bool:
    if aim == "any":
        return True
    judged = verdicts_brute.judge(instance.catalog, instance.question)
    return {"moved": judged.pays_replugs, "split": judged.is_split}.get(aim, str(judged.verdict) == aim)


def _draw_verdict(rng: Random, system: str | None = None) -> VerdictInstance | None:
    doubt = rng.choice([0.0, 0.0, 0.04, 0.1])
    system = system or rng.choice(["offer", "offer", "offer", "moved"])
    catalog = _catalog(rng, doubt, most=rng.choice([5, 7, 9]), for_paths=False, system=system)
    bike = min(catalog.bikes)
    if not _stock_is_valid(catalog, bike):
        return None
    if system == "moved":
        found = _wired_before(rng, catalog, bike)
    else:
        found = _found(rng, catalog, bike, doubt) if rng.random() < 0.5 else AsFound()
    return VerdictInstance(catalog, _fit_question(rng, catalog, bike, _seen(rng, catalog, bike, found)))


def _draw_path(rng: Random, aim: str) -> PathInstance | None:
    if aim in {"swap", *_RARE}:
        return _draw_changed(rng, "moved" if aim in _RARE else aim)
    doubt = rng.choice([0.0, 0.0, 0.0, 0.03])
    catalog = _catalog(rng, doubt, most=rng.choice([3, 4, 5, 6, 6]), for_paths=True)
    bike = min(catalog.bikes)
    if not _stock_is_valid(catalog, bike):
        return None
    question = _path_question(rng, catalog, bike, doubt)
    if aim == "waste":
        catalog, question = _grown(rng, catalog, question)
    instance = PathInstance(catalog, question)
    return instance if _can_be_asked(instance) else None


def _draw_changed(rng: Random, system: str) -> PathInstance | None:
    """Draw a bike that has been wired anew already, and a wish that may put the wires elsewhere once more."""
    catalog = _catalog(rng, 0.0, most=rng.choice([6, 7, 8]), for_paths=True, system=system)
    bike = min(catalog.bikes)
    if not _stock_is_valid(catalog, bike):
        return None
    found = _wired_before(rng, catalog, bike)
    question, world = _path_question(rng, catalog, bike, 0.0), World(catalog, bike, found)
    if not found.fitted or not _is_valid(world, world.present):
        return None
    pool = [
        one
        for one in world.placeable
        if one not in world.stock | world.present and not catalog.parts[one.part].stock_only
    ]
    if rng.random() < 0.7:
        # An amplifier or its harness takes over what a lead has hung on till now.
        pool = [one for one in pool if one in _AMPLIFIED[:2]] or pool
    if not pool:
        return None
    # Few visits and wishes: a bike with so much on it has many builds, and each has many wirings.
    stages = question.stages[-2:]
    changed = replace(
        question,
        stages=stages,
        found=_seen(rng, catalog, bike, found),
        wants=_wants(rng, world, pool, len(stages))[: rng.choice([1, 1, 2])],
        locked=frozenset(one for one in question.locked if rng.random() < 0.3),
        excluded=frozenset(),
    )
    instance = PathInstance(catalog, changed)
    return instance if _can_be_asked(instance) else None


_AMPLIFIED = (Placement("amp-one", "tray"), Placement("harness-one", "dash"), Placement("kit-one", "battery"))
_REAR = (
    Placement("lead-one", "tray"),
    Placement("speaker-two", "rear_pods"),
    Placement("carrier-one", "rear_pods"),
)


def _wired_before(rng: Random, catalog: Catalog, bike: str) -> AsFound:
    """Draw what somebody has fitted earlier: an amplifier, rear speakers, or both; nothing, if that cannot be wired."""
    world = World(catalog, bike, AsFound())
    ways = [_AMPLIFIED, _REAR, _REAR, _REAR, _AMPLIFIED + _REAR, _AMPLIFIED + _REAR]
    chosen = rng.choice(ways) if "lead-one" in catalog.parts else _AMPLIFIED
    there = [one for one in chosen if one in world.placeable]
    if not wirings(world, world.stock | set(there)):
        return AsFound()
    return AsFound(
        fitted=tuple(LedgerEntry(placement=one) for one in there),
        presets=frozenset(["amp-one"]) if rng.random() < 0.6 and _AMPLIFIED[0] in there else frozenset(),
        unknown_work=frozenset(["fairing_pods"]) if rng.random() < 0.1 else frozenset(),
    )


def _seen(rng: Random, catalog: Catalog, bike: str, found: AsFound) -> AsFound:
    """Draw whether somebody has looked at the plugs, and how many of them were seen."""
    ways = present_wirings(World(catalog, bike, found))
    if not ways:
        return found
    share = rng.choice([0.0, 0.5, 1.0, 1.0] if len(ways) > 1 else [0.0, 0.0, 0.0, 1.0])
    names = sorted(sorted(node.name for node in mate) for mate in rng.choice(ways).mates)
    seen = [rng.sample(pair, 2) for pair in names if rng.random() < share]
    return replace(found, wiring=frozenset((one, two) for one, two in seen))


def _stock_is_valid(catalog: Catalog, bike: str) -> bool:
    world = World(catalog, bike, AsFound())
    return _is_valid(world, world.stock)


def _is_valid(world: World, build: Build) -> bool:
    if things(world, build, frozenset(), FIRST) is not True:
        return False
    return any(electrics(world, build, one) is True for one in wirings(world, build))


def _can_be_asked(instance: PathInstance) -> bool:
    """Tell whether a path question is small, and the page of definitions alone decides what the answer is."""
    if not _is_small(instance):
        return False
    question = instance.question
    if len(present_wirings(World(instance.catalog, question.bike, question.found))) < 2:
        return True
    try:
        paths_brute.tell(instance.catalog, question)
    except paths_brute.TieError:
        return False
    return True


def _is_small(instance: PathInstance):
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
    if len(candidates) > 6 or len(candidates) + len(world.present) > 11:
        return False
    builds = paths_brute.Search(world, question).builds
    return len(builds) ** len(question.stages) <= _MOST_SEQUENCES


def _grown(rng: Random, catalog: Catalog, question: PathQuestion) -> tuple[Catalog, PathQuestion]:
    """Want something soon, and at the end a part that can be had only then and whose slot has rivals."""
    world = World(catalog, question.bike, question.found)
    pool = [one for one in world.placeable if one not in world.present and not world.part(one).stock_only]
    rivals = [(one, two) for one in pool for two in pool if one != two and world.slot(one) == world.slot(two)]
    others = [one for one in pool if one.part != "flash-one"]
    if not rivals or not others:
        return catalog, question
    _, late = rng.choice(rivals)
    day = question.stages[-1].on
    part = catalog.parts[late.part].model_copy(
        update={"available": DateSpan(first=day, last=day + timedelta(days=99))}
    )
    wants = (Want(parts=(rng.choice(others).part,), by=1), Want(parts=(late.part,), place=late.place))
    parts = {**catalog.parts, part.id: part}
    return replace(catalog, parts=parts), replace(question, wants=wants)


# Catalogs -----------------------------------------------------------------------------------------


def _catalog(rng: Random, doubt: float, most: int, for_paths: bool, system: str = "offer") -> Catalog:
    rear = rng.choice(
        ["take-off", "take-off", "take-off", "none", "unseen", "unseen" if doubt else "take-off", "factory"]
    )
    if system == "moved":
        rear = "take-off"
    places = _bike_places(rng, rear)
    box = PartBox(rng, doubt)
    parts, stock = _stock_parts(box, rear)
    draw = {"offer": _offer, "swap": _swappable, "moved": _movable}[system]
    for part in draw(box, rear, places, most):
        parts[part.id] = part
    _spread_availability(box, parts)
    _never_placed(box, parts, for_paths)
    bikes = _bikes(rng, doubt, rear, places, stock, split=not for_paths and rng.random() < 0.12)
    replugs = 0 if system == "offer" else rng.choice([1, 1, 2])
    rules = RuleBox(rng, parts, places, FIRST).draw(replugs)
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
    """Draw a handful of parts, in systems that belong together; some systems lack a part."""
    systems = _systems(box, rear, places)
    box.rng.shuffle(systems)
    if box.chance(0.7):
        systems.insert(0, _amplified(box, rear))
    kept: dict[str, Part] = {}
    for system in systems:
        if len(kept) + len(system) <= most:
            lacking = box.rng.choice(system).id if len(system) > 1 and box.chance(0.12) else None
            kept |= {part.id: part for part in system if part.id != lacking and part.id not in kept}
    return list(kept.values())


def _swappable(box: PartBox, rear: str, places: tuple[str, ...], most: int) -> list[Part]:
    """Draw an amplifier with its harness and power, and what may take their place or be fed by them."""
    ways = ["passed"] if rear == "none" else ["amplified", "plug amplified", "plug amplified", "passed"]
    kept = [
        box.amplifier("amp-one", 2),
        box.in_line("harness-one", box.rng.choice(ways)),
        box.power_kit("kit-one"),
    ]
    others = [
        box.amplifier("amp-two", box.rng.choice([1, 2, 2])),
        box.speaker("speaker-one", ("fairing_pods",), "pod"),
        box.ring("ring-one"),
        box.in_line("harness-two", box.rng.choice(ways)),
    ]
    if "rear_pods" in places and rear != "factory":
        lead = box.rear_lead("lead-one", box.rng.choice(["take", "take", "amp", "mono"]))
        others += [box.speaker("speaker-two", ("rear_pods",), "pod"), lead]
    box.rng.shuffle(others)
    return kept + others[: most - len(kept)]


def _movable(box: PartBox, rear: str, places: tuple[str, ...], most: int) -> list[Part]:
    """Draw a lead to the rear that has more than one plug to go to, and what may make it move."""
    kept = [
        box.amplifier("amp-one", box.rng.choice([1, 2, 2])),
        box.in_line("harness-one", box.rng.choice(["plug", "plug amplified", "choice", "choice"])),
        box.power_kit("kit-one"),
    ]
    others = [
        box.speaker("speaker-one", ("fairing_pods",), "pod"),
        box.radio("radio-one", stock=False),
        box.amplifier("amp-two", box.rng.choice([1, 2])),
    ]
    if "rear_pods" in places:
        kept += [box.rear_lead("lead-one", "take"), box.speaker("speaker-two", ("rear_pods",), "pod")]
        kept += [box.carrier("carrier-one", ("rear_pods",))] if box.chance(0.5) else []
        others += [box.speaker("speaker-three", ("rear_pods",), "pod")] * 2
    box.rng.shuffle(others)
    return kept + others[: max(0, most - len(kept))]


def _amplified(box: PartBox, rear: str) -> list[Part]:
    ways = {"none": ["passed", "plug", "plug amplified"], "factory": ["passed", "amplified"]}.get(
        rear, ["passed", "amplified", "plug", "plug amplified"]
    )
    return [
        box.amplifier("amp-one", box.rng.choice([1, 2, 2])),
        box.in_line("harness-one", box.rng.choice(ways)),
        box.power_kit("kit-one"),
    ]


def _systems(box: PartBox, rear: str, places: tuple[str, ...]) -> list[list[Part]]:
    rng = box.rng
    needs = "rear-open" if rng.random() < 0.4 else None
    fronts = rng.choice([("fairing_pods",), ("fairing_pods",), ("fairing_pods", "rear_pods")])
    systems = [
        [box.speaker("speaker-one", fronts, "pod")],
        [box.speaker("speaker-one", fronts, "pod"), box.ring("ring-one")],
        [
            box.speaker("speaker-blade", ("fairing_pods",), "blade"),
            box.adapter("adapter-one", "pod", "blade"),
        ],
        [box.radio("radio-one", stock=False, needs=needs)],
        [
            box.radio("radio-one", stock=False, needs="rear-open"),
            box.flash("flash-one", "radio-one", "rear-open"),
        ],
        [box.flash("flash-two", "stock-radio", "rear-open")],
        [box.amplifier("amp-two", rng.choice([1, 2]))],
        [box.power_kit("kit-two")],
        [box.in_line("harness-two", rng.choice(["passed", "amplified", "plug", "plug amplified"]))],
    ]
    if rng.random() < 0.3:
        systems.append([box.control("control-one"), box.radio("radio-one", stock=False)])
    systems += _beyond_the_fairing(box, rear, places)
    return systems


def _beyond_the_fairing(box: PartBox, rear: str, places: tuple[str, ...]) -> list[list[Part]]:
    systems: list[list[Part]] = []
    if "rear_pods" in places:
        rear_speaker = box.speaker("speaker-two", ("rear_pods",), "pod")
        leads = ["take", "take", "amp", "mono"] if rear != "none" else ["take", "amp", "mono"]
        lead = box.rear_lead("lead-one", box.rng.choice(leads))
        carriers = [box.carrier("carrier-one", ("rear_pods",))] if box.chance(0.7) else []
        systems += [[rear_speaker, lead, *carriers]] * (1 if rear == "factory" else 3)
        systems += [[box.rear_lead("lead-two", box.rng.choice(["take", "amp", "mono"]))]]
    if "lowers" in places:
        shell, low = box.carrier("lowers-shell", ("lowers",)), box.speaker("speaker-low", ("lowers",), "pod")
        systems += [[box.y_lead("y-lead"), low, shell]] * 2
    if "lid" in places:
        systems.append([box.lid_lead("lid-lead"), box.speaker("speaker-lid", ("lid",), "pod")])
    return systems


def _spread_availability(box: PartBox, parts: dict[str, Part]) -> None:
    for name, part in list(parts.items()):
        if not part.stock_only and box.chance(0.06):
            first = FIRST + timedelta(days=box.rng.choice([-200, 150, 300]))
            parts[name] = box.sometimes_available(
                part, first, first + timedelta(days=box.rng.choice([120, 400, 900]))
            )


def _never_placed(box: PartBox, parts: dict[str, Part], for_paths: bool) -> None:
    amplifiers = sorted(part.id for part in parts.values() if part.kind == "amplifier")
    if amplifiers and box.chance(0.85):
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


def _fit_question(rng: Random, catalog: Catalog, bike: str, found: AsFound) -> FitQuestion:
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
    found = _seen(rng, catalog, bike, found)
    world = World(catalog, bike, found)
    stages = _stages(rng)
    pool = [
        one for one in world.placeable if one not in world.present and not catalog.parts[one.part].stock_only
    ]
    pool = pool or sorted(world.present)
    wants = _wants(rng, world, pool, len(stages))
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
    tight = rng.random() < 0.4
    return tuple(
        Stage(
            on=FIRST + timedelta(days=day),
            fitter="home" if rng.random() < 0.2 else "shop",
            budget=rng.randrange(12_000, 90_000) if rng.random() < (0.8 if tight else 0.1) else None,
        )
        for day in days
    )


def _wants(rng: Random, world: World, pool: list[Placement], last: int) -> tuple[Want, ...]:
    """Draw what is wanted, mostly in slots that do not contend and with a wiring that can be."""
    wanted: list[Placement] = []
    for _ in range(rng.choice([1, 2, 2, 3])):
        one = rng.choice(pool)
        if rng.random() < 0.05 or world.slot(one) not in map(world.slot, wanted):
            wanted.append(one)
    return tuple(_want(rng, one, pool, last) for one in wanted)


def _want(rng: Random, one: Placement, pool: list[Placement], last: int) -> Want:
    parts = (one.part, rng.choice(pool).part) if rng.random() < 0.15 else (one.part,)
    place = one.place if rng.random() < 0.5 else None
    return Want(parts=parts, place=place, by=rng.randrange(1, last + 1) if rng.random() < 0.3 else None)
