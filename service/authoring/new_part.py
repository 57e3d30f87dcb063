"""A template for a new part: what a neighbour of its kind has, with every figure unknown."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import get_args

from rules.catalog.catalog import Catalog
from rules.catalog.part import Kind, Part
from service.authoring.emit import Noted, Value, block, item, scalar
from service.authoring.filler import as_written, source, unknown
from service.authoring.places_of import file_of, known, new
from service.authoring.proposal import Proposal, neighbours, read_file
from service.authoring.refusal import CannotWrite
from service.authoring.schemas import modeline_beside
from service.authoring.sheet import Sheet

_FIGURES = ("spec", "speaker", "supply", "cable")
_COPIED = ("slot", "at", "tags", "host", "connectors", "links", "channels", "preset", "members")


@dataclass(frozen=True, slots=True, kw_only=True)
class PartAsked:
    """What a person says of a new part.

    Attributes:
        like: A part to copy plugs, slot and places from; left out, one of the same kind, of the same line if there is one.
        maker: Of a new line.
    """

    part: str
    line: str
    kind: str
    name: str
    like: str | None = None
    maker: str | None = None


def new_part(directory: Path, asked: PartAsked, on: date) -> Proposal:
    """Propose a part at the end of its line's file, or in a new file where the line is new.

    Raises:
        CannotWrite: The id is taken, there is no such kind or neighbour, or a new line has no maker.
    """
    catalog = neighbours(directory)
    line = asked.line
    new(asked.part, catalog.parts, "part")
    known(asked.kind, get_args(Kind), "kind of part")
    neighbour = _neighbour(catalog, asked)
    entry = _part(catalog, asked, neighbour, on)
    files = {catalog.lines[other]: file_of(catalog, f"part:{other}") for other in catalog.parts}
    if line in files:
        before = read_file(directory, files[line]) or ""
        return Proposal(
            name=files[line], before=before, after=Sheet(before).with_item(("parts",), item(entry)).text
        )
    if asked.maker is None:
        raise CannotWrite(f"{line} is a new line: say who makes it with --maker")
    title = f"parts/{line}.yaml"
    head = block(
        {"line": line, "maker": asked.maker, "name": line.replace("-", " ").replace("_", " ").capitalize()}
    )
    return Proposal(
        name=title, before=None, after=f"{modeline_beside(directory, title)}{head}parts:\n{item(entry, 2)}"
    )


def _neighbour(catalog: Catalog, asked: PartAsked) -> Part:
    if asked.like is not None:
        known(asked.like, catalog.parts, "part")
        return catalog.parts[asked.like]
    alike = [part for part in catalog.parts.values() if part.kind == asked.kind]
    if not alike:
        raise CannotWrite(
            f"the catalog has no {asked.kind} to copy from; docs/authoring.md shows what one looks like"
        )
    return max(alike, key=lambda part: (catalog.lines[part.id] == asked.line, not part.stock_only, part.id))


def _part(catalog: Catalog, asked: PartAsked, neighbour: Part, on: date) -> dict[str, Value]:
    written, name = as_written(neighbour), asked.name
    entry: dict[str, Value] = {"id": asked.part, "name": name, "kind": neighbour.kind}
    for key in _COPIED[:4]:
        if key in written:
            entry[key] = written[key]
    for key in _FIGURES:
        if key in written:
            entry[key] = _unknown_figures(catalog, key, written[key], name)
    if neighbour.slot is not None:
        entry["mass_kg"] = {"unknown": "weigh it with its screws"}
    note = f"as of {neighbour.id}: correct what differs"
    for key in _COPIED[4:]:
        if key in written:
            entry[key] = Noted(_silent(catalog, written[key], name), note)
    return {**entry, "source": source(on, "maker_sheet")}


def _unknown_figures(catalog: Catalog, key: str, figures: dict[str, Value], name: str) -> dict[str, Value]:
    return {
        figure: [] if isinstance(value, list) else unknown(catalog, f"{key}.{figure}", f"the {name}")
        for figure, value in figures.items()
    }


def _silent(catalog: Catalog, value: Value, name: str) -> Value:
    """Give a copy without the figures of channels: another amplifier has others."""
    if isinstance(value, list):
        return [_silent(catalog, member, name) for member in value]
    if isinstance(value, dict) and "watts" in value:
        figures = {key: unknown(catalog, f"channel.{key}", f"the {name}") for key in ("watts", "min_ohm")}
        return {**value, **figures}
    return value


def priced(directory: Path, catalog: Catalog, part: str, price: int) -> Proposal:
    """Propose a part's price in the last price list [minor units]."""
    last = catalog.price_lists[-1].price_list
    name = next(
        path.relative_to(directory).as_posix()
        for path in sorted((directory / "prices").glob("*.yaml"))
        if Sheet(path.read_text(encoding="utf-8")).value("price_list") == last
    )
    before = read_file(directory, name) or ""
    return Proposal(
        name=name, before=before, after=Sheet(before).with_key(("prices",), part, scalar(price)).text
    )
