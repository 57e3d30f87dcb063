"""The catalog of a question among thousands of parts for other bikes, as a shop's catalog is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random

from rules.catalog.catalog import Catalog, Position
from rules.catalog.connector import ConnectorType, ContactMap
from rules.catalog.part import Part
from tests.oracle.plugs import sends, takes
from tests.oracle.realistic import Instance
from tests.oracle.story_parts import Shelf

_OTHER = "pod-seven"
"""A shape of speaker plug that this bike has not."""


def crowded(instance: Instance, parts: int) -> Instance:
    """Fill a catalog up to a number of parts, none of which can take part: other places, other plugs, too deep."""
    catalog = instance.catalog
    shelf = Shelf(Random(f"crowd {parts}"))
    crowd = {part.id: part for part in _crowd(shelf, parts - len(catalog.parts))}
    return replace(instance, catalog=_with(catalog, crowd, shelf.rng))


def _crowd(shelf: Shelf, count: int) -> Iterator[Part]:
    for number in range(count):
        kind, name = number % 10, f"other-{number}"
        if kind < 3:
            yield shelf.speaker(name, ("sidecar",))
        elif kind < 5:
            yield shelf.carrier(name, "sidecar")
        elif kind < 7:
            yield shelf.speaker(name, ("fairing_pods", "rear_pods"), plug=_OTHER)
        elif kind < 9:
            yield shelf.speaker(name, ("fairing_pods",), depth=90.0 + number % 7)
        else:
            plugs = {"in": takes(_OTHER, paired=True, needed=True), "out": sends(_OTHER, paired=True)}
            yield shelf.make(
                name, "adapter", slot="adapter", connectors=plugs, links={"out.drive": "in.drive"}
            )


def _with(catalog: Catalog, crowd: dict[str, Part], rng: Random) -> Catalog:
    here = Position(file="two.yaml", line=1, column=1)
    priced = {name: rng.randrange(2_000, 40_000) for name in crowd}
    lists = tuple(
        one.model_copy(update={"prices": dict(sorted({**one.prices, **priced}.items()))})
        for one in catalog.price_lists
    )
    other = ContactMap(id=_OTHER, type=_OTHER, contacts={"1/2": "out drive"})
    shape = ConnectorType(id=_OTHER, name="another pod plug", contacts=8)
    return replace(
        catalog,
        parts=dict(sorted({**catalog.parts, **crowd}.items())),
        lines=dict(sorted({**catalog.lines, **dict.fromkeys(crowd, "samphire")}.items())),
        makers=dict(sorted({**catalog.makers, **dict.fromkeys([*catalog.lines, *crowd], "marram")}.items())),
        price_lists=lists,
        contact_maps={**catalog.contact_maps, _OTHER: other},
        connector_types={**catalog.connector_types, _OTHER: shape},
        positions={**catalog.positions, **{f"part:{name}": here for name in crowd}},
    )
