"""A release: one whole catalog, named by its content, so that equal content has equal answers."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass

from pydantic import BaseModel

from rules.catalog.catalog import Ambiguous, Bike, Catalog

ENGINE_REVISION = 6
"""Raised whenever the same release may get another answer than before."""

_DIGITS = 16
"""Hexadecimal digits of an id, 64 bits: two of a million releases share one with odds of 1 to ten million."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """An immutable catalog with the id that follows from its content."""

    catalog: Catalog
    id: str

    @classmethod
    def of(cls, catalog: Catalog) -> Release:
        """Name a catalog by its content."""
        return cls(catalog=catalog, id=release_id(catalog))


def release_id(catalog: Catalog) -> str:
    """The id of a catalog's content.

    Returns: `r-` and 16 hexadecimal digits. Comments, line breaks, order of files and keys do not count.
    """
    return f"r-{hashlib.sha256(canonical(catalog)).hexdigest()[:_DIGITS]}"


def canonical(catalog: Catalog) -> bytes:
    """All of a catalog's content and none of its places, in one fixed form."""
    content = {
        "shop": _plain(catalog.shop),
        "places": _plain(catalog.places),
        "connector_types": _plain(catalog.connector_types),
        "contact_maps": _plain(catalog.contact_maps),
        "bikes": {name: _bike(bike) for name, bike in catalog.bikes.items()},
        "ambiguous": {name: _ambiguous(bikes) for name, bikes in catalog.ambiguous.items()},
        "parts": _plain(catalog.parts),
        "lines": dict(catalog.lines),
        "makers": dict(catalog.makers),
        "rules": _plain(catalog.rules),
        "topics": dict(catalog.topics),
        "price_lists": _plain(catalog.price_lists),
        "cases": _plain(catalog.cases),
        **({"drafts": _plain(catalog.drafts)} if catalog.drafts else {}),
    }
    return json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def _plain(value: object) -> object:
    match value:
        case BaseModel():
            return value.model_dump(mode="json", by_alias=True)
        case Mapping():
            return {name: _plain(member) for name, member in value.items()}
        case tuple():
            return [_plain(member) for member in value]
        case _:
            return value


def _bike(bike: Bike) -> dict[str, object]:
    # Where a fact was written is left out; which source vouches for it, and for which years, is content.
    return {
        "family": bike.family,
        "maker": bike.maker,
        "family_name": bike.family_name,
        "year": bike.year,
        "trim": bike.trim,
        "trim_name": bike.trim_name,
        "mount": bike.mount,
        "cooling": bike.cooling,
        "split": _plain(bike.split),
        "has": _plain(bike.has),
        "origins": {
            path: {"source": _plain(origin.source), "years": list(origin.years)}
            for path, origin in bike.origins.items()
        },
    }


def _ambiguous(bikes: Ambiguous) -> dict[str, object]:
    return {"sides": list(bikes.sides), "ask": bikes.ask}
