"""The catalog that answers: its shop, what it holds, and the words that filters and questions take."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from itertools import groupby
from typing import Self

from rules.catalog.catalog import Bike, Catalog
from rules.catalog.place import Place
from rules.catalog.price import PriceList
from rules.catalog.shop import Shop
from service.serving import Serving
from service.shapes.base import Told
from service.shapes.release import ReleaseNamed


class Counts(Told):
    """How much a catalog holds.

    `variants` are bikes: family, model year, trim, and side of a running change.
    """

    makers: int
    families: int
    variants: int
    parts: int
    connector_types: int
    rules: int
    cases: int

    @classmethod
    def from_domain(cls, catalog: Catalog) -> Self:
        """Count."""
        bikes = catalog.bikes.values()
        return cls(
            makers=len({bike.maker for bike in bikes}),
            families=len({bike.family for bike in bikes}),
            variants=len(bikes),
            parts=len(catalog.parts),
            connector_types=len(catalog.connector_types),
            rules=len(catalog.rules),
            cases=len(catalog.cases),
        )


class ShopTold(Told):
    """The shop, its currency and how many decimals a price shows, and the tax that prices include."""

    name: str
    currency: str
    decimals: int
    tax_percent: float

    @classmethod
    def from_domain(cls, shop: Shop) -> Self:
        """Write the shop."""
        return cls(
            name=shop.name, currency=shop.currency, decimals=shop.decimals, tax_percent=shop.tax_percent
        )


class FamilyTold(Told):
    """One bike family, with the model years and trims that the catalog knows."""

    id: str
    name: str
    maker: str
    model_years: tuple[int, ...]
    trims: tuple[str, ...]

    @classmethod
    def from_domain(cls, family: str, bikes: Iterable[Bike]) -> Self:
        """Gather a family from its bikes."""
        found = tuple(bikes)
        return cls(
            id=family,
            name=found[0].family_name,
            maker=found[0].maker,
            model_years=tuple(sorted({bike.year for bike in found})),
            trims=tuple(sorted({bike.trim for bike in found})),
        )


class PlaceTold(Told):
    """One place of the shop's vocabulary."""

    id: str
    name: str
    zone: str | None
    pair: bool

    @classmethod
    def from_domain(cls, place: Place) -> Self:
        """Write a place."""
        return cls(id=place.id, name=place.name, zone=place.zone, pair=place.pair)


class PriceListTold(Told):
    """A price list and the days that it holds for."""

    id: str
    first: date
    last: date

    @classmethod
    def from_domain(cls, price_list: PriceList) -> Self:
        """Write a price list."""
        return cls(id=price_list.price_list, first=price_list.first, last=price_list.last)


class CatalogTold(Told):
    """The catalog that answers."""

    release: ReleaseNamed
    today: date
    shop: ShopTold
    counts: Counts
    families: tuple[FamilyTold, ...]
    places: tuple[PlaceTold, ...]
    price_lists: tuple[PriceListTold, ...]

    @classmethod
    def from_domain(cls, serving: Serving, today: date) -> Self:
        """Write the catalog in short."""
        catalog = serving.catalog
        by_family = groupby(
            sorted(catalog.bikes.values(), key=lambda bike: bike.family), key=lambda bike: bike.family
        )
        return cls(
            release=ReleaseNamed.from_domain(serving),
            today=today,
            shop=ShopTold.from_domain(catalog.shop),
            counts=Counts.from_domain(catalog),
            families=tuple(FamilyTold.from_domain(family, bikes) for family, bikes in by_family),
            places=tuple(PlaceTold.from_domain(place) for place in catalog.places.values()),
            price_lists=tuple(PriceListTold.from_domain(price_list) for price_list in catalog.price_lists),
        )
