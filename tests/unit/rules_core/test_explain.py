"""Findings in sentences: each has one, and each refusal a cure."""

from __future__ import annotations

from typing import Any

import pytest

from rules.catalog.bike import BikePlace
from rules.catalog.facts import Unknown
from rules.catalog.rule import (
    Advice,
    ChannelLimit,
    Clearance,
    Excludes,
    FlashNeeded,
    MassLimit,
    PresetChain,
    Requires,
    SupplyLimit,
)
from rules.clash import NO_MATE, NOT_FED
from rules.explain import cure, sentence
from rules.fitment import NO_PLACE
from rules.things import CARRIER, HOST, SLOT, UNKNOWN_WORK
from rules.troubles import NO_PRESET
from rules.verdict import Status, Verdict
from tests.unit.catalogs import (
    UNKNOWN,
    all_of_kind,
    amplifier,
    as_found,
    bike,
    bike_is,
    desk,
    fit,
    fitted,
    flash,
    harness,
    only,
    power_kit,
    radio,
    ring,
    rule,
    shop,
    speaker,
    with_stock,
)

CARRIED = bike(rears=BikePlace(carrier_needed=True))


@pytest.mark.parametrize(
    ("name", "catalog", "build"),
    [
        (SLOT, shop(speaker()), with_stock("petrel@pods")),
        (CARRIER, shop(speaker(), on=CARRIED), with_stock("petrel@rears")),
        (HOST, shop(flash(host="new-radio"), radio("new-radio")), with_stock("rear-flash@dash")),
        (NO_MATE, shop(amplifier()), with_stock("fulmar@tray")),
        (NOT_FED, shop(radio(needs="rears-on", stock_only=True), speaker()), with_stock("petrel@rears")),
        (
            NO_PRESET,
            shop(
                amplifier(),
                harness(),
                power_kit(),
                rule(PresetChain, "chain", subject=all_of_kind("amplifier")),
            ),
            with_stock("fulmar@tray", "front-harness@dash", "power-kit@battery"),
        ),
    ],
)
def test_what_the_engine_itself_refuses_is_said_with_what_would_change_it(name, catalog, build):
    findings = [x for x in desk(catalog).examine(build).findings if x.rule == name]
    assert findings
    for finding in findings:
        assert_said(finding, catalog)


def assert_said(finding, catalog):
    told = sentence(finding, catalog)
    assert told[0].isupper()
    assert told.endswith(".")
    assert "@" not in told
    assert cure(finding, catalog)


def test_a_place_with_previous_work_is_said_to_need_a_look():
    catalog = shop(speaker())
    answer = fit(catalog, "petrel", "rears", found=as_found(unknown_work=frozenset({"rears"})))
    assert answer.verdict is Verdict.NOT_VERIFIED
    (finding, *_) = [x for x in answer.findings if x.rule == UNKNOWN_WORK]
    assert_said(finding, catalog)


def test_a_part_without_a_place_is_said_to_have_none():
    catalog = shop(speaker(at=("battery",)))
    (finding,) = fit(catalog, "petrel").findings
    assert finding.rule == NO_PLACE
    assert_said(finding, catalog)


DEEP: dict[str, Any] = {"spec": "depth_mm", "geometry": "depth_mm", "subject": only("petrel")}
SYSTEM = (amplifier(), harness(), power_kit())
REFUSED = [
    rule(Clearance, relation="at_most", margin=20.0, **DEEP),
    rule(Clearance, relation="at_least", margin=0.0, **DEEP),
    rule(Clearance, relation="equals", margin=2.0, **DEEP),
    rule(Requires, subject=only("petrel"), needs=only("works-ring")),
    rule(Requires, subject=only("petrel"), needs=all_of_kind("carrier")),
    rule(FlashNeeded, subject=only("petrel"), needs=all_of_kind("flash")),
    rule(Excludes, subject=only("petrel"), together_with=only("works-radio")),
    rule(Excludes, subject=only("petrel"), when=bike_is("mount", "frame")),
    rule(Excludes, subject=only("petrel"), when=fitted("works-radio")),
    rule(MassLimit, at=("pods",), fact="limit_kg"),
    rule(ChannelLimit, limit="lowest_impedance"),
    rule(ChannelLimit, limit="speaker_power"),
]


@pytest.mark.parametrize(
    "law", REFUSED, ids=lambda law: f"{law.kind}-{getattr(law, 'relation', '') or getattr(law, 'limit', '')}"
)
def test_each_rule_s_refusal_is_said_in_its_own_words_with_what_would_change_it(law):
    weak = radio(lowest=8.0, watts=90.0, stock_only=True)
    catalog = shop(
        weak, speaker(mass_kg=9.0), ring("works-ring", stock_only=True), law, on=bike(facts={"limit_kg": 2.0})
    )
    answer = fit(catalog, "petrel", "pods")
    assert answer.verdict is Verdict.DOES_NOT_FIT
    (finding, *_) = [x for x in answer.findings if x.rule == "the_rule"]
    assert sentence(finding, catalog).startswith("The rule.")
    assert_said(finding, catalog)


@pytest.mark.parametrize(
    "law",
    [
        rule(SupplyLimit, limit="fuse"),
        rule(SupplyLimit, limit="ampacity"),
        rule(SupplyLimit, limit="voltage_drop", most=0.01),
        rule(SupplyLimit, limit="charging"),
    ],
    ids=lambda law: law.limit,
)
def test_each_refusal_of_the_supply_is_said_with_what_would_change_it(law):
    thin = power_kit(ampacity=10.0, fuses=(5.0,))
    catalog = shop(amplifier(), harness(), thin, law, on=bike(facts={"charging_headroom_a": 1.0}))
    answer = fit(catalog, "fulmar")
    assert answer.verdict is Verdict.DOES_NOT_FIT
    for finding in answer.findings:
        assert_said(finding, catalog)


def test_a_missing_fact_is_named_with_the_way_to_find_it_out():
    look = Unknown(unknown="lay a straight edge over the pod")
    catalog = shop(
        speaker(), rule(Clearance, relation="at_most", **DEEP), on=bike(geometry={"depth_mm": look})
    )
    (finding,) = fit(catalog, "petrel", "pods").findings
    assert (
        sentence(finding, catalog)
        == "Not known yet: depth (mm) of the pods. So this is not ruled out: The rule."
    )
    assert cure(finding, catalog) == "lay a straight edge over the pod"


def test_figures_are_said_with_their_unit():
    catalog = shop(speaker(), rule(Clearance, relation="at_most", margin=15.5, **DEEP))
    (finding,) = fit(catalog, "petrel", "pods").findings
    assert "50 mm" in sentence(finding, catalog)
    assert cure(finding, catalog) == "a part with depth of at most 44.5 mm"


def test_advice_has_a_sentence_and_no_cure():
    catalog = shop(speaker(), rule(Advice, "mind_the_lid", subject=only("petrel")))
    (finding,) = fit(catalog, "petrel", "pods").advice
    assert (finding.status, sentence(finding, catalog), cure(finding, catalog)) == (
        Status.ADVICE,
        "Mind the lid.",
        "",
    )


def test_a_speaker_without_figures_says_which_are_missing():
    catalog = shop(speaker(rms=UNKNOWN), rule(ChannelLimit, limit="speaker_power"))
    (finding, *_) = fit(catalog, "petrel", "pods").findings
    assert sentence(finding, catalog).startswith("Not known yet: rms (W) of Petrel")
