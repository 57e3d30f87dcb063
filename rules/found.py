"""Whether what is said of a rider's own bike holds together, before anything is asked about it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

from rules.build import AsFound, Build, Placement, stock_placements
from rules.catalog.catalog import Bike, Catalog
from rules.errors import MalformedQuestion, UnknownPart, UnknownPlace
from rules.own_parts import must_be_sound

T = TypeVar("T", Placement, str)


def check_found(catalog: Catalog, bikes: Sequence[Bike], found: AsFound) -> None:
    """Check what is said of a rider's bike, which is one of these: names first, then whether they go together.

    Raises: `UnknownPart`, `UnknownPlace`; `MalformedQuestion` with the field of the first contradiction, and its cure.
    """
    must_be_sound(catalog, found.own_parts)
    _check_names(catalog, found)
    _check_fitted(found)
    stocks = [stock_placements(bike.has.stock) for bike in bikes]
    _check_removed(frozenset().union(*stocks), found)
    _check_presets(catalog, frozenset().union(*(found.present(stock) for stock in stocks)), found)


def check_asked(found: AsFound, part: str, place: str | None) -> None:
    """Refuse to ask about an own part where it is not: nobody sells it, and nobody has another one."""
    if any(part == own.id for own in found.own_parts) and not any(
        part == entry.placement.part and place in (None, entry.placement.place) for entry in found.fitted
    ):
        raise MalformedQuestion(
            "found.fitted",
            "one of the rider's own parts is asked for where it is not fitted",
            "say in found.fitted where each of the own parts is, and ask about it there",
        )


def know_part(catalog: Catalog, part: str, found: AsFound) -> None:
    """Make sure that the catalog or the rider has a part."""
    if part not in catalog.parts and all(part != own.id for own in found.own_parts):
        raise UnknownPart(part, catalog.parts)


def know_place(catalog: Catalog, place: str | None) -> None:
    """Make sure that a place is one of the catalog's, if any is named."""
    if place is not None and place not in catalog.places:
        raise UnknownPlace(place, catalog.places)


def _check_names(catalog: Catalog, found: AsFound) -> None:
    for placed in (*(entry.placement for entry in found.fitted), *_in_order(found.removed)):
        know_part(catalog, placed.part, found)
        know_place(catalog, placed.place)
    for part in _in_order(found.presets):
        know_part(catalog, part, found)
    for place in sorted(found.unknown_work):
        know_place(catalog, place)


def _in_order(words: Iterable[T]) -> tuple[T, ...]:
    """Give the order of the question, where it has one."""
    return words if isinstance(words, tuple) else tuple(sorted(words))


def _check_fitted(found: AsFound) -> None:
    seen: set[Placement] = set()
    for index, entry in enumerate(found.fitted):
        if entry.placement in seen:
            raise MalformedQuestion(
                f"found.fitted.{index}", "a part is said to be fitted at a place twice", "name it once"
            )
        if entry.placement in found.removed:
            raise MalformedQuestion(
                f"found.fitted.{index}",
                "a part is said to be fitted and to be gone",
                "name it in fitted if it is there, or in removed if it is gone",
            )
        seen.add(entry.placement)


def _check_removed(stock: Build, found: AsFound) -> None:
    for index, placed in enumerate(_in_order(found.removed)):
        if placed not in stock:
            raise MalformedQuestion(
                f"found.removed.{index}",
                "a part is said to be gone that this bike did not leave the works with",
                "name stock parts only; what was fitted later and is gone again need not be named",
            )


def _check_presets(catalog: Catalog, present: Build, found: AsFound) -> None:
    own = {part.id: part for part in found.own_parts}
    there = {x.part for x in present}
    for index, name in enumerate(_in_order(found.presets)):
        part = own.get(name) or catalog.parts[name]
        if name not in there or part.kind != "amplifier":
            raise MalformedQuestion(
                f"found.presets.{index}",
                "a preset is said to be in force for what is no amplifier on this bike",
                "name an amplifier that is fitted, or leave it out",
            )
