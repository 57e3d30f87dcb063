"""Whole builds: valid, open or refused, and why."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rules.catalog.bike import BikePlace
from rules.catalog.rule import ChannelLimit, SupplyLimit
from rules.examine import Examiner
from rules.things import CARRIER, HOST, SLOT
from rules.verdict import Status
from tests.property.masks import known, masked
from tests.unit.catalogs import (
    UNKNOWN,
    amplifier,
    as_found,
    bench,
    bike,
    flash,
    harness,
    part,
    placed,
    power_kit,
    radio,
    rule,
    sends,
    shop,
    speaker,
    takes,
    with_stock,
)

SYSTEM = ("fulmar@tray", "front-harness@dash", "power-kit@battery")
LOWEST = rule(ChannelLimit, "load_too_low", limit="lowest_impedance")


def examined(catalog, build, found=None):
    return Examiner(bench(catalog, found)).examine(build)


def rules_of(examination):
    return {x.rule for x in examination.findings}


def test_a_bike_as_it_left_the_works_is_valid():
    assert examined(shop(), with_stock()).is_valid


def test_a_slot_holds_what_it_takes_and_no_more():
    amps = [amplifier(name) for name in ("fulmar", "skua", "tern")]
    two, three = (with_stock(*(f"{x.id}@tray" for x in amps[:count])) for count in (2, 3))
    assert SLOT not in rules_of(examined(shop(*amps), two))
    assert SLOT in rules_of(examined(shop(*amps), three))


@pytest.mark.parametrize(
    ("needed", "status"), [(True, Status.REFUSED), (UNKNOWN, Status.UNKNOWN), (False, None)]
)
def test_a_place_may_need_a_carrier_before_anything_goes_there(needed, status):
    catalog = shop(speaker(), on=bike(rears=BikePlace(carrier_needed=needed)))
    found = [x.status for x in examined(catalog, with_stock("petrel@rears")).findings if x.rule == CARRIER]
    assert found == ([] if status is None else [status])


def test_a_carrier_itself_needs_none():
    shell = part("shell", "carrier", "carrier")
    catalog = shop(speaker(), shell, on=bike(rears=BikePlace(carrier_needed=True)))
    assert examined(catalog, with_stock("petrel@rears", "shell@rears")).is_valid


def test_a_hosted_part_needs_its_host_in_the_same_place():
    catalog = shop(flash())
    assert examined(catalog, with_stock("rear-flash@dash")).is_valid
    assert HOST in rules_of(examined(catalog, placed("rear-flash@dash")))


def test_unknown_previous_work_leaves_new_parts_open_and_old_ones_alone():
    found = as_found(unknown_work=frozenset({"rears"}))
    catalog = shop(speaker())
    assert examined(catalog, with_stock(), found).is_valid
    new = examined(catalog, with_stock("petrel@rears"), found)
    assert new.is_open
    assert not new.is_valid


def test_every_sound_wiring_of_a_valid_build_is_kept():
    catalog = shop(amplifier(), harness(), power_kit(), rule(SupplyLimit, "fuse", limit="fuse"))
    (option,) = examined(catalog, with_stock(*SYSTEM)).options
    assert {fed.owner.part for fed in option.feeds.values()} == {"fulmar"}


def pod_lead():
    """Give a lead from the amplifier to the pods, past the loom."""
    plugs = {"amp-end": takes("amp", "plug", place="tray"), "out": sends("pod", paired=True, place="pods")}
    return part("pod-lead", "adapter", "lead", connectors=plugs, links={"out.drive": "amp-end.amp_$side"})


def test_a_speaker_that_any_of_two_sources_overloads_names_the_figures_of_both():
    plain = amplifier(lowest=8.0)
    amp = plain.model_copy(update={"connectors": {"out": plain.connectors["out"]}, "supply": None})
    catalog = shop(radio(lowest=8.0, stock_only=True), speaker(), amp, pod_lead(), LOWEST)
    build = placed("works-radio@dash", "petrel@pods", "fulmar@tray", "pod-lead@tray")
    here = bench(catalog)
    for finding in Examiner(here).examine(build).findings:
        alone = Examiner(masked(here, known(finding.causes))).examine(build)
        assert not alone.is_open, finding


def crowded():
    """Give an amplifier and leads that can be wired in many hundred ways, none of them sound."""
    outs = {f"out-{one}": sends("amp", "socket") for one in range(6)}
    plain = amplifier(lowest=8.0)
    channels = tuple(
        plain.channels[0].model_copy(update={"id": f"{side}-{one}", "output": f"out-{one}.amp_{side}"})
        for one in range(6)
        for side in ("left", "right")
    )
    amp = plain.model_copy(update={"connectors": outs, "channels": channels, "supply": None})
    ends = {f"in-{one}": takes("amp", "plug", place="tray", needed=True) for one in range(6)}
    leads = part("leads", "adapter", "lead", connectors=ends)
    return shop(amp, leads, radio(lowest=8.0, stock_only=True), LOWEST)


def test_a_build_that_can_be_wired_in_hundreds_of_unsound_ways_is_refused():
    assert not examined(crowded(), with_stock("fulmar@tray", "leads@tray")).is_open


def test_a_build_is_examined_once():
    examiner = Examiner(bench(shop()))
    assert examiner.examine(with_stock()) is examiner.examine(with_stock())
    assert replace(examiner.examine(with_stock())).is_valid
