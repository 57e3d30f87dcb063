"""Contact maps, and the links and channel outputs that run between connectors."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from rules.catalog.connector import Connector, ContactMap
from rules.check.context import Context, Where
from rules.check.ids import UNKNOWN_CONNECTOR, UNKNOWN_LANE, UNKNOWN_MAP, UNKNOWN_PLACE, UNKNOWN_TYPE
from rules.diagnostics import Code, Span, quote
from rules.draft import Written
from rules.nearest import did_you_mean
from rules.yaml_nodes import Step

BAD_CONTACT = Code(
    name="bad-contact",
    about="A contact that is not a number or a pair, or does not carry a lane with a direction.",
    why="whether two plugs mate is decided contact by contact",
    hint='write `"1": out LANE`, or `"1/2": in LANE` for a pair; the directions are in, out, both',
    example='contacts: {"1": front_left}',
)
CONTACT_BEYOND = Code(
    name="contact-beyond",
    about="A contact with a higher number than the connector type has.",
    why="there is no such pin",
    hint="check the number against the connector type",
    example='contacts: {"9": out drive}  # on a type with two contacts',
)
REPEATED_CONTACT = Code(
    name="repeated-contact",
    about="A contact or a lane that a contact map gives twice.",
    why="one pin carries one signal, and one lane leaves by one pair",
    hint="give each contact and each lane once",
    example='contacts: {"1/2": out left, "2/3": out right}',
)
BAD_LINK = Code(
    name="bad-link",
    about="A link or output that is not written `CONNECTOR.LANE`.",
    why="it would lead nowhere",
    hint="write `CONNECTOR.LANE`; in links the fed end comes first",
    example="links: {lead: main.front_left}",
)
WRONG_DIRECTION = Code(
    name="wrong-direction",
    about="A link or output against the direction of its lane.",
    why="a signal comes into a part by `in` and leaves it by `out`; the other way round nothing would sound",
    hint="swap the two ends, or set or delete `mirrored` on the connector",
    example="links: {main.front_left: lead.drive}  # the lead is fed, not the main plug",
)
ONE_SIDED_LINK = Code(
    name="one-sided-link",
    about="A link that feeds one lane from both sides of a pair.",
    why="left and right would be joined in one wire",
    hint="write `$side` in the fed lane, or name one side in the feeding lane",
    example="links: {main.front: pods.drive}  # pods is paired",
)
FED_TWICE = Code(
    name="fed-twice",
    about="Two links that feed the same lane.",
    why="two outputs joined in one wire destroy each other",
    hint="delete one of the two",
    example="links: {lead.left: main.left, lead.$side: main.$side}",
)
MISSING_PLACE = Code(
    name="missing-place",
    about="A connector of a bike's own wiring without a place.",
    why="a plug mates only with plugs in the same place",
    hint="add `place`",
    example="loom: {connectors: {pods: {map: pod, gender: plug}}}",
)

CODES = (
    BAD_CONTACT,
    CONTACT_BEYOND,
    REPEATED_CONTACT,
    BAD_LINK,
    WRONG_DIRECTION,
    ONE_SIDED_LINK,
    FED_TWICE,
    MISSING_PLACE,
)

SIDES = ("left", "right")
_CONTACT = re.compile(r"([1-9][0-9]{0,3})(?:/([1-9][0-9]{0,3}))?")
_CARRIES = re.compile(r"(in|out|both) +([a-z0-9]+(?:_[a-z0-9]+)*)")
_END = re.compile(r"([a-z0-9]+(?:[_-][a-z0-9]+)*)\.([a-z0-9_$]+)")
_TURNED = {"in": "out", "out": "in", "both": "both"}

Lanes = dict[str, str]
"""Lanes of a connector with their direction, as the part or loom that carries it sees them."""


def check_contact_maps(context: Context) -> None:
    """Report contact maps of unknown type, and contacts that their type does not have."""
    for item in context.draft.contact_maps:
        who = f"contact map {quote(item.what.id)}"
        context.name(UNKNOWN_TYPE, "connector type", item.what.type, item.at("type"), who)
        _check_contacts(context, item)


def _check_contacts(context: Context, item: Written[ContactMap]) -> None:
    seen: set[str] = set()
    for contact, carries in item.what.contacts.items():
        key, value = item.key_at("contacts", contact), item.at("contacts", contact)
        numbers, lane = _CONTACT.fullmatch(contact), _CARRIES.fullmatch(carries)
        if not numbers:
            context.report(BAD_CONTACT, key, f"{quote(contact)} is not a contact or a pair of contacts")
        elif not lane:
            context.report(BAD_CONTACT, value, f"{quote(carries)} is not a direction with a lane")
        else:
            pins = [number for number in numbers.groups() if number]
            _check_pins(context, item.what, pins, key)
            _check_repeats(context, seen, pins, lane[2], (key, value))


def _check_pins(context: Context, item: ContactMap, pins: list[str], key: Span) -> None:
    shape = context.types.get(item.type)
    for pin in pins:
        if shape and int(pin) > shape.contacts:
            message = f"contact {pin} is beyond the {shape.contacts} contacts of {quote(shape.id)}"
            context.report(CONTACT_BEYOND, key, message)


def _check_repeats(
    context: Context, seen: set[str], pins: list[str], lane: str, spans: tuple[Span, Span]
) -> None:
    for pin in pins:
        if pin in seen:
            context.report(REPEATED_CONTACT, spans[0], f"contact {pin} is given twice")
        seen.add(pin)
    if f"lane {lane}" in seen:
        context.report(REPEATED_CONTACT, spans[1], f"lane {quote(lane)} is given twice")
    seen.add(f"lane {lane}")


def lanes_of(connector: Connector, maps: Mapping[str, ContactMap]) -> Lanes | None:
    """The lanes of a connector as its owner sees them; None if its contact map is unknown."""
    found = maps.get(connector.map)
    if found is None:
        return None
    carried = [_CARRIES.fullmatch(carries) for carries in found.contacts.values()]
    turn = _TURNED if connector.mirrored else {flow: flow for flow in _TURNED}
    return {match[2]: turn[match[1]] for match in carried if match}


@dataclass(frozen=True)
class Wiring:
    """The connectors of one part or loom, beside the entry that writes them."""

    context: Context
    written: Written[object]
    path: tuple[Step, ...]
    connectors: Mapping[str, Connector]
    who: str

    def check_connectors(self, key: str, *, needs_place: bool) -> None:
        """Report connectors with an unknown contact map or place."""
        for name, connector in self.connectors.items():
            at = (*self.path, key, name)
            self.context.name(
                UNKNOWN_MAP, "contact map", connector.map, self.written.where(*at, "map"), self.who
            )
            if connector.place is not None:
                span = self.written.where(*at, "place")
                self.context.name(UNKNOWN_PLACE, "place", connector.place, span, self.who)
            elif needs_place:
                message = f"connector {quote(name)} does not say where it lies"
                self.context.report(MISSING_PLACE, self.written.key_at(*at), message)

    def check_links(self, links: Mapping[str, str]) -> None:
        """Report links that do not lead from a lane coming in to a lane going out."""
        fed_from: dict[str, Callable[[], Span]] = {}
        for fed, feeding in links.items():
            key = self.written.where_key(*self.path, "links", fed)
            value = self.written.where(*self.path, "links", fed)
            to, source = self.end(fed, key), self.end(feeding, value)
            if to is None or source is None:
                continue
            is_sound = [self.check_end(to, "out", key), self.check_end(source, "in", value)]
            if all(is_sound):
                self.check_sides(to, source, key)
                self.check_fed_once(to, key, fed_from)

    def check_output(self, output: str, span: Where) -> None:
        """Report a channel output that leaves by no lane."""
        end = self.end(output, span)
        if end is not None:
            self.check_end(end, "out", span)

    def end(self, text: str, span: Where) -> tuple[str, str] | None:
        """Read `CONNECTOR.LANE`."""
        match = _END.fullmatch(text)
        if match is None:
            self.context.report(BAD_LINK, span, f"{quote(text)} is not a connector with a lane")
            return None
        return match[1], match[2]

    def check_end(self, end: tuple[str, str], flow: str, span: Where) -> bool:
        name, lane = end
        known = self.connectors
        if not self.context.word(UNKNOWN_CONNECTOR, "connector", name, known, span, self.who):
            return False
        lanes = lanes_of(known[name], self.context.maps)
        return lanes is None or all(self.check_lane(name, one, flow, lanes, span) for one in expand(lane))

    def check_lane(self, connector: str, lane: str, flow: str, lanes: Lanes, span: Where) -> bool:
        if lane not in lanes:
            message = f"connector {quote(connector)} has no lane {quote(lane)}"
            self.context.report(UNKNOWN_LANE, span, message, did_you_mean(lane, lanes))
            return False
        if lanes[lane] not in (flow, "both"):
            message = (
                f"lane {quote(lane)} of {quote(connector)} goes {lanes[lane]}, and {flow} is needed here"
            )
            self.context.report(WRONG_DIRECTION, span, message)
            return False
        return True

    def check_sides(self, to: tuple[str, str], source: tuple[str, str], span: Where) -> None:
        if self.has_sides(source) and not self.has_sides(to):
            message = f"both sides of {quote(source[0])} lead to the one lane {quote(to[1])}"
            self.context.report(ONE_SIDED_LINK, span, message)

    def has_sides(self, end: tuple[str, str]) -> bool:
        return self.connectors[end[0]].paired or "$side" in end[1]

    def check_fed_once(
        self, to: tuple[str, str], where: Callable[[], Span], fed_from: dict[str, Callable[[], Span]]
    ) -> None:
        for lane in expand(to[1]):
            end = f"{to[0]}.{lane}"
            if end in fed_from:
                message = f"{quote(end)} is fed at {fed_from[end]().place} already"
                self.context.report(FED_TWICE, where, message)
            fed_from.setdefault(end, where)


def expand(lane: str) -> Iterator[str]:
    """A lane for each side that `$side` stands for.

    Example:
        >>> list(expand("front_$side")), list(expand("bass"))
        (['front_left', 'front_right'], ['bass'])
    """
    yield from (lane.replace("$side", side) for side in SIDES) if "$side" in lane else (lane,)
