"""What parts say about themselves and about one another."""

from __future__ import annotations

from collections.abc import Sequence

from rules.catalog.part import Part
from rules.check.context import Context
from rules.check.cycles import HOST_CYCLE, report_cycles
from rules.check.facts import check_source, check_units
from rules.check.ids import UNKNOWN_CHANNEL, UNKNOWN_PART, UNKNOWN_PLACE, UNKNOWN_SLOT, UNKNOWN_TAG
from rules.check.wires import Wiring, lanes_of
from rules.diagnostics import Code, quote
from rules.draft import Written
from rules.names import DUPLICATE_ID

MISSING_SLOT = Code(
    name="missing-slot",
    about="A part without a slot that is neither a bundle nor a preset.",
    why="it could be fitted nowhere",
    hint="add the slot that it takes",
    example="{id: tern_pod, kind: speaker, name: Tern pod}",
)
SLOT_NOT_THERE = Code(
    name="slot-not-there",
    about="A part that lists a place which does not have its slot.",
    why="the part could never be fitted there",
    hint="take the place out of the list, or add the slot to the place",
    example="slot: head_unit and at: [rear_pods]",
)
MISSING_DETAIL = Code(
    name="missing-detail",
    about="A part that lacks what its kind is made of: terminals of a speaker, members of a bundle.",
    why="nothing could be calculated or sold",
    hint="add what the message names",
    example="kind: speaker  # without speaker",
)
STRAY_DETAIL = Code(
    name="stray-detail",
    about="A detail of another kind of part: members of a speaker, a slot of a bundle.",
    why="it would be ignored, or the kind is wrong",
    hint="delete it, or correct the kind",
    example="kind: grille and members: [tern_pod]",
)
BAD_IMPEDANCE = Code(
    name="bad-impedance",
    about="A rated impedance that is not a positive number of ohms.",
    why="power is rated at an impedance, and other loads are compared with it",
    hint='write the ohms in quotes: {"4": 75}',
    example='watts: {"four": 75}',
)
NESTED_BUNDLE = Code(
    name="nested-bundle",
    about="A bundle inside a bundle.",
    why="a bundle is bought whole, and its members are fitted one by one",
    hint="list the inner bundle's members",
    example="members: [tern_bundle]",
)
NOT_AN_AMPLIFIER = Code(
    name="not-an-amplifier",
    about="A preset for a part that is no amplifier.",
    why="only amplifiers take a preset",
    hint="name the amplifier",
    example="preset: {amplifiers: [tern_pod], minutes: 30, days: 2}",
)

CODES = (
    MISSING_SLOT,
    SLOT_NOT_THERE,
    MISSING_DETAIL,
    STRAY_DETAIL,
    BAD_IMPEDANCE,
    NESTED_BUNDLE,
    NOT_AN_AMPLIFIER,
)

_PLACELESS = ("bundle", "preset")
NEEDED = {
    "speaker": ("speaker", "connectors"),
    "amplifier": ("channels", "supply", "connectors"),
    "power_kit": ("cable", "connectors"),
    "preset": ("preset",),
    "bundle": ("members",),
}
OWNED = {
    "speaker": ("speaker",),
    "supply": ("amplifier",),
    "cable": ("power_kit",),
    "preset": ("preset",),
    "members": ("bundle",),
    "channels": ("amplifier", "head_unit"),
}
_TERMINALS = "terminals"
_DRIVE = "drive"


def check_parts(context: Context) -> None:
    """Report every fault of every part."""
    _check_all(context, tuple(context.draft.parts))


def check_own_parts(context: Context, own: Sequence[Written[Part]]) -> None:
    """Report every fault of a rider's own parts: those of any part, and names that must or must not be in the catalog."""
    seen: set[str] = set()
    for part in own:
        if context.draft.names.knows("part", part.what.id) or part.what.id in seen:
            message = f"part {quote(part.what.id)} is already defined: an own part has a name of its own"
            context.report(DUPLICATE_ID, part.at("id"), message)
        seen.add(part.what.id)
        _check_tags(context, part)
    _check_all(context.beside(seen), own)


def _check_all(context: Context, parts: Sequence[Written[Part]]) -> None:
    for part in parts:
        _check_details(context, part)
        _check_slot(context, part)
        _check_others(context, part)
        _check_wiring(context, part)
        _check_channels(context, part)
        check_units(context, part, ("spec",), part.what.spec)
        check_source(context, part.what.source, part.where("source", "kind"))
    hosted = [part for part in parts if part.what.host]
    hosts = {part.what.id: part.what.host for part in hosted}
    spans = {part.what.id: part.where_key("host") for part in hosted}
    report_cycles(context, HOST_CYCLE, hosts, spans)


def _check_tags(context: Context, written: Written[Part]) -> None:
    # Only the catalog's rules read tags, so one that no part of it has is a slip.
    who = f"part {quote(written.what.id)}"
    for index, tag in enumerate(written.what.tags if context.is_whole("parts") else ()):
        context.word(UNKNOWN_TAG, "tag", tag, context.tags, written.where("tags", index), who)


def _check_details(context: Context, written: Written[Part]) -> None:
    part = written.what
    for detail in NEEDED.get(part.kind, ()):
        if not getattr(part, detail):
            message = f"a part of kind {part.kind} needs {quote(detail)}"
            context.report(MISSING_DETAIL, written.node.head, message)
    for detail, kinds in OWNED.items():
        if getattr(part, detail) and part.kind not in kinds:
            message = f"a part of kind {part.kind} has no {quote(detail)}"
            context.report(STRAY_DETAIL, written.key_at(detail), message)


def _check_slot(context: Context, written: Written[Part]) -> None:
    part = written.what
    if part.kind in _PLACELESS:
        if part.slot is not None:
            message = f"a part of kind {part.kind} is never placed"
            context.report(STRAY_DETAIL, written.key_at("slot"), message)
        return
    if part.slot is None:
        message = f"part {quote(part.id)} does not say which slot it takes"
        context.report(MISSING_SLOT, written.node.head, message)
    elif context.is_whole("places") and not (part.slot in context.slots and not part.at):
        who = f"part {quote(part.id)}"
        if context.word(UNKNOWN_SLOT, "slot", part.slot, context.slots, written.where("slot"), who):
            _check_at(context, written, part.slot)


def _check_at(context: Context, written: Written[Part], slot: str) -> None:
    for index, place in enumerate(written.what.at):
        known = context.places.get(place)
        if known and slot not in known.slots:
            message = f"place {quote(place)} has no slot {quote(slot)}"
            context.report(SLOT_NOT_THERE, written.at("at", index), message)


def _check_others(context: Context, written: Written[Part]) -> None:
    part = written.what
    if not (part.at or part.host or part.members or part.preset):
        return
    who = f"part {quote(part.id)}"
    for index, place in enumerate(part.at):
        context.name(UNKNOWN_PLACE, "place", place, written.where("at", index), who)
    for index, host in enumerate(part.host):
        context.name(UNKNOWN_PART, "part", host, written.where("host", index), who)
    for index, member in enumerate(part.members):
        span = written.where("members", index)
        if context.name(UNKNOWN_PART, "part", member, span, who) and _kind(context, member) == "bundle":
            context.report(NESTED_BUNDLE, span, f"member {quote(member)} is itself a bundle")
    for index, amplifier in enumerate(part.preset.amplifiers if part.preset else ()):
        span = written.where("preset", "amplifiers", index)
        known = context.name(UNKNOWN_PART, "part", amplifier, span, who)
        if known and _kind(context, amplifier) not in (None, "amplifier"):
            context.report(NOT_AN_AMPLIFIER, span, f"part {quote(amplifier)} is no amplifier")


def _kind(context: Context, part: str) -> str | None:
    found = context.parts.get(part)
    return found.kind if found else None


def _check_wiring(context: Context, written: Written[Part]) -> None:
    part = written.what
    if not (part.connectors or part.links or part.channels):
        return
    wiring = Wiring(context, written, (), part.connectors, f"part {quote(part.id)}")
    wiring.check_connectors("connectors", needs_place=False)
    wiring.check_links(part.links)
    for index, channel in enumerate(part.channels):
        wiring.check_output(channel.output, written.where("channels", index, "output"))
    if part.kind == "speaker" and part.connectors:
        _check_terminals(context, written)


def _check_terminals(context: Context, written: Written[Part]) -> None:
    terminals = written.what.connectors.get(_TERMINALS)
    if terminals is None:
        message = f"a speaker needs a connector {quote(_TERMINALS)}"
        context.report(MISSING_DETAIL, written.key_at("connectors"), message)
        return
    lanes = lanes_of(terminals, context.maps)
    if lanes is not None and lanes.get(_DRIVE) != "in":
        message = f"a speaker's terminals take lane {quote(_DRIVE)} in"
        context.report(MISSING_DETAIL, written.key_at("connectors", _TERMINALS), message)


def _check_channels(context: Context, written: Written[Part]) -> None:
    seen: set[str] = set()
    channels = written.what.channels
    if not channels:
        return
    who = f"part {quote(written.what.id)}"
    for index, channel in enumerate(channels):
        span = written.where("channels", index, "id")
        if channel.id in seen:
            context.report(DUPLICATE_ID, span, f"channel {quote(channel.id)} is already defined in this part")
        seen.add(channel.id)
        for at, other in enumerate(channel.bridges):
            ids = [one.id for one in channels if one is not channel]
            span = written.where("channels", index, "bridges", at)
            context.word(UNKNOWN_CHANNEL, "channel", other, ids, span, who)
        _check_watts(context, written, index)
        if channel.needs is not None and context.is_whole("parts"):
            span = written.where("channels", index, "needs")
            context.word(UNKNOWN_TAG, "tag", channel.needs, context.tags, span, who)


def _check_watts(context: Context, written: Written[Part], index: int) -> None:
    watts = written.what.channels[index].watts
    for impedance in watts if isinstance(watts, dict) else ():
        if not _is_positive(impedance):
            span = written.key_at("channels", index, "watts", impedance)
            context.report(BAD_IMPEDANCE, span, f"{quote(impedance)} is not an impedance in ohms")


def _is_positive(number: str) -> bool:
    digits = number.replace(".", "", 1)
    return digits.isascii() and digits.isdecimal() and float(number) > 0
