"""Seeded, realistic path questions at three sizes, over catalogs in which one way to get there is known to exist.

A story (`story`) puts systems of parts on a bike over several visits. That way is walked by the plain checks of the brute force,
which gives what it costs; budgets are drawn around that. So most questions have a path, and nothing is known of the
cheapest. Every fifth question is then spoilt, and mostly has none.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random
from typing import Literal

from rules.build import AsFound, Build, LedgerEntry, Placement
from rules.catalog.catalog import Catalog, Position
from rules.catalog.facts import DateSpan
from rules.catalog.part import Part
from rules.catalog.shop import Shop
from rules.question import PathQuestion, Stage, Want
from tests.oracle.money_brute import Bill
from tests.oracle.plugs import CONNECTOR_TYPES, CONTACT_MAPS
from tests.oracle.reading import World
from tests.oracle.story import Story, System
from tests.oracle.story_bike import StoryRules, story_bike, story_places
from tests.oracle.story_parts import Shelf
from tests.oracle.story_prices import FIRST, story_prices
from tests.oracle.walk import walk
from tests.oracle.wirings_brute import present_wirings

Size = Literal["small", "medium", "large"]
SIZES: tuple[Size, ...] = ("small", "medium", "large")
BIKE = "plover-2029"
_CHEAP = {"fairing_pods": "front-cheap", "rear_pods": "rear-cheap", "tray": "amp-small"}
"""What may do for a while at a place."""


@dataclass(frozen=True)
class Extent:
    """How large a question is: visits, placements that may be added, other zones, bundles."""

    stages: int
    candidates: int
    zones: tuple[int, ...]
    bundles: tuple[int, ...]


EXTENTS: dict[Size, Extent] = {
    "small": Extent(stages=3, candidates=10, zones=(1,), bundles=(1,)),
    "medium": Extent(stages=4, candidates=25, zones=(2, 2, 3), bundles=(1, 2, 2)),
    "large": Extent(stages=6, candidates=50, zones=(3,), bundles=(3,)),
}


@dataclass(frozen=True)
class Instance:
    """A path question over a catalog; `spoilt` in a word, if something was done against its having a path."""

    catalog: Catalog
    question: PathQuestion
    spoilt: str = ""


def realistic(size: Size, seed: int) -> Instance:
    """Draw a question of a size."""
    for attempt in range(1000):
        drawn = _Draw(Random(f"{size} {seed} {attempt}"), EXTENTS[size]).run()
        if drawn is not None:
            return drawn
    raise AssertionError(size, seed)


@dataclass
class _Stay:
    """A placement of the known way, and the visits at which it comes and goes (0: it is there; None: it stays)."""

    one: Placement
    come: int
    go: int | None = None


class _Draw:
    """One attempt."""

    def __init__(self, rng: Random, extent: Extent) -> None:
        self.rng, self.extent = rng, extent
        self.wants: list[Want] = []
        self.begins: dict[str, int] = {}

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def run(self) -> Instance | None:
        self._tell()
        self.stages = self._stages()
        self.visits = self._visits()
        self._ask()
        catalog = self._catalog()
        found = self._found(catalog)
        if found is None:
            return None
        world = World(catalog, BIKE, found)
        question = self._question(world)
        for stays in self._ways():
            bills = walk(world, question, [self._build(world, stays, k) for k in self._numbers()])
            if bills is not None:
                return self._finish(catalog, question, bills)
        return None

    def _numbers(self) -> range:
        return range(1, self.extent.stages + 1)

    # The story and the shelf ----------------------------------------------------------------------

    def _tell(self) -> None:
        rng = self.rng
        self.places = story_places(rng)
        self.bike = story_bike(
            rng, BIKE, {"dash.head_unit": "stock-radio", "fairing_pods.speaker": "stock-front"}
        )
        take_off = "take-off" in self.bike.has.loom.connectors
        zones = sorted(rng.sample(["rear_pods", "lids", "lowers"], rng.choice(self.extent.zones)))
        amplified = self.extent.stages > 3 or self.chance(0.75)
        self.story = Story(rng, Shelf(rng), take_off)
        self.story.tell(
            tuple(zones), amplified=amplified, head=not amplified or self.chance(0.25 * self.extent.stages)
        )
        offers = list(self.story.offers)
        rng.shuffle(offers)
        while offers and self._count() < self.extent.candidates:
            offers.pop()()

    def _count(self) -> int:
        return sum(
            len(part.at or ("dash",))
            for part in self.story.parts.values()
            if part.slot and not part.stock_only
        )

    def _catalog(self) -> Catalog:
        rng, parts = self.rng, self.story.parts
        self._spans(parts)
        self._never_placed(parts)
        self._elsewhere(parts)
        rules = StoryRules(rng).draw(self.story.tags, flash=self.chance(0.5))
        last = self.stages[-1].on
        lists = max(1, (last - FIRST).days // 182 + rng.choice([0, 1, 1]))
        here = Position(file="one.yaml", line=1, column=1)
        names = [*(f"part:{name}" for name in parts), *(f"rule:{name}" for name in rules), "bike:plover"]
        lines = dict.fromkeys(sorted(parts), "tern")
        return Catalog(
            shop=Shop(name="Harbour workshop", currency="EUR", decimals=2, tax_percent=20.0),
            places=dict(sorted(self.places.items())),
            connector_types=CONNECTOR_TYPES,
            contact_maps=CONTACT_MAPS,
            bikes={BIKE: self.bike},
            ambiguous={},
            parts=dict(sorted(parts.items())),
            lines=lines,
            makers=dict.fromkeys(lines, "marram"),
            rules=rules,
            topics=dict.fromkeys(rules, "all"),
            price_lists=story_prices(rng, parts, self.story.factors, lists),
            cases=(),
            positions=dict.fromkeys(sorted(names), here),
        )

    def _spans(self, parts: dict[str, Part]) -> None:
        """Let some parts end, and some begin, between the visits."""
        days, for_ever = [stage.on for stage in self.stages], date(2036, 1, 1)
        for name, part in list(parts.items()):
            if name in self.begins:
                span = DateSpan(first=days[self.begins[name] - 1], last=for_ever)
                parts[name] = part.model_copy(update={"available": span})
                continue
            if part.stock_only or not self.chance(0.5 if name == "amp-next" else 0.15):
                continue
            middle = self.rng.choice(days[1:])
            first, last = (FIRST, middle - timedelta(days=1)) if self.chance(0.5) else (middle, for_ever)
            parts[name] = part.model_copy(update={"available": DateSpan(first=first, last=last)})

    def _never_placed(self, parts: dict[str, Part]) -> None:
        rng, shelf = self.rng, self.story.shelf
        amplifiers = sorted(part.id for part in parts.values() if part.kind == "amplifier")
        pool = [part.id for part in parts.values() if len(part.at) == 1 and not part.stock_only]
        if amplifiers:
            self.story.put(shelf.preset("preset-a", tuple(amplifiers), 20))
            if self.chance(0.4):
                self.story.put(shelf.preset("preset-b", tuple(amplifiers[:2]), 10), 0.8)
        # Bundles share nothing, and their parts have one place: it is clear which piece went where.
        for number in range(rng.choice(self.extent.bundles)):
            kind = rng.choice(["system", "system", "any"])
            of = [one.part for one in rng.choice(self.story.systems).base] if kind == "system" else pool
            free = sorted(set(of) & set(pool))
            members = tuple(rng.sample(free, min(len(free), rng.choice([2, 3]))))
            if len(members) > 1:
                pool = [name for name in pool if name not in members]
                self.story.put(shelf.bundle(f"bundle-{number}", members))

    def _elsewhere(self, parts: dict[str, Part]) -> None:
        """Add parts that this bike has no use for."""
        shelf = self.story.shelf
        for part in (
            shelf.speaker("sidecar-a", ("sidecar",)),
            shelf.speaker("front-huge", ("fairing_pods",), depth=95.0),
            shelf.carrier("sidecar-shell", "sidecar"),
        ):
            self.story.put(part)
        self.places["sidecar"] = self.places["lowers"].model_copy(
            update={"id": "sidecar", "name": "sidecar", "zone": "sidecar"}
        )

    # One way to get there -------------------------------------------------------------------------

    def _stages(self) -> tuple[Stage, ...]:
        rng, count = self.rng, self.extent.stages
        home = 0.12
        days = sorted(rng.sample(range(30, 300 * count, 15), count))
        return tuple(
            Stage(on=FIRST + timedelta(days=day), fitter="home" if self.chance(home) else "shop")
            for day in days
        )

    def _visits(self) -> dict[str, int]:
        """Give the visit at which each system comes; 0 for what the rider has already."""
        names = [system.name for system in self.story.systems]
        visits = {name: self.rng.choice(self._numbers()) for name in names}
        if {"rears", "amplifier"} <= visits.keys() and self.chance(0.6):
            # The rears come first, hang on the head unit, and may move to the amplifier.
            visits["rears"], visits["amplifier"] = sorted((visits["rears"], visits["amplifier"]))
        if self.chance(0.3):
            visits[self.rng.choice(names)] = 0
        return visits

    def _found(self, catalog: Catalog) -> AsFound | None:
        mine = [one for system in self._systems(0) for one in system.base]
        gone = frozenset(one for system in self._systems(0) for one in system.leaves)
        if not mine:
            return AsFound()
        amplifiers = frozenset(one.part for one in mine if catalog.parts[one.part].kind == "amplifier")
        found = AsFound(
            fitted=tuple(LedgerEntry(placement=one) for one in sorted(mine)),
            removed=gone,
            presets=amplifiers if self.chance(0.7) else frozenset(),
        )
        ways = present_wirings(World(catalog, BIKE, found))
        if not ways:
            return None
        seen = self.rng.choice(ways).mates
        names = sorted(tuple(sorted(node.name for node in mate)) for mate in seen)
        return replace(found, wiring=frozenset((one, two) for one, two in names))

    def _systems(self, visit: int) -> list[System]:
        return [system for system in self.story.systems if self.visits[system.name] == visit]

    def _ask(self) -> None:
        """Say what is wanted, some of it by a visit; sometimes first something cheaper in its place."""
        self.early: list[_Stay] = []
        for system in self.story.systems:
            for parts, place in system.wants:
                self._want(system, parts, place)

    def _want(self, system: System, parts: tuple[str, ...], place: str) -> None:
        visit = self.visits[system.name]
        by = visit if visit and self.chance(0.4) else None
        if visit > 1 and self.chance(0.12):
            self.begins |= dict.fromkeys(parts, visit)
        soon = _CHEAP.get(place, "")
        early = visit > 1 and soon in self.story.parts and self.chance(0.7)
        wide = not early and self.chance(0.5)
        named = self._any_such(parts, place) if wide else parts
        self.wants.append(Want(parts=named, place=place, by=by))
        if early:
            self._stop_gap(system, Placement(soon, place), visit)

    def _any_such(self, parts: tuple[str, ...], place: str) -> tuple[str, ...]:
        """Give all parts that would do for a rider who only wants something of the kind, the named ones first."""
        kind = self.story.parts[parts[0]].kind
        every = [part for part in self.story.parts.values() if part.kind == kind and place in part.at]
        every += [part for part in self.story.parts.values() if part.kind == kind == "head_unit"]
        return tuple(dict.fromkeys([*parts, *(part.id for part in every if not part.stock_only)]))

    def _stop_gap(self, system: System, soon: Placement, visit: int) -> None:
        first = self.rng.randrange(1, visit)
        parts = (soon.part, *self.wants[-1].parts)
        self.wants.append(Want(parts=parts, place=soon.place, by=first))
        self.early.append(_Stay(soon, first, visit))
        if self.chance(0.3):
            self.begins |= dict.fromkeys(self.wants[-2].parts, visit)
        kept = {"rear_pods": system.base[1:], "tray": system.base[1:]}.get(soon.place, [])
        self.early += [_Stay(one, first) for one in kept]
        self.early += [_Stay(one, 0, first) for one in system.leaves]

    def _ways(self) -> list[list[_Stay]]:
        """Give the known way: without a flash of the stock head unit, and with one from each visit on."""
        stays = [_Stay(one, 0, self.visits[s.name]) for s in self.story.systems for one in s.leaves]
        stays += [_Stay(one, self.visits[s.name]) for s in self.story.systems for one in s.base]
        stays += self.early
        head = self.visits.get("head")
        starts = sorted({visit for visit in self.visits.values() if 0 < visit < (head or 99)})
        if head == 0:
            starts = []
        flash = Placement("flash-a", "dash")
        return [stays, *([*stays, _Stay(flash, start, head)] for start in starts)]

    def _build(self, world: World, stays: list[_Stay], visit: int) -> Build:
        build = set(world.present)
        for one in {stay.one for stay in stays}:
            come = min(stay.come for stay in stays if stay.one == one)
            goes = [stay.go for stay in stays if stay.one == one and stay.go is not None]
            if come <= visit and not any(go <= visit for go in goes):
                build.add(one)
            else:
                build.discard(one)
        return frozenset(build)

    # The question ---------------------------------------------------------------------------------

    def _question(self, world: World) -> PathQuestion:
        named = {part for want in self.wants for part in want.parts}
        base = {one.part for system in self.story.systems for one in system.base}
        base |= {"flash-a", "stock-radio", "stock-front"}
        others = sorted({one.part for one in world.placeable} - named - base)
        run = sorted(part.id for part in world.catalog.parts.values() if part.slot == "harness")
        return PathQuestion(
            bike=BIKE,
            stages=self.stages,
            wants=tuple(self.wants),
            found=world.found,
            resale_counts=self.chance(0.3),
            excluded=frozenset([self.rng.choice(others)]) if others and self.chance(0.15) else frozenset(),
            allowed_rewiring=frozenset(name for name in run if self.chance(0.06)),
        )

    def _finish(self, catalog: Catalog, question: PathQuestion, bills: list[Bill | None]) -> Instance | None:
        """Draw budgets around what the known way costs, and spoil every fifth question."""
        back = question.resale_counts
        counted = [0 if one is None else one.spent - (one.back if back else 0) for one in bills]
        question = self._budgeted(question, counted)
        if not self.chance(0.2):
            return Instance(catalog, question)
        spoil = self.rng.choice(["budgets", "budget", "hold", "locked", "charging", "early"])
        return self._spoilt(catalog, question, counted, spoil)

    def _budgeted(self, question: PathQuestion, counted: list[int]) -> PathQuestion:
        """Draw what the rider can spend: mostly the same at each visit or in each year, which leaves the way open."""
        kinds = ["none", "visit", "visit", "visit", "own", "year", "year", "path", "both"]
        kind = self.rng.choice(kinds)
        if kind in {"visit", "own", "both"}:
            most = max(counted) if kind != "own" else 0
            stages = [
                replace(stage, budget=self._cap(max(cost, most, 8_000))) if self.chance(0.9) else stage
                for stage, cost in zip(question.stages, counted, strict=True)
            ]
            question = replace(question, stages=tuple(stages))
        if kind in {"year", "both"}:
            years: dict[int, int] = {}
            for stage, cost in zip(question.stages, counted, strict=True):
                years[stage.on.year] = years.get(stage.on.year, 0) + cost
            caps = {year: self._cap(max(years.values())) for year in years if self.chance(0.9)}
            question = replace(question, year_budgets=caps)
        if kind == "path":
            question = replace(question, budget=self._cap(sum(counted)))
        return question

    def _cap(self, cost: int) -> int:
        return max(0, int(cost * self.rng.uniform(1.0, 1.15)))

    def _spoilt(self, catalog: Catalog, question: PathQuestion, counted: list[int], spoil: str) -> Instance:
        rng = self.rng
        if spoil == "budgets":
            share = rng.uniform(0.3, 0.8)
            stages = [
                replace(stage, budget=max(0, int(cost * share)))
                for stage, cost in zip(question.stages, counted, strict=True)
            ]
            question = replace(question, stages=tuple(stages))
        elif spoil == "budget":
            question = replace(question, budget=max(0, int(sum(counted) * rng.uniform(0.3, 0.85))))
        elif spoil == "hold":
            question = replace(question, excluded=frozenset(rng.choice(question.wants).parts))
        elif spoil == "locked":
            world = World(catalog, BIKE, question.found)
            question = replace(question, locked=frozenset(rng.sample(sorted(world.present), 2)))
        elif spoil == "charging":
            catalog = _with_fact(catalog, "charging_headroom_a", rng.choice([2.0, 4.0, 7.0]))
        else:
            wants = [replace(want, by=1) for want in question.wants]
            question = replace(question, wants=tuple(wants))
        return Instance(catalog, question, spoil)


def _with_fact(catalog: Catalog, name: str, value: float) -> Catalog:
    bike = catalog.bikes[BIKE]
    has = bike.has.model_copy(update={"facts": {**bike.has.facts, name: value}})
    return replace(catalog, bikes={BIKE: replace(bike, has=has)})


def candidates(instance: Instance) -> list[Placement]:
    """Give every placement that may be added at some visit."""
    question = instance.question
    world = World(instance.catalog, question.bike, question.found)
    days = [stage.on for stage in question.stages]
    return [
        one
        for one in world.placeable
        if one not in world.present
        and one.part not in question.excluded
        and any(world.for_sale(one.part, day) for day in days)
    ]
