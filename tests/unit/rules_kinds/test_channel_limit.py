"""Channel limits: lowest impedance, each speaker's share of power, and bridging."""

from __future__ import annotations

import pytest

from rules.catalog.part import Channel
from rules.catalog.rule import ChannelLimit
from rules.kinds import channel_limit
from rules.kinds.channel_limit import Load
from rules.net import Sink
from rules.verdict import Status, Verdict
from tests.unit.catalogs import (
    UNKNOWN,
    amplifier,
    fit,
    harness,
    one,
    placed,
    power_kit,
    preset,
    radio,
    rule,
    scene,
    shop,
    speaker,
)

LOWEST = rule(ChannelLimit, "load_too_low", limit="lowest_impedance")
POWER = rule(ChannelLimit, "too_much_power", limit="speaker_power")
BRIDGE = rule(ChannelLimit, "bridged_twice", limit="bridge")


def on_radio(pair, *rules, **figures):
    """Ask for a pair of speakers on the channels of a radio."""
    return fit(shop(pair, radio(stock_only=True, **figures), *rules), "petrel", "pods")


@pytest.mark.parametrize(
    ("ohm", "verdict"),
    [(4.0, Verdict.FITS), (3.9, Verdict.DOES_NOT_FIT), (UNKNOWN, Verdict.NOT_VERIFIED)],
)
def test_a_speaker_has_at_least_the_impedance_that_its_channel_is_stable_with(ohm, verdict):
    assert on_radio(speaker(ohm=ohm), LOWEST, lowest=4.0).verdict == verdict


def test_a_channel_of_unknown_stability_is_left_open():
    answer = on_radio(speaker(), LOWEST, lowest=UNKNOWN)
    assert answer.verdict is Verdict.NOT_VERIFIED
    assert "part.channels.front-left.min_ohm" in {x.fact for x in answer.missing}


def test_without_the_rule_nobody_asks_for_impedances():
    assert on_radio(speaker(ohm=UNKNOWN), lowest=4.0).verdict is Verdict.FITS


@pytest.mark.parametrize(("rms", "verdict"), [(20.0, Verdict.FITS), (19.9, Verdict.DOES_NOT_FIT)])
def test_a_radio_may_give_a_speaker_its_rating_and_no_more(rms, verdict):
    assert on_radio(speaker(rms=rms), POWER, watts=20.0).verdict == verdict


@pytest.mark.parametrize("pair", [speaker(rms=UNKNOWN), speaker(ohm=UNKNOWN), speaker(ohm=1.0)])
def test_a_share_that_cannot_be_worked_out_is_left_open(pair):
    assert on_radio(pair, POWER).verdict is Verdict.NOT_VERIFIED


def test_a_radio_of_unknown_power_is_left_open():
    assert on_radio(speaker(), POWER, watts=UNKNOWN).verdict is Verdict.NOT_VERIFIED


@pytest.mark.parametrize(("watts", "presets"), [(30.0, 0), (30.1, 1)])
def test_an_amplifier_above_a_speaker_s_rating_takes_a_preset_that_caps_it(watts, presets):
    goods = (amplifier(watts=watts), harness(), power_kit(), preset(), POWER)
    works = speaker("works-pods", rms=30.0, stock_only=True)
    answer = fit(shop(works, *goods), "fulmar", "tray")
    assert answer.verdict is Verdict.FITS_WITH
    assert len(answer.presets) == presets


def test_an_amplifier_above_a_rating_is_refused_where_no_preset_is_offered():
    works = speaker("works-pods", rms=30.0, stock_only=True)
    catalog = shop(works, amplifier(watts=31.0), harness(), power_kit(), POWER)
    assert fit(catalog, "fulmar", "tray").verdict is Verdict.DOES_NOT_FIT


def load(ohms, lowest=2.0, bridges=(), watts=50.0):
    """Put speakers of these impedances on one channel."""
    pairs = [speaker(name, ohm=ohm) for name, ohm in ohms.items()]
    here = scene(shop(amplifier(), *pairs), "fulmar@tray", *(f"{name}@pods" for name in ohms))
    channel = Channel(
        id="left", output="out.amp_left", watts={"1": watts, "4": watts}, min_ohm=lowest, bridges=bridges
    )
    sinks = tuple(Sink(one(f"{name}@pods"), "left") for name in ohms)
    return here, Load(owner=one("fulmar@tray"), channel=channel, sinks=sinks)


@pytest.mark.parametrize(("lowest", "refused"), [(2.0, False), (2.1, True)])
def test_speakers_in_parallel_count_together(lowest, refused):
    here, driven = load({"tern": 4.0, "skua": 4.0}, lowest)
    assert bool(list(channel_limit.check(LOWEST, here, driven, frozenset()))) is refused


def test_only_the_speakers_that_overload_a_channel_are_blamed():
    here, driven = load({"tern": 8.0, "skua": 2.0}, lowest=3.0)
    (finding,) = channel_limit.check(LOWEST, here, driven, frozenset())
    assert finding.present == placed("fulmar@tray", "skua@pods")
    assert finding.calculation is not None
    assert (finding.calculation.result, finding.calculation.limit) == (2.0, 3.0)


def test_known_speakers_that_overload_a_channel_refuse_whatever_an_unknown_one_is():
    here, driven = load({"tern": UNKNOWN, "skua": 2.0}, lowest=3.0)
    (finding,) = channel_limit.check(LOWEST, here, driven, frozenset())
    assert finding.status is Status.REFUSED


def test_power_is_shared_by_the_inverse_of_impedance():
    here, driven = load({"tern": 2.0, "skua": 4.0}, watts=60.0)
    shares = {
        min(x.causes[0].of for x in [found]): found for found in channel_limit.too_strong(POWER, here, driven)
    }
    assert shares["tern"].calculation is not None
    assert (shares["tern"].calculation.result, set(shares)) == (40.0, {"tern"})


@pytest.mark.parametrize(("driven_besides", "refused"), [({"right"}, True), ({"other"}, False)])
def test_a_bridged_channel_is_refused_while_a_half_of_it_feeds_something(driven_besides, refused):
    here, driven = load({"tern": 4.0}, bridges=("left-half", "right"))
    found = list(channel_limit.check(BRIDGE, here, driven, frozenset({"left", *driven_besides})))
    assert bool(found) is refused
