"""Faults of model years, inheritance and what bikes have."""

from __future__ import annotations

from tests.diagnostics.fault import Fault, edit

BIKE, PLACES = "bikes/heron.yaml", "places.yaml"
LATER = "  - years: 2020-2021\n"

FAULTS = (
    edit(
        "duplicate-id",
        "a trim named like the side of another",
        BIKE,
        "splits:\n  - years: 2019",
        "  - {id: «fair-early», name: Early fairing, years: 2019}\nsplits:\n  - years: 2019",
    ),
    Fault(
        "span-gap",
        "a year that no entry covers",
        (
            (BIKE, "name: Plain, years: 2018-2021", "name: Plain, years: 2018-2019"),
            (BIKE, "name: Fair, years: 2018-2020", "name: Fair, years: 2018-2019"),
            (BIKE, LATER, "  - years: «2021-2022»\n"),
        ),
    ),
    edit("span-overlap", "a year in two entries", BIKE, LATER, "  - years: «2019-2021»\n"),
    edit(
        "span-beyond",
        "a trim sold after the last entry",
        BIKE,
        "name: Plain, years: 2018-2021",
        "name: Plain, years: «2018-2023»",
    ),
    edit(
        "span-beyond",
        "a trim sold before the first entry",
        BIKE,
        "name: Fair, years: 2018-2020",
        "name: Fair, years: «2016-2020»",
    ),
    edit(
        "unknown-trim",
        "changes for a misspelt trim",
        BIKE,
        "    trims:\n      fair:",
        "    trims:\n      «fiar»:",
    ),
    edit("unknown-trim", "a split of a misspelt trim", BIKE, "trims: [fair]", "trims: [fair, «plan»]"),
    edit("unknown-side", "changes for a misspelt side", BIKE, "      late:\n", "      «lately»:\n"),
    Fault(
        "never-applies",
        "changes for a trim that is no longer sold",
        (
            (
                BIKE,
                "        battery: {max_mass_kg: absent}\n",
                "        battery: {max_mass_kg: absent}\n    trims:\n      «fair»: {facts: {tone: warm}}\n",
            ),
            (BIKE, "name: Fair, years: 2018-2020", "name: Fair, years: 2018-2019"),
        ),
    ),
    Fault(
        "never-applies",
        "a split in a year in which its trim was not sold",
        (
            (BIKE, "  - years: 2019\n    trims: [fair]", "  - years: 2019\n    trims: [fair, «bare»]"),
            (
                BIKE,
                "splits:\n  - years: 2019",
                "  - {id: bare, name: Bare, years: 2021}\nsplits:\n  - years: 2019",
            ),
        ),
    ),
    edit(
        "split-overlap",
        "two splits of one trim",
        BIKE,
        "entries:\n",
        """\
  - years: «2019-2020»
    trims: [fair]
    by: market
    ask: Where was it sold first?
    sides: [{id: north, name: northern}, {id: south, name: southern}]
entries:
""",
    ),
    edit("split-dates", "a month on no side", BIKE, "built_from: 2019-04-01", "built_from: «2019-05-01»"),
    edit("split-dates", "a day on both sides", BIKE, "built_from: 2019-04-01", "built_from: «2019-03-31»"),
    edit(
        "no-change",
        "a value that is inherited anyway",
        BIKE,
        "        battery: {max_mass_kg: absent}\n",
        "        battery: {max_mass_kg: absent}\n        pods: {geometry: {depth_mm: «62.0»}}\n",
    ),
    edit(
        "nothing-to-remove",
        "a misspelt key to remove",
        BIKE,
        "battery: {max_mass_kg: absent}",
        "battery: {max_mass_kg: absent, «max_mas»: absent}",
    ),
    edit(
        "missing-unit",
        "a depth in what",
        BIKE,
        "depth_mm: 62.0, opening_mm: 131.0",
        "depth_mm: 62.0, opening_mm: 131.0, «width»: 90.0",
    ),
    edit(
        "missing-unit", "a headroom in what", BIKE, "pod_series: a}", "pod_series: a, «idle_headroom»: 3.0}"
    ),
    edit(
        "assumed-source",
        "an entry that assumes",
        BIKE,
        "{kind: measured, ref: bench note 9",
        "{kind: «assumed», ref: bench note 9",
    ),
    edit(
        "assumed-source",
        "a value that assumes",
        BIKE,
        "{kind: measured, ref: bench note 7",
        "{kind: «assumed», ref: bench note 7",
    ),
    edit(
        "unknown-place",
        "a place that is in no vocabulary",
        BIKE,
        "        tray: {}\n",
        "        tray: {}\n        «lids»: {}\n",
    ),
    edit(
        "unknown-place",
        "a plug in a misspelt place",
        BIKE,
        "paired: true, place: pods}",
        "paired: true, place: «pod»}",
    ),
    edit(
        "unknown-part",
        "a works part that is not there",
        BIKE,
        "dash.head_unit: old_radio",
        "dash.head_unit: «old_rdio»",
    ),
    edit(
        "unknown-slot",
        "a works part in a misspelt slot",
        BIKE,
        "pods.speaker: old_pod",
        "«pods.speeker»: old_pod",
    ),
    edit("bad-stock", "a works part without a slot", BIKE, "pods.speaker: old_pod", "«pods»: old_pod"),
    edit(
        "stock-elsewhere",
        "a speaker in the slot of a ring",
        BIKE,
        "pods.speaker: old_pod",
        "pods.ring: «old_pod»",
    ),
    edit(
        "stock-without-place",
        "a works part in a place that the bike lacks",
        BIKE,
        "        dash: {}\n",
        "",
        "«dash.head_unit»: old_radio",
    ),
    edit(
        "missing-place",
        "a plug of the bike that lies nowhere",
        BIKE,
        "main: {map: main, gender: plug, mirrored: true, place: dash}",
        "«main»: {map: main, gender: plug, mirrored: true}",
    ),
)
