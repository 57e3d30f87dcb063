"""Places on a bike that hold parts: the shop's vocabulary of locations, slots and zones."""

from __future__ import annotations

from rules.catalog.entry import Count, Entry, Flag, Id, Text


class Place(Entry):
    """A kind of location (fairing pods, rear pods, dash, battery) with its named slots and how many parts each takes.

    A place with a `zone` holds speakers; `pair` says that it has a left and a right side.
    """

    id: Id
    name: Text
    zone: Text | None = None
    pair: Flag = False
    slots: dict[Id, Count]


class PlaceFile(Entry):
    """places.yaml: the vocabulary of places."""

    places: tuple[Place, ...]
