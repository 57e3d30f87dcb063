"""Which bikes of one catalog give the same answers: all of them, or those about a part that stands alone.

A question is asked once for all bikes on which it depends on the same. What answers may depend on at all is whatever rules can
look at, and few bikes share that. But many small parts stand alone: they have no plug, need nothing, take nobody's place,
and nothing on a bike as it left the works looks for them. Then nothing that is added could clear a finding, or is needed,
so that the answer depends on nothing but what is on the bike and what the part itself means there.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.condition import Comparison, Condition, Fitted
from rules.catalog.rule import Clearance, FlashNeeded, Requires
from rules.conditions import leaves
from rules.desk import Desk
from rules.engine import Engine
from rules.impact.meaning import Meanings, decided
from rules.impact.reach import Needs
from rules.provides import bike_fact
from rules.tables import PartRule, Tables


class AlikeBikes:
    """Tells the bikes of one catalog apart.

    Args:
        days: Days on which money is compared.
    """

    def __init__(self, engine: Engine, needs: Needs, days: tuple[date, ...]) -> None:
        self.engine = engine
        self.needs = needs
        self.days = days
        self._comparisons = tuple({repr(x): x for x in _comparisons(engine.catalog)}.values())
        self._known: dict[str, object] = {}
        self._has: dict[int, str] = {}
        self._grounds: dict[str, str | None] = {}
        self._lone: dict[str, bool] = {}

    def key(self, name: str) -> object:
        """Give what a bike has in common with all that give the same answers: what it has, and how its facts compare."""
        if name not in self._known:
            bike = self.engine.catalog.bikes[name]
            has = self._has.setdefault(id(bike.has), bike.has.model_dump_json())
            self._known[name] = (has, tuple(_outcome(bike, x) for x in self._comparisons))
        return self._known[name]

    def key_for(self, name: str, part: str) -> object:
        """Give what a bike has in common with all that give the same answers about one part."""
        if part not in self._lone:
            self._lone[part] = part not in self.needs.unsettling and _needs_nothing(self.engine.tables, part)
        ground = self._ground(name) if self._lone[part] else None
        if ground is None:
            return self.key(name)
        desk = self.engine.desk(name)
        placements = sorted(desk.bench.of_part(part))
        if not all(_has_room(desk.bench, x) for x in placements):
            return self.key(name)
        read = Meanings(desk, self.days, frozenset())
        return ground, repr([(x, read.rules(x), read.work(x), read.money(x)) for x in placements])

    def _ground(self, name: str) -> str | None:
        """Give all that what is on a bike means; None where it lacks something already."""
        if name not in self._grounds:
            desk = self.engine.desk(name)
            self._grounds[name] = self._read_ground(desk) if _is_sound(desk) else None
        return self._grounds[name]

    def _read_ground(self, desk: Desk) -> str:
        read, bench = Meanings(desk, self.days, frozenset()), desk.bench
        present = [
            (x, x in bench.stock, read.rules(x), read.wires(x), read.work(x), read.money(x))
            for x in sorted(bench.present)
        ]
        return repr((read.plugs(), present))


def _is_sound(desk: Desk) -> bool:
    """Tell whether the stock build is valid without a preset, so that nothing is bought for its sake."""
    bench = desk.bench
    is_chained = any(bench.is_chained(x) for x in bench.present)
    return not is_chained and desk.examiner.examine(bench.present).is_valid


def _needs_nothing(tables: Tables, name: str) -> bool:
    """Tell whether no extras are ever looked for because of a part, wherever it is, but for a carrier."""
    part = tables.catalog.parts[name]
    figures = part.channels, part.speaker, part.supply, part.cable
    is_plain = part.kind != "amplifier" and not (part.host or part.preset or part.connectors or any(figures))
    is_silent = tables.needs_tags.isdisjoint(part.tags)
    return (
        is_plain and is_silent and not any(_may_be_cleared(tables, rule) for rule in tables.part_rules[name])
    )


def _may_be_cleared(tables: Tables, rule: PartRule) -> bool:
    """Tell whether something that is fitted besides may clear what a rule finds."""
    conditions = (rule.when, *(x.when for x in tables.exceptions.get(rule.id, ())))
    return (
        isinstance(rule, Requires | FlashNeeded)
        or (isinstance(rule, Clearance) and rule.relieved_by_slot is not None)
        or any(isinstance(leaf, Fitted) for when in conditions if when for leaf in leaves(when))
    )


def _has_room(bench: Bench, placed: Placement) -> bool:
    """Tell whether a part can be fitted without a carrier, and puts nothing out."""
    slot = bench.part(placed).slot
    is_taken = any(x.place == placed.place and bench.part(x).slot == slot for x in bench.present)
    return not is_taken and bench.carrier_cause(placed.place).value is False


def _comparisons(catalog: Catalog) -> Iterator[Comparison]:
    """Give every comparison of a bike's fact; what rules of kind `provides` give is in the bikes already."""
    for rule in catalog.rules.values():
        when: Condition | None = getattr(rule, "when", None)
        for leaf in leaves(when) if when and rule.kind != "provides" else ():
            if isinstance(leaf, Comparison) and leaf.fact.startswith("bike."):
                yield leaf


def _outcome(bike: Bike, comparison: Comparison) -> object:
    return decided(comparison, lambda name: bike_fact(bike, name))
