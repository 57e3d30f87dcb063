"""Findings in plain sentences: what is in the way, and what would change it. Nothing else makes wording about findings."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.catalog.facts import Unknown
from rules.catalog.rule import ChannelLimit, Clearance, Excludes, FlashNeeded, MassLimit, SupplyLimit
from rules.verdict import Calculation, Cause, Finding, Status

UNITS = {
    "mm": "mm",
    "kg": "kg",
    "w": "W",
    "ohm": "ohm",
    "a": "A",
    "v": "V",
    "l": "l",
    "hz": "Hz",
    "years": "years",
}

SHOWN = 3
"""How many possible parts a sentence names; more would be a list, not a sentence."""


def sentence(finding: Finding, catalog: Catalog) -> str:
    """Say what a finding means, for a shopper."""
    told = _told(finding, catalog)
    if finding.status is not Status.UNKNOWN:
        return told + _figures(finding.calculation)
    missing = finding.missing
    # Nobody knows whether it is so: what is told as a fact would be read as a refusal.
    return f"{_not_known(missing, catalog)} So this is not ruled out: {told}" if missing else told


def cure(finding: Finding, catalog: Catalog) -> str:
    """Say what would change a finding; empty for advice."""
    if finding.status in (Status.ADVICE, Status.CAUTION):
        return ""
    if finding.status is Status.UNKNOWN and finding.missing:
        return "; ".join(dict.fromkeys(how_to_find(cause) for cause in finding.missing))
    if finding.rule == "preset_not_offered":
        return "leave all that hangs on it as it is; or another amplifier, for which a preset is offered"
    cures = [text for text in (_own_cure(finding, catalog), _repairs(finding, catalog)) if text]
    return "; or ".join(cures) or "another part, or another place"


def how_to_find(cause: Cause, catalog: Catalog | None = None) -> str:
    """Say how a missing fact is found out; with a catalog, without ids."""
    if isinstance(cause.value, Unknown):
        return cause.value.unknown
    of = cause.of if catalog is None else owner_name(cause.of, catalog)
    return f"find out {fact_name(cause.fact)} of {of} and record it"


def fact_name(fact: str) -> str:
    """Write a fact's dotted name for people: `part.depth_mm` is `depth (mm)`."""
    steps = fact.split(".")
    last = steps[-1] if steps[-1] not in ("presence", "watts", "min_ohm") else " ".join(steps[-2:])
    words, _, unit = last.replace("-", "_").rpartition("_")
    if words and unit in UNITS:
        return f"{words.replace('_', ' ')} ({UNITS[unit]})"
    return last.replace("_", " ")


def part_name(part: str, catalog: Catalog) -> str:
    """Give a part's name."""
    return catalog.parts[part].name if part in catalog.parts else part


def place_name(place: str, catalog: Catalog) -> str:
    """Give a place's name."""
    return catalog.places[place].name if place in catalog.places else place


def placement_name(placed: Placement, catalog: Catalog) -> str:
    """Name a part with its place."""
    return f"{part_name(placed.part, catalog)} ({place_name(placed.place, catalog)})"


def _told(finding: Finding, catalog: Catalog) -> str:
    rule = catalog.rules.get(finding.rule)
    if rule is not None:
        return rule.says
    return _BUILT_IN[finding.rule](finding, catalog)


def _not_known(missing: tuple[Cause, ...], catalog: Catalog) -> str:
    facts = dict.fromkeys(f"{fact_name(x.fact)} of {owner_name(x.of, catalog)}" for x in missing)
    return f"Not known yet: {', '.join(facts)}."


def owner_name(of: str, catalog: Catalog) -> str:
    """Name what a fact is about: a part, a place, or else the bike."""
    if of in catalog.parts:
        return part_name(of, catalog)
    return f"the {place_name(of, catalog)}" if of in catalog.places else "this bike"


def _figures(calculation: Calculation | None) -> str:
    if calculation is None:
        return ""
    unit = UNITS.get(calculation.unit, calculation.unit)
    found, limit = _number(calculation.result), _number(calculation.limit)
    words = {
        "parallel_impedance": f"The load is {found} {unit}; the channel is {limit}-{unit} stable.",
        "power_share": f"The speaker would get {found} {unit}; it is rated for {limit} {unit}.",
        "mass_sum": f"Together {found} {unit}; the limit is {limit} {unit}.",
        "clearance_at_most": f"It takes {found} {unit}; there is {limit} {unit}.",
        "clearance_at_least": f"It measures {found} {unit}; the place wants {limit} {unit} or more.",
        "clearance_equals": f"It measures {found} {unit}; the place has {limit} {unit}.",
    }
    return " " + words.get(calculation.equation, f"{found} {unit} against {limit} {unit}.")


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _own_cure(finding: Finding, catalog: Catalog) -> str:
    rule = catalog.rules.get(finding.rule)
    calculation = finding.calculation
    if isinstance(rule, Clearance) and calculation is not None:
        return _clearance_cure(rule, calculation)
    if isinstance(rule, ChannelLimit):
        return _channel_cure(rule, calculation)
    if isinstance(rule, MassLimit | SupplyLimit) and calculation is not None:
        unit = UNITS.get(calculation.unit, calculation.unit)
        return f"stay within {_number(calculation.limit)} {unit}"
    if isinstance(rule, Excludes):
        return _leave_out(finding, catalog)
    return "a free place in the slot" if finding.rule == "slot_taken" else ""


def _clearance_cure(rule: Clearance, calculation: Calculation) -> str:
    unit = UNITS.get(calculation.unit, calculation.unit)
    limit = calculation.limit
    bound = {
        "at_most": f"at most {_number(limit - rule.margin)} {unit}",
        "at_least": f"at least {_number(limit + rule.margin)} {unit}",
        "equals": f"{_number(limit)} {unit}, give or take {_number(rule.margin)}",
    }[rule.relation]
    return f"a part with {fact_name(rule.spec).split(' (')[0]} of {bound}"


def _channel_cure(rule: ChannelLimit, calculation: Calculation | None) -> str:
    if rule.limit == "lowest_impedance" and calculation is not None:
        least = _number(calculation.limit)
        return f"a load of at least {least} ohm: feed a pair from another channel, or fit speakers of a higher impedance"
    if rule.limit == "bridge":
        return "use the channels either singly or bridged"
    return "speakers rated for more power, or an amplifier with a preset that caps it"


def _leave_out(finding: Finding, catalog: Catalog) -> str:
    others = sorted(finding.present)
    if len(others) < 2:  # noqa: PLR2004 - a part alone against a condition
        return ""
    return "leave out one of " + " and ".join(placement_name(x, catalog) for x in others)


def _repairs(finding: Finding, catalog: Catalog) -> str:
    rule = catalog.rules.get(finding.rule)
    names = sorted({part_name(x.part, catalog) for x in finding.repairs})
    if not names:
        return ""
    kind = "a flash of the head unit" if isinstance(rule, FlashNeeded) else "one of"
    if len(names) > SHOWN:
        return f"add {kind} {', '.join(names[:SHOWN])} and {len(names) - SHOWN} more that may serve"
    return f"add {kind if len(names) > 1 else ''} {', '.join(names)}".replace("  ", " ")


def _first(placements: Iterable[Placement], catalog: Catalog) -> str:
    first = min(placements, default=None)
    return "this part" if first is None else placement_name(first, catalog)


def _no_mate(finding: Finding, catalog: Catalog) -> str:
    owner, _, plug = finding.detail.partition(":")
    part, _, place = owner.partition("@")
    plug, owner = plug.replace("_", " ").replace("-", " "), placement_name(Placement(part, place), catalog)
    return f"The {plug} plug of {owner} has nothing to go into."


_BUILT_IN: dict[str, Callable[[Finding, Catalog], str]] = {
    "slot_taken": lambda finding, catalog: (
        f"There is no free place: {' and '.join(placement_name(x, catalog) for x in sorted(finding.present))} want the same one."
    ),
    "carrier_missing": lambda finding, catalog: (
        f"{_first(finding.present, catalog)} needs a carrier with an opening there first."
    ),
    "host_missing": lambda finding, catalog: (
        f"{_first(finding.present, catalog)} belongs to a unit that is not there."
    ),
    "unknown_work": lambda _finding, _catalog: (
        "Somebody worked there before and nobody recorded what: it has to be looked at first."
    ),
    "plug_without_mate": _no_mate,
    "speaker_not_fed": lambda finding, catalog: (
        f"Nothing feeds {_first((x for x in finding.present if x.place == finding.detail), catalog)} yet."
    ),
    "preset_not_offered": lambda finding, catalog: (
        f"{part_name(finding.causes[0].of, catalog)} needs a preset, and none is offered on that day."
    ),
    "no_place_for_it": lambda finding, catalog: (
        f"This bike has no place for {part_name(finding.detail, catalog)}."
    ),
}
