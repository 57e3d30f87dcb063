"""Faults of YAML itself."""

from __future__ import annotations

from tests.diagnostics.fault import edit

SHOP, TERN, WORKS, WORK = "shop.yaml", "parts/tern.yaml", "parts/works.yaml", "rules/work.yaml"

FAULTS = (
    edit("yaml-syntax", "a quote left open", SHOP, "tax_percent: 20\n", "tax_percent: 20\n«@»x\n"),
    edit("control-character", "a bell in a name", SHOP, "on the spit", "on «\x07»the spit"),
    edit(
        "control-character", "a line end that editors do not show", SHOP, "on the spit", "on «\u2028»the spit"
    ),
    edit("control-character", "a bell as an escape", SHOP, "Shop on the spit", r'«"Shop \u0007 spit"»'),
    edit(
        "second-document", "two documents", SHOP, "tax_percent: 20\n", "tax_percent: 20\n«---»\nname: Other\n"
    ),
    edit(
        "duplicate-key", "a key twice", TERN, "    mass_kg: 1.2\n", "    mass_kg: 1.2\n    «mass_kg»: 1.4\n"
    ),
    edit(
        "key-not-text",
        "an impedance without quotes",
        TERN,
        'amp.out_left, watts: {"4"',
        "amp.out_left, watts: {«4»",
    ),
    edit("key-not-text", "a list as a key", SHOP, "tax_percent: 20\n", "tax_percent: 20\n? «[»tax]\n: 20\n"),
    edit("yaml-tag", "a tag", SHOP, "Shop on the spit", "«!!str Shop»"),
    edit("yaml-anchor", "an anchor", TERN, "name: Tern spacer ring", "name: «&ring Tern spacer ring»"),
    edit("yaml-alias", "an alias", TERN, "name: Tern spacer ring", "name: «*ring»"),
    edit("merge-key", "a merge key", TERN, "    mass_kg: 1.2\n", "    «<<»: {mass_kg: 1.2}\n"),
    edit("too-deep", "a wall of brackets", SHOP, "Shop on the spit", f"{'[' * 39}«[»{']' * 40}"),
    edit(
        "boolean-word", "yes for true", TERN, "tern_ring\n    name", "tern_ring\n    rewires: «yes»\n    name"
    ),
    edit("boolean-word", "a tag that is a truth value", WORKS, "tags: [radio]", "tags: [radio, «on»]"),
    edit("boolean-word", "a key that is a truth value", WORKS, "spec: {depth_mm", "spec: {«no»: x, depth_mm"),
    edit("no-value", "a key without value", TERN, "    mass_kg: 1.2\n", "    «mass_kg»:\n"),
    edit("no-value", "a tilde", TERN, "    mass_kg: 1.2\n", "    mass_kg: «~»\n"),
    edit(
        "no-value", "a list item without value", TERN, "tags: [spacer]", "tags:\n      - spacer\n      -« »\n"
    ),
    edit("octal-number", "a leading zero", WORK, "minutes: 10\n", "minutes: «010»\n"),
    edit("base-60-number", "a time without quotes", WORK, "says: Take off the seat.", "says: «12:30»"),
    edit("not-a-number", "infinity", TERN, "    mass_kg: 1.2\n", "    mass_kg: «.inf»\n"),
    edit("huge-number", "twenty digits", WORK, "minutes: 10\n", "minutes: «10000000000000000000»\n"),
    edit("unclear-number", "an exponent", TERN, "depth_mm: 61.0", "depth_mm: «61e0»"),
    edit("unclear-number", "a sign before a number", TERN, "depth_mm: 61.0", "depth_mm: «+61.0»"),
)
