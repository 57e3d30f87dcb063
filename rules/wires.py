"""The wires inside one part or one loom: its connectors' faces, which lane feeds which, and where its channels come out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from rules.catalog.bike import Loom
from rules.catalog.connector import Connector, ContactMap
from rules.catalog.part import Channel, Part
from rules.mating import Face, MateTable, face_of

SIDES = ("left", "right")
TERMINALS = "terminals"
DRIVE = "drive"


class End(NamedTuple):
    """One lane at one connector; `side` is left or right on a paired connector, else empty."""

    connector: str
    side: str
    lane: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wires:
    """The wires of one owner.

    `numbers` gives each connector's face in the table of mates; `feeds` maps the fed end of a link to its feeding end;
    `outputs` maps an end to the channel that comes out there;
    `sinks` are the ends that must be fed, by side (`left`, `right` or `single`).
    """

    connectors: Mapping[str, Connector]
    faces: Mapping[str, Face]
    numbers: Mapping[str, int]
    feeds: Mapping[End, End]
    outputs: Mapping[tuple[str, str], Channel]
    sinks: tuple[tuple[str, End], ...]


NONE = Wires(connectors={}, faces={}, numbers={}, feeds={}, outputs={}, sinks=())
"""The wires of a part without plugs."""


def wires_of_part(part: Part, maps: Mapping[str, ContactMap], table: MateTable) -> Wires:
    """Compile a part's wires."""
    if not part.connectors:
        return NONE
    faces = {name: face_of(connector, maps) for name, connector in sorted(part.connectors.items())}
    return Wires(
        connectors=dict(sorted(part.connectors.items())),
        faces=faces,
        numbers={name: table.number(face) for name, face in faces.items()},
        feeds=dict(_links(part.links, part.connectors)),
        outputs={_split(channel.output): channel for channel in part.channels},
        sinks=tuple(_sinks(part)),
    )


def wires_of_loom(loom: Loom, maps: Mapping[str, ContactMap], table: MateTable) -> Wires:
    """Compile a bike's own wiring."""
    faces = {name: face_of(connector, maps) for name, connector in sorted(loom.connectors.items())}
    return Wires(
        connectors=dict(sorted(loom.connectors.items())),
        faces=faces,
        numbers={name: table.number(face) for name, face in faces.items()},
        feeds=dict(_links(loom.links, loom.connectors)),
        outputs={},
        sinks=(),
    )


def _sinks(part: Part) -> Iterator[tuple[str, End]]:
    if part.kind != "speaker":
        return
    if part.connectors[TERMINALS].paired:
        for side in SIDES:
            yield side, End(TERMINALS, side, DRIVE)
    else:
        yield "single", End(TERMINALS, "", DRIVE)


def _links(links: Mapping[str, str], connectors: Mapping[str, Connector]) -> Iterator[tuple[End, End]]:
    for fed, feeding in links.items():
        ends = [_split(fed), _split(feeding)]
        if any(name not in connectors for name, _ in ends):
            continue  # A plug that somebody looked for and did not find takes its wires with it.
        both = any(connectors[name].paired or "$side" in lane for name, lane in ends)
        for side in SIDES if both else ("",):
            fed_end, feeding_end = (_end(name, lane, side, connectors[name]) for name, lane in ends)
            yield fed_end, feeding_end


def _end(name: str, lane: str, side: str, connector: Connector) -> End:
    return End(name, side if connector.paired else "", lane.replace("$side", side))


def _split(text: str) -> tuple[str, str]:
    name, _, lane = text.partition(".")
    return name, lane
