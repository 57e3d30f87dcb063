"""Faults of the shape of entries."""

from __future__ import annotations

from tests.diagnostics.fault import edit

SHOP, PLACES = "shop.yaml", "places.yaml"
BIKE, WORKS, TERN = "bikes/heron.yaml", "parts/works.yaml", "parts/tern.yaml"
FIT, WORK = "rules/fit.yaml", "rules/work.yaml"
PRICES, CASES = "prices/2026.yaml", "cases/fronts.yaml"

FAULTS = (
    edit(
        "not-filled-in",
        "a template's source that nobody has replaced",
        "parts/tern.yaml",
        "ref: bench note 1,",
        'ref: «"FILL IN: which bike, which sheet"»,',
    ),
    edit(
        "not-filled-in",
        "a template's id that nobody has replaced",
        "rules/fit.yaml",
        "needs: {tag: pod}",
        "needs: {tag: «FILL IN the tag»}",
    ),
    edit(
        "missing-key", "a part without a name", TERN, "    name: Tern spacer ring\n", "", "- «id»: tern_ring"
    ),
    edit("missing-key", "a rule without a kind", FIT, "    kind: mass_limit\n", "", "- «id»: battery_mass"),
    edit("missing-key", "a cable without its area", TERN, "cable: {area_mm2: 8.0, ", "«cable»: {"),
    edit(
        "missing-key",
        "an inherited plug without gender",
        BIKE,
        "pods: {map: pod, gender: plug,",
        "«pods»: {map: pod,",
    ),
    edit("unknown-key", "a misspelt key", TERN, "mass_kg: 1.2", "«mas_kg»: 1.2"),
    edit(
        "unknown-key",
        "a key beside a comparison",
        FIT,
        "pod_series, is: b}",
        "pod_series, is: b, «unless»: c}",
    ),
    edit(
        "unknown-key",
        "a misspelt key in a trim's changes",
        BIKE,
        "            geometry:\n",
        "            «geometri»:\n",
    ),
    edit("wrong-type", "text for a number", WORK, "minutes: 10\n", "minutes: «ten»\n"),
    edit("wrong-type", "a number for a name", SHOP, "Shop on the spit", "«12»"),
    edit("wrong-type", "true for a number", TERN, "mass_kg: 1.2", "mass_kg: «true»"),
    edit("wrong-type", "a list for a fact's name", TERN, "name: Tern spacer ring", "name: «[»Tern, ring]"),
    edit("wrong-type", "a mapping for a fact", TERN, "{height_mm: 6.0}", "{height_mm: «{»mm: 6.0}}"),
    edit("wrong-type", "a point where cents are counted", PRICES, "tern_ring: 2900", "tern_ring: «29.5»"),
    edit("wrong-type", "a word in a list of rules", FIT, "rules:\n", "rules:\n  - «heavy»\n"),
    edit(
        "wrong-type",
        "a file that is a list",
        SHOP,
        "name: Shop on the spit\ncurrency: EUR\ndecimals: 2\ntax_percent: 20\n",
        "«-» name\n",
    ),
    edit("unknown-word", "a mount that does not exist", BIKE, "mount: frame", "mount: «frme»"),
    edit("unknown-word", "a part kind that does not exist", TERN, "kind: ring", "kind: «spacer»"),
    edit("unknown-kind", "a misspelt rule kind", FIT, "kind: clearance", "kind: «clearence»"),
    edit(
        "unknown-kind",
        "a condition without its key",
        FIT,
        "when: {fact: bike.year, in",
        "«when»: {facts: bike.year, in",
    ),
    edit("bad-id", "an id with a space", TERN, "host: [old_radio]", "host: [«Old Radio»]"),
    edit("bad-id", "a fact's name with a capital", TERN, "frame_mm: 130.0", "«Frame_mm»: 130.0"),
    edit("bad-currency", "a currency in words", SHOP, "EUR", "«euro»"),
    edit("bad-fact-name", "a fact of nobody", WORK, "fact: bike.trim", "fact: «trim»"),
    edit("out-of-range", "a negative mass", TERN, "mass_kg: 1.2", "mass_kg: «-1.2»"),
    edit("out-of-range", "an inherited mass below zero", BIKE, "max_mass_kg: 9.0", "max_mass_kg: «-9.0»"),
    edit("out-of-range", "a visit that is not asked for", CASES, "by_visit: 1", "by_visit: «3»"),
    edit("list-length", "a preset for no amplifier", TERN, "amplifiers: [tern_amp]", "«amplifiers»: []"),
    edit("text-length", "an empty name", TERN, "name: Tern spacer ring", 'name: «""»'),
    edit("bad-date", "a date in another order", PRICES, "first: 2026-01-01", "first: «01.01.2026»"),
    edit("bad-date", "a day that does not exist", PRICES, "last: 2026-12-31", "last: «2026-02-30»"),
    edit("bad-date", "a number for a day", WORK, "date: 2024-02-01", "date: «20240201»"),
    edit("bad-years", "a span in words", BIKE, "years: 2018-2020}", "years: «2018 to 2020»}"),
    edit("bad-years", "a budget for no year", CASES, '"2025": 40000', '«"25"»: 40000'),
    edit("reversed-span", "years that run backwards", BIKE, "years: 2018-2020}", "years: «2020-2018»}"),
    edit(
        "reversed-span",
        "a price list that ends first",
        PRICES,
        "last: 2026-12-31",
        "last: 2025-12-31",
        "«price_list»: spring-2026",
    ),
    edit("empty-selector", "a selector of everything", FIT, "subject: {part: [tern_ring]}", "«subject»: {}"),
    edit(
        "one-operator",
        "two operators",
        FIT,
        "when: {fact: bike.year, in: [2018, 2019]}",
        "«when»: {fact: bike.year, at_least: 2018, at_most: 2019}",
    ),
    edit(
        "excludes-always",
        "an exclusion of nothing",
        FIT,
        """\
    when:
      all:
        - {fact: bike.pod_series, is: b}
        - not: {fitted: {line: tern, slot: ring}}
""",
        "",
        "- «id»: amp_not_in_series_b",
    ),
    edit(
        "half-operation",
        "an action for no part",
        WORK,
        "    subject: {kind: speaker}\n",
        "",
        "- «id»: fit_pods",
    ),
    edit("duplicate-id", "one rule id in two files", WORK, "- id: rear_socket", "- id: «pod_measured»"),
    edit(
        "duplicate-id",
        "one place twice",
        PLACES,
        "  - id: battery\n",
        "  - {id: «pods», name: x, slots: {ring: 1}}\n  - id: battery\n",
    ),
    edit("duplicate-id", "one channel twice", TERN, "{id: right, output: amp", "{id: «left», output: amp"),
    edit(
        "duplicate-id",
        "one trim twice",
        BIKE,
        "splits:\n  - years: 2019",
        "  - {id: «plain», name: Plainer, years: 2021}\nsplits:\n  - years: 2019",
    ),
    edit(
        "duplicate-id",
        "one case name twice",
        CASES,
        "name: pods now and an amplifier next year",
        "name: «the pod fits the plain trim»",
    ),
)
