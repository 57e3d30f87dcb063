"""Connector types, contact maps, and the connectors that looms and parts carry."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rules.catalog.entry import Count, Entry, Flag, Id, Text
from rules.catalog.facts import Unknown

Gender = Literal["plug", "socket"]


class ConnectorType(Entry):
    """A shape of plug and socket. Only equal types mate."""

    id: Id
    name: Text
    contacts: Count


class ContactMap(Entry):
    """What each contact of one connector type carries, and in which direction.

    `contacts` maps a contact, or a pair written `1/2`, to `out LANE`, `in LANE` or `both LANE`, seen from the side that
    carries the map as written. A connector with `mirrored: true` sees every direction turned round.
    A lane is one signal: a speaker pair, a line pair, a supply. `both` is for buses.
    """

    id: Id
    type: Id
    contacts: dict[str, str] = Field(min_length=1)


class Connector(Entry):
    """One plug or socket on a loom or a part.

    `paired`: one on the left and one on the right, which mate alike. `needed`: its part is not fitted until it is mated.
    `place`: where this end lies (default: where the part is fitted). `accepts`: how many it takes; above one only for
    battery posts. `presence`: an unknown with how to look, for a plug that may or may not be there.
    """

    map: Id
    gender: Gender
    mirrored: Flag = False
    paired: Flag = False
    needed: Flag = False
    place: Id | None = None
    accepts: Count = 1
    name: Text | None = None
    presence: Unknown | None = None


class ConnectorFile(Entry):
    """connectors.yaml: the vocabulary of plugs."""

    connector_types: tuple[ConnectorType, ...]
    contact_maps: tuple[ContactMap, ...]
