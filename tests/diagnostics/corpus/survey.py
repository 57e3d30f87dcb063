"""Faults that only show over all bikes and parts."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from tests.diagnostics.fault import Fault, edit

FIT, WORK, BIKE, TERN, LIST = (
    "rules/fit.yaml",
    "rules/work.yaml",
    "bikes/heron.yaml",
    "parts/tern.yaml",
    "prices/2026.yaml",
)
DAY = date(2026, 6, 1)
ENTRY = "    subject: {part: [tern_ring]}\n"
MASS = "  - id: battery_mass\n"
RING_RULE = f"""\
  - id: ring_needs_pod
    kind: requires
    says: The ring goes under the pod speaker.
{ENTRY}    needs: {{tag: pod}}
    same_place: true
"""


def beside(text: str) -> tuple[tuple[str, str, str], ...]:
    """A rule more."""
    return ((FIT, MASS, text + MASS),)


def rule(name: str, kind: str, *lines: str, mark: bool = True) -> str:
    shown = f"«{name}»" if mark else name
    head = f"  - id: {shown}\n    kind: {kind}\n    says: It does not go.\n"
    return head + "".join(f"    {line}\n" for line in lines)


_FAULTS = (
    Fault(
        "unreachable-rule",
        "a rule about a place that no bike has",
        (
            ("places.yaml", "places:\n", "places:\n  - {id: lids, name: lids, slots: {ring: 1}}\n"),
            (
                FIT,
                MASS,
                rule("ring_in_lid", "advice", "«subject»: {part: [tern_ring], at: [lids]}", mark=False)
                + MASS,
            ),
        ),
    ),
    edit(
        "unreachable-rule",
        "an exception for a part that the rule is not about",
        FIT,
        "subject: {part: [tern_pod]}\n    outcome",
        "«subject»: {part: [tern_ring]}\n    outcome",
    ),
    edit(
        "never-fires",
        "an exception for years to come",
        FIT,
        "    when: {fact: bike.year, in: [2018, 2019]}",
        "    «when»: {fact: bike.year, in: [2030]}",
    ),
    edit(
        "never-fires",
        "a plug for a trim that is misspelt",
        WORK,
        "when: {fact: bike.trim, is: fair}",
        "«when»: {fact: bike.trim, is: fiar}",
    ),
    edit(
        "never-fires",
        "a series that no bike has",
        FIT,
        "{fact: bike.pod_series, is: b}",
        "{fact: bike.pod_series, is: c}",
        "«when»:\n      all",
    ),
    Fault(
        "never-fires",
        "a clearance that everything clears",
        beside(
            rule(
                "frame_too_wide",
                "clearance",
                "subject: {part: [tern_pod]}",
                "spec: frame_mm",
                "relation: at_most",
                "geometry: opening_mm",
                "margin: 1.0",
                "when: {fact: bike.trim, is: plain}",
            )
        ),
    ),
    Fault(
        "never-fires",
        "bridges that no amplifier has",
        beside(rule("bridged_twice", "channel_limit", "limit: bridge")),
    ),
    Fault(
        "never-fires",
        "two amplifiers kept apart where there is room for one",
        beside(
            rule("two_amps", "excludes", "subject: {kind: amplifier}", "together_with: {kind: amplifier}")
        ),
    ),
    Fault(
        "never-fires",
        "an exception to a rule that refuses nothing there",
        beside(
            rule(
                "works_pod_tried",
                "measured_exception",
                "overrides: «pod_too_deep»",
                "subject: {part: [old_pod]}",
                "outcome: allow",
                "source: {kind: measured, ref: bench note 8, date: 2024-06-02}",
                mark=False,
            )
        ),
    ),
    edit(
        "always-fires",
        "a condition that every bike meets",
        WORK,
        "    minutes: 10\n",
        "    minutes: 10\n    «when»: {fact: bike.mount, is: frame}\n",
    ),
    edit(
        "always-fires",
        "an amplifier refused on every bike",
        FIT,
        "      all:\n        - {fact: bike.pod_series, is: b}\n        - not: {fitted: {line: tern, slot: ring}}\n",
        "      {fact: bike.maker, is: Torvund}\n",
        "«when»:\n      {fact",
    ),
    edit(
        "never-met",
        "a ring that needs a ring beside it",
        FIT,
        "    needs: {tag: pod}",
        "    «needs»: {tag: spacer}",
    ),
    Fault(
        "shadowed-rule",
        "a clearance with less margin",
        beside(
            rule(
                "pod_too_deep_again",
                "clearance",
                "subject: {part: [tern_pod], at: [pods]}",
                "spec: depth_mm",
                "relation: at_most",
                "geometry: depth_mm",
                "margin: 1.5",
                "relieved_by_slot: ring",
                "relieved_by_spec: height_mm",
            )
        ),
    ),
    Fault(
        "shadowed-rule",
        "the same need twice",
        beside(
            rule(
                "ring_without_pod",
                "requires",
                "subject: {part: [tern_ring], at: [pods]}",
                "needs: {tag: pod}",
            )
        ),
    ),
    Fault(
        "contradiction",
        "exceptions that say the opposite on some bikes",
        beside(
            rule(
                "pod_tried_again",
                "measured_exception",
                "overrides: pod_too_deep",
                "subject: {line: tern, kind: speaker}",
                "outcome: «refuse»",
                "when: {fact: bike.trim, is: fair}",
                "source: {kind: measured, ref: bench note 8, date: 2024-06-02}",
                mark=False,
            )
        ),
    ),
    Fault(
        "contradicting-rules",
        "a ring that needs a pod and may not be beside one",
        (
            (FIT, "    needs: {tag: pod}", "    «needs»: {tag: pod}"),
            (
                FIT,
                MASS,
                rule(
                    "ring_and_pod",
                    "excludes",
                    "subject: {tag: pod}",
                    "together_with: {tag: spacer}",
                    mark=False,
                )
                + MASS,
            ),
        ),
    ),
    Fault(
        "contradicting-rules",
        "two speakers needed in one slot",
        beside(
            rule(
                "ring_needs_works_pod",
                "requires",
                "subject: {part: [tern_ring]}",
                "«needs»: {part: [old_pod]}",
                mark=False,
            )
        ),
    ),
    edit(
        "stock-refused",
        "a bike that could not have left the works",
        FIT,
        "subject: {kind: amplifier}\n    when:\n      all:\n        - {fact: bike.pod_series, is: b}",
        "subject: {part: [old_pod]}\n    when:\n      all:\n        - {fact: bike.pod_series, is: b}",
        "- id: «amp_not_in_series_b»",
    ),
    edit(
        "fits-nothing",
        "a flash for a radio that no bike has",
        TERN,
        "    host: [old_radio]",
        "    host: [tern_amp]",
        "- id: «tern_flash»",
    ),
    edit(
        "lonely-plug",
        "a socket where there should be a plug",
        TERN,
        "radio: {map: main, gender: plug, mirrored: true, place: dash}",
        "«radio»: {map: main, gender: socket, mirrored: true, place: dash}",
    ),
    edit("ends-soon", "the last price list", LIST, "last: 2026-12-31", "last: «2026-07-31»"),
    edit(
        "ends-soon",
        "a part that is sold for another month",
        TERN,
        "    mass_kg: 1.2\n",
        "    mass_kg: 1.2\n    available: {first: 2025-01-01, last: «2026-06-30»}\n",
    ),
    Fault(
        "ends-soon",
        "a hold that ends tomorrow",
        beside(
            rule(
                "pods_held",
                "hold",
                "subject: {part: [tern_ring]}",
                "first: 2026-05-01",
                "last: «2026-06-02»",
                mark=False,
            )
        ),
    ),
    edit("is-over", "no price list since last month", LIST, "last: 2026-12-31", "last: «2026-04-30»"),
    Fault(
        "is-over",
        "a hold of last year",
        beside(
            rule(
                "pods_were_held",
                "hold",
                "subject: {part: [tern_ring]}",
                "first: 2025-05-01",
                "last: «2025-06-02»",
                mark=False,
            )
        ),
    ),
    Fault(
        "nothing-fits",
        "a year in which nothing is measured",
        (
            (BIKE, "  - years: 2020-2021", "  - years: «2020-2021»"),
            (
                BIKE,
                "        battery: {max_mass_kg: absent}",
                "        battery: absent\n        pods: absent\n        tray: absent\n      loom: absent\n      stock: absent",
            ),
        ),
    ),
)
FITTING = frozenset({"fits-nothing", "nothing-fits"})
"""What a rule that refuses too much may lead to."""

FAULTS = tuple(replace(fault, on=DAY, follows=FITTING - {fault.code}) for fault in _FAULTS)
