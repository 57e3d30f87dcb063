"""What was found out about wirings, kept from one catalog to the next where nothing that has plugs is another."""

from __future__ import annotations

from rules.bench import Bench
from rules.build import AsFound
from rules.catalog.catalog import Catalog
from rules.catalog.part import Part
from rules.desk import Desk
from rules.engine import Engine
from rules.impact.touch import Touched
from rules.judged import Judged

Wirings = dict[tuple[object, ...], Judged]
"""What was found out, by all that it depends on besides the parts: plugs and places of the bike, and the bike as found."""


class Remembering(Engine):
    """An engine that finds out about wirings only what is not known yet."""

    def __init__(self, catalog: Catalog, wirings: Wirings | None = None) -> None:
        super().__init__(catalog)
        self.wirings = {} if wirings is None else wirings

    def _desk_of(self, bike: str, found: AsFound, own_parts: tuple[Part, ...]) -> Desk:
        desk = super()._desk_of(bike, found, own_parts)
        desk.bench.judged = self.wirings.setdefault(_key(desk.bench), Judged())
        return desk


def _key(bench: Bench) -> tuple[object, ...]:
    loom = bench.has.loom
    # What may be missing is named with its bike.
    bike = bench.bike.id if any(x.presence is not None for x in loom.connectors.values()) else ""
    return bike, loom.model_dump_json(), frozenset(bench.has.places), repr(bench.found)


def leave_wirings(catalog: Catalog, other: Catalog, touched: Touched) -> bool:
    """Tell whether two catalogs differ in nothing that a wiring depends on, bikes aside."""
    return (
        not touched.everything
        and not touched.parts["wires"]
        and catalog.contact_maps == other.contact_maps
        and catalog.connector_types == other.connector_types
    )
