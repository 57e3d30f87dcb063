"""Faults of price lists and cases."""

from __future__ import annotations

from tests.diagnostics.fault import Fault, edit

TERN, OLD, NEW, CASES = "parts/tern.yaml", "prices/2025.yaml", "prices/2026.yaml", "cases/fronts.yaml"

OWN_FROM = "      fitted: [{part: tern_ring, place: pods}]\n"
OWN = (
    "      own_parts: [{{id: {id}, name: Eider ring, kind: ring, slot: ring, tags: {tags},"
    " source: {{kind: measured, ref: bench, date: 2025-04-01}}}}]\n"
)

FAULTS = (
    edit(
        "drafted-case",
        "a case that nobody has thought about",
        "cases/fronts.yaml",
        "why: the common path",
        "«why»: {unknown: say why}",
    ),
    edit("price-gap", "a month without prices", NEW, "first: 2026-01-01", "first: «2026-02-01»"),
    edit("price-overlap", "a day with two prices", NEW, "first: 2026-01-01", "first: «2025-12-31»"),
    Fault(
        "never-priced",
        "a part that was forgotten",
        ((OLD, "  tern_kit: 7900\n", ""),),
        at=(TERN, "- id: «tern_kit»"),
    ),
    edit(
        "unknown-part",
        "a resale value for a part that is not there",
        OLD,
        "resale:\n",
        "resale:\n  «tern_pds»: 10\n",
    ),
    edit(
        "unknown-bike",
        "a case about a misspelt bike",
        CASES,
        "bike: heron-2018-plain",
        "bike: «heron-2018-plian»",
    ),
    edit(
        "unknown-bike",
        "a case about a year that was not built",
        CASES,
        "bike: heron-2019-fair",
        "bike: «heron-2021-fair»",
    ),
    edit(
        "unknown-part",
        "a case about a part that is not there",
        CASES,
        "part: tern_pod\n",
        "part: «tern_pdo»\n",
    ),
    edit(
        "unknown-part", "a wish for a part that is not there", CASES, "{part: tern_amp}", "{part: «tern_map»}"
    ),
    edit("unknown-place", "a case about a misspelt place", CASES, "    place: pods\n", "    place: «pod»\n"),
    edit(
        "unknown-rule",
        "a case that expects a rule that is not there",
        CASES,
        "rules: []",
        "rules: [«pod_deep»]",
    ),
    edit(
        "duplicate-id",
        "an own part with the name of a part of the catalog",
        CASES,
        OWN_FROM,
        OWN_FROM + OWN.format(id="«tern_ring»", tags="[]"),
    ),
    edit(
        "unknown-tag",
        "an own part with a tag that no rule can mean",
        CASES,
        OWN_FROM,
        OWN_FROM + OWN.format(id="eider_ring", tags="[«podd»]"),
    ),
    edit(
        "unknown-slot",
        "an own part in a misspelt slot",
        CASES,
        OWN_FROM,
        OWN_FROM + OWN.format(id="eider_ring", tags="[]").replace("slot: ring", "slot: «rnig»"),
    ),
    edit(
        "no-expectation",
        "a path that may cost anything",
        CASES,
        "    total: 80000\n",
        "",
        "- name: «pods now and an amplifier next year»",
    ),
    edit(
        "visits-out-of-order",
        "a visit before the one before it",
        CASES,
        "date: 2026-05-01, fitter",
        "date: «2025-04-01», fitter",
    ),
    edit(
        "bad-measured",
        "a measured fact of nothing",
        CASES,
        "{places.pods.geometry.depth_mm: 61.0}",
        "{«depth_mm»: 61.0}",
    ),
    edit(
        "missing-unit",
        "a measured number in what",
        CASES,
        "{places.pods.geometry.depth_mm: 61.0}",
        "{«places.pods.geometry.depth»: 61.0}",
    ),
    edit(
        "missing-key",
        "a case without a verdict",
        CASES,
        "    verdict: fits\n",
        "",
        "- «name»: the pod fits the plain trim",
    ),
)
