"""A template for a new model year of a family: an entry with what changes, and the years of the trims that go on."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import NamedTuple

from rules.catalog.catalog import Bike, Catalog
from rules.nearest import did_you_mean
from service.authoring.emit import Noted, Value, flow, item
from service.authoring.filler import as_written, source, unknown
from service.authoring.places_of import file_of, known
from service.authoring.proposal import Proposal, neighbours, read_file
from service.authoring.refusal import CannotWrite
from service.authoring.sheet import Sheet


class Change(NamedTuple):
    """A fact that changes: for one trim or all, its dotted path, and its new value where somebody knows it already."""

    trim: str | None
    path: str
    value: Value = None


def new_year(directory: Path, family: str, year: int, changes: tuple[str, ...], on: date) -> Proposal:
    """Propose a new model year.

    Args:
        directory: The catalog.
        changes: Dotted paths of the facts that change, `PATH`, or `TRIM:PATH` for one trim only; `PATH=VALUE` where the
            new value is known.
        on: The day, for the source.

    Raises:
        CannotWrite: There is no such family, trim or fact, or the year does not follow the last one.
    """
    catalog = neighbours(directory)
    known(family, {bike.family for bike in catalog.bikes.values()}, "bike family")
    name = file_of(catalog, f"bike:{family}")
    before = read_file(directory, name) or ""
    sheet = Sheet(before)
    last = _last_year(sheet)
    if year != last + 1:
        raise CannotWrite(f"the last model year of {family} is {last}, so the next one is {last + 1}")
    bikes = _bikes_of(catalog, family, last)
    named = [each for change in changes for each in _by_trim(sheet, bikes, _read(change))]
    entry = _entry(catalog, bikes, year, named, on)
    sheet = _with_trims(sheet, last, year).with_item(("entries",), item(entry))
    return Proposal(name=name, before=before, after=sheet.text)


def _read(change: str) -> Change:
    name, equals, value = change.partition("=")
    trim, colon, path = name.rpartition(":")
    return Change(trim if colon else None, path, _value(value) if equals else None)


def _value(text: str) -> Value:
    """Read a value as it would be read in a file."""
    if text in ("true", "false"):
        return text == "true"
    with suppress(ValueError):
        return int(text)
    with suppress(ValueError):
        return float(text)
    return text


def _last_year(sheet: Sheet) -> int:
    return max(_ends(sheet, "entries"))


def _ends(sheet: Sheet, key: str) -> list[int]:
    found: list[int] = []
    while (years := sheet.value(key, len(found), "years")) is not None:
        found.append(int(years.rpartition("-")[2]))
    return found


def _with_trims(sheet: Sheet, last: int, year: int) -> Sheet:
    """Let every trim that was sold in the last year be sold in the new one."""
    for index, end in enumerate(_ends(sheet, "trims")):
        if end == last:
            first = (sheet.value("trims", index, "years") or "").partition("-")[0]
            sheet = sheet.replaced(("trims", index, "years"), f"{first}-{year}")
    return sheet


def _bikes_of(catalog: Catalog, family: str, year: int) -> list[Bike]:
    found = [bike for bike in catalog.bikes.values() if (bike.family, bike.year) == (family, year)]
    if not found:
        raise CannotWrite(
            f"no trim of {family} was sold in {year}: first extend the years of a trim, or add one"
        )
    return found


def _by_trim(sheet: Sheet, bikes: list[Bike], change: Change) -> list[Change]:
    """Say a change of all trims once for each, where not all have the fact, or a trim has a value of its own.

    In `all` it would give the fact to trims that lack it, and leave it as it is for trims with a value of their own.
    """
    if change.trim is not None:
        return [change]
    having = {bike.trim: bike for bike in bikes if change.path in bike.origins}
    if not having:
        _steps(bikes[0], change.path)
    if len(having) == len({bike.trim for bike in bikes}) and not any(
        _is_of_its_trim(sheet, bike, change.path) for bike in having.values()
    ):
        return [change]
    return [change._replace(trim=trim) for trim in having]


def _is_of_its_trim(sheet: Sheet, bike: Bike, path: str) -> bool:
    """Tell whether a value was written under a trim."""
    line = bike.origins[path].line
    trees = [
        sheet.find("entries", index, "trims", bike.trim) for index in range(len(_ends(sheet, "entries")))
    ]
    return any(tree is not None and tree.start_mark.line < line <= tree.end_mark.line + 1 for tree in trees)


def _entry(
    catalog: Catalog, bikes: list[Bike], year: int, changes: list[Change], on: date
) -> dict[str, Value]:
    entry: dict[str, Value] = {"years": year, "source": source(on)}
    for change in changes:
        trim, bike = change.trim, _bike(bikes, change.trim)
        tree = (
            entry.setdefault("all", {})
            if trim is None
            else entry.setdefault("trims", {}).setdefault(trim, {})
        )
        _put(tree, _steps(bike, change.path), _filler(catalog, bike, change))
    return entry


def _bike(bikes: list[Bike], trim: str | None) -> Bike:
    if trim is None:
        return bikes[0]
    known(trim, {bike.trim for bike in bikes}, "trim sold in the last year")
    return next(bike for bike in bikes if bike.trim == trim)


def _filler(catalog: Catalog, bike: Bike, change: Change) -> Value:
    steps = _steps(bike, change.path)
    value: Value = as_written(bike.has)
    for step in steps:
        value = value[step]
    shown = "not known" if isinstance(value, dict) else flow(value)
    if change.value is not None:
        return Noted(change.value, f"{shown} in {bike.year}")
    if steps[0] in ("facts", "places"):
        return Noted(unknown(catalog, change.path, f"the {bike.name}"), f"{shown} in {bike.year}")
    # Plugs and parts have no unknown, and one that is only repeated could be the wrong one for another trim.
    raise CannotWrite(f"say what is there now: --change {change.path}=VALUE; in {bike.year} it is {shown}")


def _steps(bike: Bike, path: str) -> tuple[str, ...]:
    """Give the keys of a dotted path, some of which hold points themselves (`stock.dash.head_unit`)."""
    if path not in bike.origins:
        near = did_you_mean(path, bike.origins) or f"`loomway explain {bike.id}` lists them"
        raise CannotWrite(f"{bike.id} has no fact {path}; {near}")
    return tuple(_walk(as_written(bike.has), path))


def _walk(tree: Value, path: str) -> Iterator[str]:
    while path:
        fitting = [name for name in tree if path == name or path.startswith(f"{name}.")]
        step = max(fitting, key=len)
        yield step
        tree, path = tree[step], path[len(step) + 1 :]


def _put(tree: dict[str, Value], steps: tuple[str, ...], value: Value) -> None:
    *parents, last = steps
    for step in parents:
        tree = tree.setdefault(step, {})
    tree[last] = value
