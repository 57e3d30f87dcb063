"""Faults of rules."""

from __future__ import annotations

from tests.diagnostics.fault import Fault, edit

FIT, WORK, BIKE = "rules/fit.yaml", "rules/work.yaml", "bikes/heron.yaml"
RING_RULE = "subject: {part: [tern_ring]}"
PROVIDED = "when: {fact: bike.trim, is: fair}"
SOURCE = "    source: {kind: maker_sheet, ref: sheet 5, date: 2024-02-01}\n"

FAULTS = (
    edit(
        "unknown-part",
        "a rule about a part that is not there",
        FIT,
        RING_RULE,
        "subject: {part: [«tern_rng»]}",
    ),
    edit("unknown-place", "a rule about a misspelt place", FIT, "at: [battery]", "at: [«batery»]"),
    edit(
        "unknown-place",
        "a selector at a misspelt place",
        FIT,
        "{kind: speaker, at: [pods]}",
        "{kind: speaker, at: [«pod»]}",
    ),
    edit(
        "unknown-part-line",
        "a condition about a misspelt line",
        FIT,
        "{line: tern, slot: ring}",
        "{line: «trn», slot: ring}",
    ),
    edit("unknown-tag", "a tag that no part carries", FIT, "needs: {tag: pod}", "needs: {tag: «pods»}"),
    edit(
        "unknown-slot",
        "a condition about a misspelt slot",
        FIT,
        "{line: tern, slot: ring}",
        "{line: tern, slot: «rnig»}",
    ),
    edit(
        "selects-nothing",
        "a harness with the tag of a speaker",
        FIT,
        "needs: {tag: pod}",
        "«needs»: {tag: pod, kind: harness}",
    ),
    edit(
        "selects-nothing",
        "a fitted part that cannot be there",
        FIT,
        "{line: tern, slot: ring}",
        "{line: works, slot: ring}",
        "{«fitted»: {line: works",
    ),
    edit(
        "unknown-fact",
        "a bike fact that nobody records",
        FIT,
        "fact: bike.pod_series",
        "fact: «bike.pod_serie»",
    ),
    edit("unknown-fact", "a dimension that no place has", FIT, "geometry: depth_mm", "geometry: «depht_mm»"),
    edit("unknown-fact", "a spec that no part has", FIT, "spec: depth_mm", "spec: «depths_mm»"),
    edit(
        "unknown-fact",
        "a mass limit that no bike has",
        FIT,
        "at: [battery]",
        "at: [battery]\n    fact: «rack_kg»",
    ),
    Fault(
        "unit-mismatch",
        "millimetres against litres",
        (
            (FIT, "geometry: depth_mm", "geometry: «room_l»"),
            (BIKE, "opening_mm: 131.0", "opening_mm: 131.0, room_l: 2.0"),
        ),
    ),
    edit(
        "half-relief",
        "a ring that relieves by nothing",
        FIT,
        "    relieved_by_spec: height_mm\n",
        "",
        "«relieved_by_slot»: ring",
    ),
    edit(
        "unknown-rule",
        "work after work that is not there",
        WORK,
        "after: [seat_off]",
        "after: [seat_off, «tank_off»]",
    ),
    edit(
        "unknown-rule", "an exception to nothing", FIT, "overrides: pod_too_deep", "overrides: «pod_to_deep»"
    ),
    edit(
        "not-an-operation",
        "work after a clearance",
        WORK,
        "after: [seat_off]",
        "after: [seat_off, «pod_too_deep»]",
    ),
    edit(
        "idle-operation",
        "tear-down that nobody needs",
        WORK,
        "    after: [seat_off]\n",
        "",
        "- id: «seat_off»",
    ),
    Fault(
        "operation-cycle",
        "two operations that wait for one another",
        ((WORK, "    minutes: 5\n", "    minutes: 5\n    after: [screen_off]\n"),),
        at=(WORK, "«after»: [seat_off]"),
    ),
    edit(
        "bike-facts-only",
        "a plug that depends on a part",
        WORK,
        PROVIDED,
        "«when»: {fact: part.kind, is: speaker}",
    ),
    edit(
        "bike-facts-only",
        "a plug that depends on what is fitted",
        WORK,
        PROVIDED,
        "«when»: {fitted: {tag: pod}}",
    ),
    edit(
        "provides-chain",
        "a plug that depends on a provided fact",
        WORK,
        PROVIDED,
        "«when»: {fact: bike.has_tray_socket, is: true}",
    ),
    edit("missing-source", "a plug that nobody vouches for", WORK, SOURCE, "", "- «id»: rear_socket"),
    edit(
        "assumed-source",
        "a rule that assumes",
        WORK,
        "source: {kind: maker_sheet",
        "source: {kind: «assumed»",
    ),
    edit(
        "loose-link",
        "a link between the bike's own plugs",
        WORK,
        "tray.drive: main.front_$side}",
        "tray.drive: main.front_$side, «pods.drive»: main.front_$side}",
    ),
    edit(
        "missing-place",
        "a provided plug that lies nowhere",
        WORK,
        "tray: {map: pod, gender: plug, paired: true, place: pods}",
        "«tray»: {map: pod, gender: plug, paired: true}",
    ),
    edit(
        "missing-unit",
        "a provided number in what",
        WORK,
        "{has_tray_socket: true}",
        "{has_tray_socket: true, «tray_room»: 3.5}",
    ),
    Fault(
        "contradiction",
        "a rule against the bike's own file",
        (
            (WORK, "facts: {has_tray_socket: true}", "facts: {«has_tray_socket»: true}"),
            (BIKE, "      fair:\n", "      fair:\n        facts: {has_tray_socket: false}\n"),
        ),
    ),
    edit(
        "contradiction",
        "two exceptions that say the opposite",
        FIT,
        "  - id: battery_mass\n",
        """\
  - id: pod_measured_again
    kind: measured_exception
    says: The pod was tried in this fairing, and it does not fit.
    overrides: pod_too_deep
    subject: {part: [tern_pod]}
    outcome: «refuse»
    when: {fact: bike.year, in: [2018, 2019]}
    source: {kind: measured, ref: bench note 5, date: 2024-06-02}
  - id: battery_mass
""",
    ),
)
