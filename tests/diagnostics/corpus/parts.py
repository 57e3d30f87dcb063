"""Faults of parts."""

from __future__ import annotations

from tests.diagnostics.fault import Fault, edit

TERN, WORKS, PRICES = "parts/tern.yaml", "parts/works.yaml", "prices/2025.yaml"

FAULTS = (
    edit("missing-slot", "a ring that goes nowhere", TERN, "    slot: harness\n", "", "- «id»: tern_harness"),
    edit("unknown-slot", "a misspelt slot", TERN, "slot: harness", "slot: «harnes»"),
    edit("slot-not-there", "a place without the part's slot", TERN, "at: [pods]", "at: [pods, «dash»]"),
    edit("unknown-place", "a misspelt place", TERN, "at: [pods]", "at: [pods, «lids»]"),
    edit(
        "missing-detail",
        "a speaker without ratings",
        WORKS,
        "    speaker: {impedance_ohm: 4.0, rms_w: 15.0}\n",
        "",
        "- «id»: old_pod",
    ),
    edit(
        "missing-detail",
        "a speaker with wires only",
        WORKS,
        "      terminals: {map",
        "      wires: {map",
        "«connectors»:\n      wires",
    ),
    edit(
        "missing-detail",
        "a speaker that sends",
        WORKS,
        "terminals: {map: pod, gender: socket, mirrored: true,",
        "«terminals»: {map: pod, gender: socket,",
    ),
    edit(
        "stray-detail",
        "members of a ring",
        TERN,
        "    tags: [spacer]\n",
        "    tags: [spacer]\n    «members»: [tern_pod]\n",
    ),
    edit(
        "stray-detail",
        "a slot for a bundle",
        TERN,
        "    members: [tern_pod, tern_ring]\n",
        "    members: [tern_pod, tern_ring]\n    «slot»: ring\n",
    ),
    edit(
        "bad-impedance",
        "an impedance in words",
        TERN,
        'amp.out_left, watts: {"4": 60.0',
        'amp.out_left, watts: {«"four"»: 60.0',
    ),
    edit(
        "bad-impedance",
        "an impedance of nothing",
        TERN,
        'amp.out_left, watts: {"4": 60.0',
        'amp.out_left, watts: {«"0"»: 60.0',
    ),
    edit(
        "unknown-part",
        "a bundle with a part that is not there",
        TERN,
        "members: [tern_pod, tern_ring]",
        "members: [tern_pod, «tern_rng»]",
    ),
    edit(
        "unknown-part",
        "a preset for a part that is not there",
        TERN,
        "amplifiers: [tern_amp]",
        "amplifiers: [«tern_apm»]",
    ),
    edit("unknown-part", "a host that is not there", TERN, "host: [old_radio]", "host: [«old_rado»]"),
    edit(
        "nested-bundle",
        "a bundle in itself",
        TERN,
        "members: [tern_pod, tern_ring]",
        "members: [tern_pod, tern_ring, «tern_bundle»]",
    ),
    edit(
        "not-an-amplifier",
        "a preset for a speaker",
        TERN,
        "amplifiers: [tern_amp]",
        "amplifiers: [tern_amp, «tern_pod»]",
    ),
    edit(
        "unknown-tag",
        "a channel that waits for nothing",
        WORKS,
        'watts: {"4": 12.5}, min_ohm: 3.2}\n      - {id: right',
        'watts: {"4": 12.5}, min_ohm: 3.2, needs: «flat_sond»}\n      - {id: right',
    ),
    edit("missing-unit", "a spec in what", TERN, "frame_mm: 130.0", "«frame»: 130.0"),
    edit(
        "assumed-source",
        "a part that is assumed",
        TERN,
        "{kind: measured, ref: bench note 1,",
        "{kind: «assumed», ref: bench note 1,",
    ),
    edit(
        "host-cycle",
        "a flash that lives in itself",
        TERN,
        "host: [old_radio]",
        "«host»: [old_radio, tern_flash]",
    ),
    Fault(
        "host-cycle",
        "two parts that live in one another",
        (
            (TERN, "host: [old_radio]", "«host»: [tern_ring]"),
            (TERN, "    tags: [spacer]\n", "    tags: [spacer]\n    host: [tern_flash]\n"),
        ),
    ),
    edit(
        "unknown-part",
        "a price for a part that is not there",
        PRICES,
        "prices:\n",
        "prices:\n  «tern_pdo»: 100\n",
    ),
)
