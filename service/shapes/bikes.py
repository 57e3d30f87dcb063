"""Bikes: the finder's list, and one bike with its locations, wiring and stock build."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Self

from pydantic import Field

from rules.build import Placement
from rules.catalog.bike import BikePlace, SplitSide
from rules.catalog.catalog import Bike, Catalog, Origin
from rules.catalog.connector import Connector
from service.serving import Serving
from service.shapes.base import Told
from service.shapes.fact import FactTold, facts_told
from service.shapes.page import Page, PageAsked, PageTold
from service.shapes.placement import PlacementTold
from service.shapes.release import ReleaseNamed


class BikesAsked(PageAsked):
    """Which bikes to list."""

    maker: str | None = Field(
        default=None, max_length=80, description="The maker's name, as /v1/catalog gives it."
    )
    family: str | None = Field(default=None, max_length=80, description="Id of a family.")
    model_year: int | None = Field(
        default=None, ge=1900, le=2200, description="Model year, not the year of registration."
    )
    trim: str | None = Field(default=None, max_length=80, description="Id of a trim.")

    def selects(self, bike: Bike) -> bool:
        """Tell whether every filter that is given holds."""
        wanted = (self.maker, self.family, self.model_year, self.trim)
        has = (bike.maker, bike.family, bike.year, bike.trim)
        return all(want in (None, value) for want, value in zip(wanted, has, strict=True))

    def to_page(self, catalog: Catalog) -> Page[Bike]:
        """Cut this page out of the catalog's bikes."""
        bikes = (catalog.bikes[name] for name in self.to_come(catalog.bikes))
        return self.page(filter(self.selects, bikes), lambda bike: bike.id)


class SideTold(Told):
    """One side of a running change: which bikes of a model year it means."""

    id: str
    name: str
    built_from: date | None
    built_through: date | None

    @classmethod
    def from_domain(cls, side: SplitSide) -> Self:
        """Write a side."""
        return cls(id=side.id, name=side.name, built_from=side.built_from, built_through=side.built_through)


class BikeRow(Told):
    """One bike of the finder."""

    id: str
    maker: str
    family: str
    family_name: str
    name: str
    model_year: int
    trim: str
    trim_name: str
    side: SideTold | None

    @classmethod
    def from_domain(cls, bike: Bike) -> Self:
        """Write a bike as a row."""
        return cls(
            id=bike.id,
            maker=bike.maker,
            family=bike.family,
            family_name=bike.family_name,
            name=bike.name,
            model_year=bike.year,
            trim=bike.trim,
            trim_name=bike.trim_name,
            side=SideTold.from_domain(bike.split) if bike.split else None,
        )


class BikesTold(PageTold):
    """Bikes, in order of id."""

    bikes: tuple[BikeRow, ...]

    @classmethod
    def from_domain(cls, page: Page[Bike], serving: Serving) -> Self:
        """Write a page of bikes."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            bikes=tuple(BikeRow.from_domain(bike) for bike in page.rows),
            complete=page.complete,
            next=page.next,
        )


class LocationTold(Told):
    """A place of a bike.

    `facts` holds what is known of it: geometry, the air behind it, the mass that it bears.
    """

    id: str
    name: str
    zone: str | None
    pair: bool
    slots: dict[str, int]
    facts: dict[str, FactTold]

    @classmethod
    def from_domain(cls, place_id: str, place: BikePlace, bike: Bike, catalog: Catalog) -> Self:
        """Write a place as this bike has it."""
        known = catalog.places[place_id]
        return cls(
            id=place_id,
            name=known.name,
            zone=known.zone,
            pair=known.pair,
            slots=dict(sorted(known.slots.items())),
            facts=_place_facts(place, bike.origins, f"places.{place_id}"),
        )


def _place_facts(place: BikePlace, origins: Mapping[str, Origin], path: str) -> dict[str, FactTold]:
    air = place.enclosure
    plain = {"carrier_needed": place.carrier_needed, "max_mass_kg": place.max_mass_kg}
    # What nobody wrote down is a default of the catalog's format, not a fact.
    written = {name: fact for name, fact in plain.items() if fact is not None and f"{path}.{name}" in origins}
    return {
        **facts_told(place.geometry, origins, f"{path}.geometry"),
        **facts_told(written, origins, path),
        **(
            facts_told({"volume_l": air.volume_l, "tuning": air.tuning}, origins, f"{path}.enclosure")
            if air
            else {}
        ),
    }


class ConnectorTold(Told):
    """One plug or socket.

    `contacts` are written as the contact map has them; with `mirrored`, in and out are turned round.
    `measure` says how to look, where nobody knows whether the bike has it.
    """

    id: str
    name: str
    type: str
    gender: str
    place: str | None
    paired: bool
    needed: bool
    accepts: int
    mirrored: bool
    contacts: dict[str, str]
    measure: str | None

    @classmethod
    def from_domain(cls, connector_id: str, connector: Connector, catalog: Catalog) -> Self:
        """Write a connector of a loom or a part."""
        contact_map = catalog.contact_maps[connector.map]
        return cls(
            id=connector_id,
            name=connector.name or catalog.connector_types[contact_map.type].name,
            type=contact_map.type,
            gender=connector.gender,
            place=connector.place,
            paired=connector.paired,
            needed=connector.needed,
            accepts=connector.accepts,
            mirrored=connector.mirrored,
            contacts=contact_map.contacts,
            measure=connector.presence.unknown if connector.presence else None,
        )


class StockTold(PlacementTold):
    """A part that the bike left the works with."""

    slot: str


class BikeTold(BikeRow):
    """One bike: its facts, locations, plugs and sockets, and the parts it left the works with."""

    mount: str
    cooling: str
    facts: dict[str, FactTold]
    locations: tuple[LocationTold, ...]
    connectors: tuple[ConnectorTold, ...]
    stock: tuple[StockTold, ...]

    @classmethod
    def from_catalog(cls, bike: Bike, catalog: Catalog) -> Self:
        """Write a bike in full."""
        return cls(
            **dict(BikeRow.from_domain(bike)),
            mount=bike.mount,
            cooling=bike.cooling,
            facts=facts_told(bike.has.facts, bike.origins, "facts"),
            locations=tuple(
                LocationTold.from_domain(place_id, place, bike, catalog)
                for place_id, place in sorted(bike.has.places.items())
            ),
            connectors=connectors_told(bike.has.loom.connectors, catalog),
            stock=tuple(_stock(key, part, catalog) for key, part in sorted(bike.has.stock.items())),
        )


def connectors_told(connectors: Mapping[str, Connector], catalog: Catalog) -> tuple[ConnectorTold, ...]:
    """Write the connectors of a loom or a part, by id."""
    return tuple(
        ConnectorTold.from_domain(name, connector, catalog) for name, connector in sorted(connectors.items())
    )


def _stock(key: str, part: str, catalog: Catalog) -> StockTold:
    place, _, slot = key.partition(".")
    return StockTold(**dict(PlacementTold.from_domain(Placement(part, place), catalog)), slot=slot)


class BikeAnswer(Told):
    """One bike; for a name that stands for several, the question to ask and the bikes to choose from."""

    release: ReleaseNamed
    id: str
    ask: str
    sides: tuple[BikeRow, ...]
    bike: BikeTold | None

    @classmethod
    def from_domain(cls, bike_id: str, serving: Serving) -> Self:
        """Write the answer for an id or an ambiguous name."""
        catalog = serving.catalog
        bike, ambiguous = catalog.bikes.get(bike_id), catalog.ambiguous.get(bike_id)
        return cls(
            release=ReleaseNamed.from_domain(serving),
            id=bike_id,
            ask=ambiguous.ask if ambiguous else "",
            sides=tuple(BikeRow.from_domain(catalog.bikes[side]) for side in ambiguous.sides)
            if ambiguous
            else (),
            bike=BikeTold.from_catalog(bike, catalog) if bike else None,
        )
