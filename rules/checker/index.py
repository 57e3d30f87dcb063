"""An index of one catalog: what is looked up again and again, worked out once for each part and kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

from rules.catalog.catalog import Catalog
from rules.catalog.condition import Selector
from rules.catalog.connector import Connector
from rules.catalog.part import Channel, Part
from rules.catalog.rule import (
    Clearance,
    Excludes,
    FlashNeeded,
    Hold,
    MeasuredException,
    Operation,
    PresetChain,
    Requires,
    RuleEntry,
)

R = TypeVar("R", bound=RuleEntry)

PartRule = Clearance | Requires | FlashNeeded | Excludes

NO_LINE = ""
"""The line of a rider's own part."""

_TURNED = {"in": "out", "out": "in", "both": "both"}


class End(NamedTuple):
    """A lane of a connector; `side` is left or right where the connector is paired, else empty."""

    connector: str
    side: str
    lane: str


@dataclass(frozen=True, slots=True)
class Wires:
    """What leads where inside one part or loom: a fed end to its feeding end, and where channels come out."""

    connectors: Mapping[str, Connector]
    feeding: Mapping[End, End]
    outputs: Mapping[tuple[str, str], Channel]


@dataclass(frozen=True, slots=True)
class OnPart:
    """The rules whose subject selects a part, wherever it is."""

    checks: tuple[PartRule, ...]
    operations: tuple[Operation, ...]
    chained: tuple[PresetChain, ...]


Contacts = Mapping[str, tuple[str, str]]
"""Contact to flow and lane, as one side sees it."""


class Index:
    """A catalog, with look-ups that are worked out when they are first asked for. They follow from the catalog alone."""

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog
        self.checks: tuple[PartRule, ...] = (
            *self.rules(Clearance),
            *self.rules(Requires),
            *self.rules(FlashNeeded),
            *self.rules(Excludes),
        )
        self.operations = self.rules(Operation)
        self.chained = self.rules(PresetChain)
        self.holds = self.rules(Hold)
        self.exceptions: dict[str, list[MeasuredException]] = {}
        for exception in self.rules(MeasuredException):
            self.exceptions.setdefault(exception.overrides, []).append(exception)
        self.bundles = tuple(part for part in catalog.parts.values() if part.members)
        self.services = self._services()
        self._on_part: dict[str, OnPart] = {}
        self._wires: dict[str, Wires] = {}
        self._contacts: dict[tuple[str, bool], Contacts] = {}

    def rules(self, kind: type[R]) -> tuple[R, ...]:
        """Give the rules of one kind."""
        return tuple(rule for rule in self.catalog.rules.values() if isinstance(rule, kind))

    def _services(self) -> dict[str, list[str]]:
        """Give the preset services that list each amplifier."""
        services: dict[str, list[str]] = {}
        for part in self.catalog.parts.values():
            for amplifier in part.preset.amplifiers if part.preset else ():
                services.setdefault(amplifier, []).append(part.id)
        return services

    # --- who is meant -------------------------------------------------------------------------------------------

    def on_part(self, part: Part, *, own: bool) -> OnPart:
        """Give the rules about a part; those of a rider's own part are not kept."""
        if own:
            return self._about(part)
        if part.id not in self._on_part:
            self._on_part[part.id] = self._about(part)
        return self._on_part[part.id]

    def _about(self, part: Part) -> OnPart:
        return OnPart(
            tuple(rule for rule in self.checks if self.selects(rule.subject, part)),
            tuple(rule for rule in self.operations if rule.subject and self.selects(rule.subject, part)),
            tuple(rule for rule in self.chained if self.selects(rule.subject, part)),
        )

    def selects(self, selector: Selector, part: Part) -> bool:
        """Tell whether a selector means a part, wherever it is."""
        return (
            (not selector.part or part.id in selector.part)
            and selector.kind in (None, part.kind)
            and selector.slot in (None, part.slot)
            and (selector.tag is None or selector.tag in part.tags)
            and selector.line in (None, self.line(part))
        )

    def line(self, part: Part) -> str:
        """Give a part's line."""
        return self.catalog.lines.get(part.id, NO_LINE)

    # --- plugs --------------------------------------------------------------------------------------------------

    def wires(self, part: Part, *, own: bool) -> Wires:
        """Give the wires inside a part."""
        if own:
            return wires_of(part.connectors, part.links, part.channels)
        if part.id not in self._wires:
            self._wires[part.id] = wires_of(part.connectors, part.links, part.channels)
        return self._wires[part.id]

    def mate(self, one: Connector, other: Connector) -> bool:
        """Tell whether two connectors mate: type, gender, pairing, and every contact. Where they are, others ask."""
        maps = self.catalog.contact_maps
        if maps[one.map].type != maps[other.map].type:
            return False
        if one.gender == other.gender or one.paired != other.paired:
            return False
        mine, theirs = self.contacts(one), self.contacts(other)
        return all(
            theirs[contact] == (_TURNED[flow], lane)
            for contact, (flow, lane) in mine.items()
            if contact in theirs
        )

    def contacts(self, connector: Connector) -> Contacts:
        """Give what each contact carries, seen from this side; a pair `1/2` is two contacts."""
        key = connector.map, connector.mirrored
        if key not in self._contacts:
            self._contacts[key] = self._seen(connector)
        return self._contacts[key]

    def _seen(self, connector: Connector) -> Contacts:
        seen: dict[str, tuple[str, str]] = {}
        for pins, text in self.catalog.contact_maps[connector.map].contacts.items():
            flow, lane = text.split()
            for pin in pins.split("/"):
                seen[pin] = (_TURNED[flow] if connector.mirrored else flow, lane)
        return seen


def wires_of(
    connectors: Mapping[str, Connector], links: Mapping[str, str], channels: Iterable[Channel] = ()
) -> Wires:
    """Read wires as they are written: a link whose plug is not there is not there either."""
    feeding: dict[End, End] = {}
    for fed, source in links.items():
        if all(text.split(".")[0] in connectors for text in (fed, source)):
            for side in ("left", "right"):
                feeding[_end(fed, side, connectors)] = _end(source, side, connectors)
    outputs = {_plug_and_lane(channel.output): channel for channel in channels}
    return Wires(connectors, feeding, outputs)


def _end(text: str, side: str, connectors: Mapping[str, Connector]) -> End:
    plug, lane = _plug_and_lane(text)
    return End(plug, side if connectors[plug].paired else "", lane.replace("$side", side))


def _plug_and_lane(text: str) -> tuple[str, str]:
    plug, _, lane = text.partition(".")
    return plug, lane
