"""The plugs of the generated catalogs: a small vocabulary of connector types, contact maps and connectors."""

from __future__ import annotations

from rules.catalog.connector import Connector, ConnectorType, ContactMap, Gender

_MAPS = {
    "head-full": (
        "head",
        {"1/2": "out front_left", "3/4": "out front_right", "5/6": "out rear_left", "7/8": "out rear_right"},
    ),
    "head-front": ("head", {"1/2": "out front_left", "3/4": "out front_right"}),
    "head-crossed": ("head", {"1/2": "out front_right", "3/4": "out front_left"}),
    "pod": ("pod", {"1/2": "out drive"}),
    "blade": ("blade", {"1": "out drive", "2": "out drive"}),
    "take": ("take", {"1/2": "out rear_left", "3/4": "out rear_right"}),
    "lid": ("lid", {"1/2": "out lid_left", "3/4": "out lid_right"}),
    "low": ("low", {"1/2": "out low_left", "3/4": "out low_right"}),
    "amp": ("amp", {"1/2": "out amp_left", "3/4": "out amp_right"}),
    "line": ("line", {"1/2": "out line"}),
    "lug": ("lug", {"1": "out supply"}),
    "feed": ("feed", {"1": "out supply"}),
    "bus": ("bus", {"1/2": "both bus"}),
}

CONTACT_MAPS = {
    name: ContactMap(id=name, type=kind, contacts=contacts)
    for name, (kind, contacts) in sorted(_MAPS.items())
}
CONNECTOR_TYPES = {
    kind: ConnectorType(id=kind, name=f"{kind} plug", contacts=8)
    for kind in sorted({kind for kind, _ in _MAPS.values()})
}


def sends(name: str, gender: Gender = "plug", **more) -> Connector:
    """Give a connector that sees its map as written."""
    return Connector(map=name, gender=gender, **more)


def takes(name: str, gender: Gender = "socket", **more) -> Connector:
    """Give a connector that sees its map turned round."""
    return Connector(map=name, gender=gender, mirrored=True, **more)
