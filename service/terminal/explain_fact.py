"""Where a fact of a bike comes from: which entry wrote it, since when it holds, and what held before."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rules.catalog.catalog import Bike, Catalog, Origin
from rules.nearest import nearest
from service.authoring.emit import flow
from service.terminal.mistakes import WrongCommand
from service.terminal.output import source_words

RULES_FOLDER = "/rules/"
"""A fact that was written in such a file is provided by a rule."""


@dataclass(frozen=True, slots=True)
class _Held:
    """A value that a trim had for some model years, and where it was written."""

    first: int
    last: int
    value: str
    origin: Origin


def fact_lines(catalog: Catalog, bike: Bike, fact: str | None) -> tuple[str, ...]:
    """Tell a fact in full, or each of several that begin alike in a line.

    Args:
        fact: The dotted path of a fact, or the beginning of several; None for all.

    Raises:
        WrongCommand: The bike has no such fact; with the nearest one.
    """
    if fact is not None and fact in bike.origins:
        return tuple(_in_full(catalog, bike, fact))
    paths = sorted(path for path in bike.origins if fact is None or path.startswith(fact))
    if not paths:
        near = nearest(fact or "", bike.origins)
        more = f"did you mean {near}?" if near else f"`loomway explain {bike.id}` lists them"
        raise WrongCommand(f"this bike has no such fact; {more}")
    return tuple(_in_a_line(bike, path) for path in paths)


def _in_a_line(bike: Bike, path: str) -> str:
    origin = bike.origins[path]
    return f"{path}: {_shown(bike, path)} ({source_words(origin.source)}; {_how(bike, origin)})"


def _in_full(catalog: Catalog, bike: Bike, path: str) -> Iterator[str]:
    origin = bike.origins[path]
    yield f"{path}: {_shown(bike, path)}"
    yield f"  {_how(bike, origin)}"
    yield f"  source: {source_words(origin.source)}"
    yield from _overridden(catalog, bike, path)
    yield from _beside(catalog, bike, path)


def _how(bike: Bike, origin: Origin) -> str:
    """Tell how a bike came by a fact."""
    where = f"{origin.file}:{origin.line}"
    if RULES_FOLDER in origin.file:
        return f"given by a rule at {where}"
    entry = f"model years {origin.years}; {where}"
    if bike.year in origin.years:
        return f"written for {entry}"
    return f"inherited since {origin.years.first}, from {entry}"


def _overridden(catalog: Catalog, bike: Bike, path: str) -> Iterator[str]:
    """Tell what the same trim had before."""
    for held in _history(catalog, bike, path):
        if held.last < bike.year:
            years = str(held.first) if held.first == held.last else f"{held.first}-{held.last}"
            source = source_words(held.origin.source)
            yield f"  before, in {years}: {held.value} ({source}; {held.origin.file}:{held.origin.line})"


def _history(catalog: Catalog, bike: Bike, path: str) -> list[_Held]:
    """Give what a trim had from year to year, the latest first, each value once for as long as it held."""
    found: list[_Held] = []
    for other in _of_trim(catalog, bike):
        origin = other.origins.get(path)
        if origin is None or other.year > bike.year:
            continue
        last = found[-1] if found else None
        if last is not None and _place(last.origin) == _place(origin):
            found[-1] = _Held(last.first, other.year, last.value, origin)
        else:
            found.append(_Held(other.year, other.year, _shown(other, path), origin))
    current = _place(bike.origins[path])
    return [held for held in reversed(found) if _place(held.origin) != current]


def _of_trim(catalog: Catalog, bike: Bike) -> list[Bike]:
    """Give the bikes of a trim, one for each year: at a split the side that the bike itself is on, or the first."""
    by_year: dict[int, Bike] = {}
    for other in catalog.bikes.values():
        if (other.family, other.trim) == (bike.family, bike.trim):
            is_own_side = other.id == bike.id
            if is_own_side or other.year not in by_year:
                by_year[other.year] = other
    return [by_year[year] for year in sorted(by_year)]


def _beside(catalog: Catalog, bike: Bike, path: str) -> Iterator[str]:
    """Tell what other bikes of the family and year have, where that is something else."""
    for other in catalog.bikes.values():
        is_beside = (other.family, other.year) == (bike.family, bike.year) and other.id != bike.id
        if is_beside and path in other.origins and _shown(other, path) != _shown(bike, path):
            origin = other.origins[path]
            yield f"  {other.id} has {_shown(other, path)} ({origin.file}:{origin.line})"


def _place(origin: Origin) -> tuple[str, int, int]:
    return origin.file, origin.line, origin.column


def _shown(bike: Bike, path: str) -> str:
    return shown(value_at(bike.has.model_dump(exclude_unset=True), path))


def shown(value: object) -> str:
    """Show a value as it would be written."""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return flow(value) if isinstance(value, dict | list | tuple | bool) else str(value)


def value_at(tree: object, path: str) -> object:
    """Walk down a dotted path, some of whose keys hold points themselves (`stock.dash.head_unit`)."""
    if isinstance(tree, dict) and set(tree) == {"unknown"}:
        return f"not known; {tree['unknown']}"
    if not path or not isinstance(tree, dict):
        return tree
    steps = [key for key in tree if path == key or path.startswith(f"{key}.")]
    step = max(steps, key=len, default=None)
    if step is None:
        raise KeyError(path)
    return value_at(tree[step], path[len(step) + 1 :])
