"""What bikes have, after inheritance: their places, wiring and the parts that they left the works with."""

from __future__ import annotations

from rules.catalog.bike import BikeFacts, Family
from rules.check.context import Context
from rules.check.facts import ASSUMED_SOURCE, check_source, check_units
from rules.check.ids import UNKNOWN_PART, UNKNOWN_PLACE, UNKNOWN_SLOT
from rules.check.wires import Wiring
from rules.diagnostics import Code, quote
from rules.draft import Written
from rules.names import DUPLICATE_ID
from rules.yaml_nodes import Mapping, Node, child, items, text

BAD_STOCK = Code(
    name="bad-stock",
    about="A key under `stock` that is not written `PLACE.SLOT`.",
    why="it would not be known where the part was fitted at the works",
    hint="write the place, a point, and the slot",
    example="stock: {dash: old_radio}",
)
STOCK_ELSEWHERE = Code(
    name="stock-elsewhere",
    about="A part fitted at the works where it cannot go: its slot or its list of places says otherwise.",
    why="the bike as it left the works would be impossible",
    hint="correct the place, or the part's slot or places",
    example="stock: {rear_pods.speaker: old_radio}",
)
STOCK_WITHOUT_PLACE = Code(
    name="stock-without-place",
    about="A part fitted at the works in a place that the bike does not have.",
    why="the bike as it left the works would be impossible",
    hint="add the place, or set this to `absent`",
    example="stock: {rear_pods.speaker: old_pod}  # and the trim has no rear_pods",
)

CODES = (BAD_STOCK, STOCK_ELSEWHERE, STOCK_WITHOUT_PLACE)


def check_bikes(context: Context) -> None:
    """Report every fault of every family and of what its bikes have."""
    for family in context.draft.families:
        _check_sources(context, family)
        _check_repeats(context, family)
    for written, bikes in context.resolution.trees:
        _check_places(context, written, bikes[0])
        _check_stock(context, written, bikes[0])
        _check_loom(context, written, bikes)


def _check_sources(context: Context, family: Written[Family]) -> None:
    for index, entry in enumerate(family.what.entries):
        check_source(context, entry.source, family.at("entries", index, "source", "kind"))
        for key in ("all", "trims", "splits"):
            tree = child(items(child(family.node, "entries"))[index], key)
            if tree is not None:
                _check_leaf_sources(context, tree)


def _check_leaf_sources(context: Context, node: Node) -> None:
    """Look for `{value, source}` in a tree as it was written."""
    if not isinstance(node, Mapping):
        return
    own = node.get("source")
    kind = child(own, "kind") if own and "value" in node.entries else None
    if kind is not None and text(kind) == "assumed":
        context.report(ASSUMED_SOURCE, kind.span, "only money may be assumed")
    for entry in node.entries.values():
        _check_leaf_sources(context, entry.value)


def _check_repeats(context: Context, family: Written[Family]) -> None:
    seen: set[str] = set()
    for index, trim in enumerate(family.what.trims):
        if trim.id in seen:
            span = family.at("trims", index, "id")
            context.report(DUPLICATE_ID, span, f"trim {quote(trim.id)} is already defined in this family")
        seen.add(trim.id)
    sides: set[str] = set()
    for index, split in enumerate(family.what.splits):
        for at, side in enumerate(split.sides):
            if side.id in sides:
                span = family.at("splits", index, "sides", at, "id")
                context.report(DUPLICATE_ID, span, f"side {quote(side.id)} is already defined in this family")
            sides.add(side.id)


def _check_places(context: Context, written: Written[BikeFacts], bike: str) -> None:
    check_units(context, written, ("facts",), written.what.facts)
    for name, place in written.what.places.items():
        span = written.key_at("places", name)
        context.name(UNKNOWN_PLACE, "place", name, span, f"bike {quote(bike)}")
        check_units(context, written, ("places", name, "geometry"), place.geometry)


def _check_stock(context: Context, written: Written[BikeFacts], bike: str) -> None:
    who = f"bike {quote(bike)}"
    for where, part in written.what.stock.items():
        key, value = written.key_at("stock", where), written.at("stock", where)
        place, point, slot = where.partition(".")
        if not point:
            context.report(BAD_STOCK, key, f"{quote(where)} is not a place with a slot")
            continue
        is_known = context.name(UNKNOWN_PART, "part", part, value, who)
        if not context.name(UNKNOWN_PLACE, "place", place, key, who) or place not in context.places:
            continue
        if not context.word(UNKNOWN_SLOT, "slot", slot, context.places[place].slots, key, who):
            continue
        if place not in written.what.places:
            context.report(STOCK_WITHOUT_PLACE, key, f"bike {quote(bike)} has no place {quote(place)}")
        if is_known and part in context.parts and not _goes(context, part, place, slot):
            message = f"part {quote(part)} cannot go to slot {quote(slot)} at {quote(place)}"
            context.report(STOCK_ELSEWHERE, value, message)


def _goes(context: Context, part: str, place: str, slot: str) -> bool:
    return context.parts[part].slot == slot and context.can_go(context.parts[part], place)


def _check_loom(context: Context, written: Written[BikeFacts], bikes: tuple[str, ...]) -> None:
    loom = written.what.loom
    wiring = Wiring(context, written, ("loom",), loom.connectors, f"bike {quote(bikes[0])}")
    wiring.check_connectors("connectors", needs_place=True)
    if not context.is_whole("rules"):
        return
    # A rule may give the bike the connector that its own link leads to.
    provided = [context.resolution.bikes[bike].has.loom.connectors for bike in bikes]
    known = {name: connector for connectors in provided for name, connector in connectors.items()}
    Wiring(context, written, ("loom",), known, f"bike {quote(bikes[0])}").check_links(loom.links)
