"""When two connectors mate: equal type, opposite gender, and contacts that agree."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from rules.catalog.connector import Connector, ContactMap

_TURNED = {"in": "out", "out": "in", "both": "both"}


class Contact(NamedTuple):
    """What one contact carries, seen from its own side."""

    lane: str
    flow: str


class Face(NamedTuple):
    """All that decides what a connector mates with. Equal faces mate with the same faces."""

    type: str
    gender: str
    paired: bool
    contacts: tuple[tuple[str, Contact], ...]


def face_of(connector: Connector, maps: Mapping[str, ContactMap]) -> Face:
    """Give a connector's face: its map's contacts, turned round where it is mirrored."""
    contact_map = maps[connector.map]
    contacts = sorted(
        (at, _contact(text, mirrored=connector.mirrored)) for at, text in contact_map.contacts.items()
    )
    return Face(contact_map.type, connector.gender, connector.paired, tuple(contacts))


def faces_mate(one: Face, other: Face) -> bool:
    """Tell whether two faces mate: each contact agrees in lane with opposite flow, or is empty on one side."""
    if (one.type, one.paired) != (other.type, other.paired) or one.gender == other.gender:
        return False
    facing = dict(other.contacts)
    return all(at not in facing or _agree(contact, facing[at]) for at, contact in one.contacts)


def _agree(one: Contact, other: Contact) -> bool:
    return one.lane == other.lane and one.flow == _TURNED[other.flow]


def _contact(text: str, *, mirrored: bool) -> Contact:
    flow, _, lane = text.partition(" ")
    return Contact(lane.strip(), _TURNED[flow] if mirrored else flow)


class MateTable:
    """Faces by number, and which of them mate. Each pair is compared once."""

    def __init__(self) -> None:
        self._numbers: dict[Face, int] = {}
        self._faces: list[Face] = []
        self._mates: list[set[int]] = []

    def number(self, face: Face) -> int:
        """Give a face's number; equal faces have the same."""
        if face not in self._numbers:
            new = len(self._faces)
            self._numbers[face] = new
            self._faces.append(face)
            self._mates.append({other for other, known in enumerate(self._faces) if faces_mate(face, known)})
            for other in self._mates[new]:
                self._mates[other].add(new)
        return self._numbers[face]

    def mates(self, number: int) -> set[int]:
        """Give the numbers of the faces that mate with this one."""
        return self._mates[number]
