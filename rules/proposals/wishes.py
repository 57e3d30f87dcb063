"""From a system to wishes: which parts of the catalog would make it, on this bike and on this day."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from rules.build import Placement
from rules.catalog.facts import Unknown
from rules.desk import Desk
from rules.proposals.brief import Brief
from rules.proposals.system import BASS, System
from rules.question import Want
from rules.verdict import Finding, Status

LINES, EACH = 3, 2
"""Part lines that are looked at for each zone, the cheapest first, and parts of each: what bounds the work."""


def wishes_of(system: System, desk: Desk, brief: Brief) -> tuple[Want, ...] | None:
    """Give what to wish for, None where nothing for sale could be in one of the zones.

    An amplifier is wished for by the power that the radio of this bike cannot give: so it drives the speakers, and is not only
    there. It is no reason for more.
    """
    on = brief.stages[0].on
    least = highest_of_radio(desk)
    wants: list[Want] = []
    for zone in system.zones:
        parts = speakers_for(desk, zone, on)
        if not parts:
            return None
        driven = system.amplified and zone != BASS and least is not None
        wants.append(Want(parts=parts, zone=zone, least_w=least if driven else None))
    if system.amplified and least is None:
        wants.append(Want(kind="amplifier"))
    wants += [Want(functions=(function,)) for function in brief.functions]
    return tuple(wants)


def highest_of_radio(desk: Desk) -> float | None:
    """Give a power just above what any channel of the bike's radio gives [W], None where that is not known."""
    bench = desk.bench
    radios = [bench.part(x) for x in bench.present if bench.part(x).kind == "head_unit"]
    rated = [channel.watts for radio in radios for channel in radio.channels]
    if not rated or any(isinstance(watts, Unknown) for watts in rated):
        return None
    return 1 + max(power for watts in rated if not isinstance(watts, Unknown) for power in watts.values())


def speakers_for(desk: Desk, zone: str, on: date) -> tuple[str, ...]:
    """Give the cheapest speakers for sale that may be in a zone, some of each of the cheapest lines; the stock ones are none.

    What is on the bike there and was bought counts, too.
    """
    bench = desk.bench
    catalog = bench.tables.catalog
    by_line: dict[str, set[tuple[int, str]]] = defaultdict(set)
    for placed in sorted(bench.universe):
        if catalog.places[placed.place].zone == zone and _is_new(desk, placed):
            price = desk.pricer.price(placed.part, on)
            if price is not None and not any(_is_final(x, placed) for x in desk.audition(placed)):
                by_line[catalog.lines[placed.part]].add((price.amount, placed.part))
    lines = sorted(sorted(parts)[:EACH] for parts in by_line.values())[:LINES]
    own = {x.part for x in bench.present - bench.stock if catalog.places[x.place].zone == zone}
    bought = {x for x in own if catalog.parts[x].speaker is not None}
    return tuple(sorted({part for line in lines for _, part in line} | bought))


def _is_new(desk: Desk, placed: Placement) -> bool:
    bench = desk.bench
    return bench.part(placed).speaker is not None and placed.part not in {x.part for x in bench.stock}


def _is_final(finding: Finding, placed: Placement) -> bool:
    """Tell whether nothing that is added helps: the part itself is refused there."""
    return finding.status is Status.REFUSED and finding.present <= {placed} and not finding.repairs
