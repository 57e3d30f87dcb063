"""What rules name, and what they say about one another."""

from __future__ import annotations

from collections.abc import Iterator

from rules.catalog.condition import All, AnyOf, Comparison, Fitted, Not, Selector
from rules.catalog.facts import has_unit
from rules.catalog.rule import Clearance, MassLimit, MeasuredException, Operation, Provides, Rule
from rules.check.context import Context
from rules.check.cycles import OPERATION_CYCLE, report_cycles
from rules.check.facts import check_source, check_units
from rules.check.ids import UNKNOWN_PLACE, UNKNOWN_RULE
from rules.check.selectors import check_condition, check_fact, check_selector, shown
from rules.check.wires import Wiring
from rules.diagnostics import Code, quote
from rules.draft import Written
from rules.provides import CONTRADICTION

UNIT_MISMATCH = Code(
    name="unit-mismatch",
    about="A clearance that compares dimensions in different units.",
    why="a millimetre compared with a kilogram refuses or allows at random",
    hint="compare facts whose keys end with the same unit",
    example="spec: depth_mm and geometry: opening_l",
)
HALF_RELIEF = Code(
    name="half-relief",
    about="A clearance with a slot that relieves it and no dimension, or the reverse.",
    why="nothing would be added to the place's dimension",
    hint="give relieved_by_slot and relieved_by_spec together",
    example="relieved_by_slot: ring  # without relieved_by_spec",
)
NOT_AN_OPERATION = Code(
    name="not-an-operation",
    about="A rule named in `after` that is no operation.",
    why="only work can come before work",
    hint="name an operation",
    example="after: [pod_too_deep]",
)
IDLE_OPERATION = Code(
    name="idle-operation",
    about="Tear-down that no other operation names in `after`.",
    why="it would never be done nor charged",
    hint="name it in the `after` of the work that needs it, or give it a subject and an action",
    example="{id: seat_off, kind: operation, says: Take off the seat., minutes: 5}",
)
LOOSE_LINK = Code(
    name="loose-link",
    about="A link in a rule of kind `provides` that touches none of the rule's own connectors.",
    why="where the condition is unknown, the link would look certain",
    hint="provide the connector that the link leads from or to, or write the link in the bike's own file",
    example="links: {main.left: radio.left}  # and connector: {rear: ...}",
)

CODES = (UNIT_MISMATCH, HALF_RELIEF, NOT_AN_OPERATION, IDLE_OPERATION, LOOSE_LINK)


def check_rules(context: Context) -> None:
    """Report every fault of every rule."""
    for rule in context.draft.rules:
        _check_selectors(context, rule)
        check_source(context, rule.what.source, rule.where("source", "kind"))
        match rule.what:
            case Clearance():
                _check_clearance(context, rule, rule.what)
            case MassLimit():
                _check_mass(context, rule, rule.what)
            case Provides():
                _check_provided(context, rule, rule.what)
            case MeasuredException():
                _check_override(context, rule, rule.what)
    _check_operations(context)
    _check_exceptions(context)


def _check_selectors(context: Context, rule: Written[Rule]) -> None:
    who = shown(rule.what.id)
    for name in type(rule.what).model_fields:
        value = getattr(rule.what, name)
        if isinstance(value, Selector):
            check_selector(context, rule, (name,), value, who)
        elif isinstance(value, Comparison | Fitted | All | AnyOf | Not):
            check_condition(context, rule, (name,), value, who)


def _check_clearance(context: Context, rule: Written[Rule], clearance: Clearance) -> None:
    who = shown(clearance.id)
    check_fact(context, rule, ("spec",), "part", clearance.spec, who)
    check_fact(context, rule, ("geometry",), "place", clearance.geometry, who)
    named = {"spec": clearance.spec, "geometry": clearance.geometry}
    if clearance.relieved_by_spec is not None:
        check_fact(context, rule, ("relieved_by_spec",), "part", clearance.relieved_by_spec, who)
        named["relieved_by_spec"] = clearance.relieved_by_spec
    if (clearance.relieved_by_slot is None) != (clearance.relieved_by_spec is None):
        key = "relieved_by_slot" if clearance.relieved_by_slot else "relieved_by_spec"
        context.report(HALF_RELIEF, rule.key_at(key), f"{quote(key)} stands alone")
    _check_same_unit(context, rule, named)


def _check_same_unit(context: Context, rule: Written[Rule], named: dict[str, str]) -> None:
    unit = _unit(named["spec"])
    for key, fact in named.items():
        if _unit(fact) != unit:
            message = f"{quote(named['spec'])} and {quote(fact)} have different units"
            context.report(UNIT_MISMATCH, rule.at(key), message)


def _unit(fact: str) -> str | None:
    return fact.rsplit("_", 1)[1] if has_unit(fact) else None


def _check_mass(context: Context, rule: Written[Rule], mass: MassLimit) -> None:
    for index, place in enumerate(mass.at):
        context.name(UNKNOWN_PLACE, "place", place, rule.where("at", index), shown(mass.id))
    if mass.fact is not None:
        check_fact(context, rule, ("fact",), "bike", mass.fact, shown(mass.id))


def _check_provided(context: Context, rule: Written[Rule], provides: Provides) -> None:
    check_units(context, rule, ("facts",), provides.facts)
    bikes = context.resolution.bikes.values()
    known = {name: plug for bike in bikes for name, plug in bike.has.loom.connectors.items()}
    known |= provides.connector
    own = Wiring(context, rule, (), provides.connector, shown(provides.id))
    own.check_connectors("connector", needs_place=True)
    if context.is_whole("bikes"):
        Wiring(context, rule, (), known, shown(provides.id)).check_links(provides.links)
    for fed, feeding in provides.links.items():
        if not {end.partition(".")[0] for end in (fed, feeding)} & set(provides.connector):
            message = f"link {quote(fed)} touches no connector of this rule"
            context.report(LOOSE_LINK, rule.key_at("links", fed), message)


def _check_override(context: Context, rule: Written[Rule], exception: MeasuredException) -> None:
    who = shown(exception.id)
    context.name(UNKNOWN_RULE, "rule", exception.overrides, rule.where("overrides"), who)


def _operations(context: Context) -> Iterator[tuple[Written[Rule], Operation]]:
    for rule in context.draft.rules:
        if isinstance(rule.what, Operation):
            yield rule, rule.what


def _check_operations(context: Context) -> None:
    operations = {operation.id: rule for rule, operation in _operations(context)}
    after = {operation.id: operation.after for _, operation in _operations(context)}
    for rule, operation in _operations(context):
        for index, other in enumerate(operation.after):
            span = rule.where("after", index)
            is_known = context.name(UNKNOWN_RULE, "rule", other, span, shown(operation.id))
            if is_known and context.is_whole("rules") and other not in operations:
                context.report(NOT_AN_OPERATION, span, f"rule {quote(other)} is no operation")
    spans = {name: rule.where_key("after") for name, rule in operations.items()}
    report_cycles(context, OPERATION_CYCLE, after, spans)
    if context.is_whole("rules"):
        _check_idle(context, {other for others in after.values() for other in others})


def _check_idle(context: Context, reached: set[str]) -> None:
    for rule, operation in _operations(context):
        if operation.subject is None and operation.id not in reached:
            message = f"no operation comes after {quote(operation.id)}"
            context.report(IDLE_OPERATION, rule.at("id"), message)


def _check_exceptions(context: Context) -> None:
    """Report measured exceptions that say the opposite of one another on the same parts."""
    first: dict[object, Written[Rule]] = {}
    for rule in sorted(context.draft.rules, key=lambda rule: rule.what.id):
        exception = rule.what
        if not isinstance(exception, MeasuredException):
            continue
        other = first.setdefault((exception.overrides, exception.subject, exception.when), rule)
        if isinstance(other.what, MeasuredException) and other.what.outcome != exception.outcome:
            place = other.at("outcome").place
            message = f"{shown(exception.id)} and {shown(other.what.id)} at {place} say the opposite"
            context.report(CONTRADICTION, rule.at("outcome"), message)
