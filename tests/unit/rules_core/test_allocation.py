"""Which channel feeds which zone."""

from __future__ import annotations

import pytest

from rules.allocation import Allocation, NoAllocation, Output, Source, ZoneLoad, allocate
from rules.errors import MalformedQuestion

FOUR_OHM = {"4": 50.0}
TWO_OHM = {"4": 50.0, "2": 80.0}


def _pair(name: str, watts: dict[str, float] = TWO_OHM, min_ohm: float = 2.0) -> tuple[Output, Output]:
    left, right = f"{name}_left", f"{name}_right"
    return Output(id=left, watts=watts, min_ohm=min_ohm), Output(id=right, watts=watts, min_ohm=min_ohm)


def _amplifier(*pairs: tuple[Output, ...], caps: bool = False) -> Source:
    return Source(name="amplifier", outputs=tuple(x for pair in pairs for x in pair), caps=caps)


def _zone(name: str, ohm: float = 4.0, rms_w: float = 100.0, *, pair: bool = True) -> ZoneLoad:
    return ZoneLoad(name=name, impedance_ohm=ohm, rms_w=rms_w, pair=pair)


def _channels(answer: Allocation | NoAllocation, zone: str) -> list[str]:
    assert isinstance(answer, Allocation)
    return [fed.output for fed in answer.feeds if fed.zone == zone]


def test_each_zone_has_a_pair_of_its_own_where_there_are_enough() -> None:
    answer = allocate((_amplifier(_pair("one"), _pair("two")),), (_zone("fronts"), _zone("rears")))
    assert isinstance(answer, Allocation)
    assert answer.shared == ()
    assert answer.says == ""


def test_zones_that_share_a_pair_are_told_that_they_share_gain_filters_and_fader() -> None:
    answer = allocate((_amplifier(_pair("one")),), (_zone("fronts"), _zone("rears")))
    assert isinstance(answer, Allocation)
    assert answer.shared == (("fronts", "rears"),)
    assert {(fed.load_ohm, fed.channel_w, fed.share_w) for fed in answer.feeds} == {(2.0, 80.0, 40.0)}
    for word in ("gain", "filters", "fader"):
        assert word in answer.says


def test_kept_zone_keeps_its_channels_even_where_others_would_suit_it_better() -> None:
    weak, strong = _pair("weak", {"4": 20.0}), _pair("strong")
    kept = {"fronts": ("amplifier", ("weak_left", "weak_right"))}
    zones = (_zone("fronts"), _zone("rears"))
    assert _channels(allocate((_amplifier(weak, strong),), (_zone("fronts"),)), "fronts") == [
        "strong_left",
        "strong_right",
    ]
    answer = allocate((_amplifier(weak, strong),), zones, kept)
    assert _channels(answer, "fronts") == ["weak_left", "weak_right"]
    assert _channels(answer, "rears") == ["strong_left", "strong_right"]


def test_strong_channels_go_to_the_speakers_that_can_take_them() -> None:
    source = _amplifier(_pair("small", {"4": 25.0}), _pair("big", {"4": 100.0}))
    answer = allocate((source,), (_zone("fronts"), _zone("rears", rms_w=30.0)))
    assert _channels(answer, "fronts") == ["big_left", "big_right"]


def test_two_ohm_speakers_are_refused_by_channels_that_are_not_two_ohm_stable() -> None:
    answer = allocate((_amplifier(_pair("one", FOUR_OHM, 4.0)),), (_zone("fronts", ohm=2.0),))
    assert answer == NoAllocation(zones=("fronts",), would_help=("lowest_impedance",))


def test_only_the_zones_that_cannot_be_fed_together_are_named() -> None:
    source = _amplifier(_pair("one", FOUR_OHM, 4.0), _pair("two", FOUR_OHM, 4.0))
    zones = (_zone("fronts"), _zone("bass", pair=False), _zone("rears"))
    answer = allocate((source,), zones)
    assert isinstance(answer, NoAllocation)
    assert answer.zones == ("fronts", "bass", "rears")


def test_speaker_weaker_than_its_share_needs_a_source_that_a_preset_can_cap() -> None:
    zones = (_zone("fronts", rms_w=30.0),)
    assert allocate((_amplifier(_pair("one")),), zones) == NoAllocation(
        zones=("fronts",), would_help=("speaker_power",)
    )
    capped = allocate((_amplifier(_pair("one"), caps=True),), zones)
    assert isinstance(capped, Allocation)
    assert capped.capped == ("amplifier",)
    assert capped.feeds[0].margin == pytest.approx(0.6)


def test_bridged_channel_is_not_used_beside_the_channels_it_is_made_of() -> None:
    one, two = _pair("one"), _pair("two")
    bridged = Output(id="bridged", watts={"4": 160.0}, min_ohm=4.0, made_of=("two_left", "two_right"))
    source = _amplifier(one, two, (bridged,))
    bass = _zone("bass", rms_w=200.0, pair=False)
    assert _channels(allocate((source,), (_zone("fronts"), bass)), "bass") == ["bridged"]
    answer = allocate((source,), (_zone("fronts", 4.0), _zone("rears", 2.0), bass))
    assert isinstance(answer, NoAllocation)


def test_pair_is_never_split_over_unlike_channels() -> None:
    source = _amplifier(
        (Output(id="a", watts={"4": 50.0}, min_ohm=4.0), Output(id="b", watts={"4": 60.0}, min_ohm=4.0))
    )
    assert allocate((source,), (_zone("fronts"),)) == NoAllocation(zones=("fronts",), would_help=("alike",))


def test_channels_tied_to_a_side_keep_it() -> None:
    tied = (
        Output(id="front_right", watts=FOUR_OHM, min_ohm=4.0, side="right"),
        Output(id="front_left", watts=FOUR_OHM, min_ohm=4.0, side="left"),
    )
    assert _channels(allocate((_amplifier(tied),), (_zone("fronts"),)), "fronts") == [
        "front_left",
        "front_right",
    ]
    assert isinstance(allocate((_amplifier(tied),), (_zone("bass", pair=False),)), NoAllocation)


def test_without_zones_there_is_nothing_to_feed() -> None:
    assert allocate((), ()) == Allocation(feeds=(), shared=())


@pytest.mark.parametrize(
    ("sources", "zones", "kept", "field"),
    [
        ((_amplifier(_pair("a")), _amplifier(_pair("b"))), (), {}, "sources"),
        ((_amplifier(_pair("a"), _pair("a")),), (), {}, "sources"),
        ((), (_zone("fronts"), _zone("fronts")), {}, "zones"),
        ((), (_zone("fronts", ohm=0.0),), {}, "zones"),
        ((), (_zone("fronts", rms_w=float("nan")),), {}, "zones"),
        ((_amplifier(_pair("a", {"four": 1.0})),), (), {}, "sources"),
        (
            (_amplifier(_pair("a")),),
            (_zone("fronts"),),
            {"rears": ("amplifier", ("a_left", "a_right"))},
            "kept",
        ),
        ((_amplifier(_pair("a")),), (_zone("fronts"),), {"fronts": ("amplifier", ("a_left",))}, "kept"),
        ((), tuple(_zone(str(i)) for i in range(9)), {}, "zones"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_its_field(sources, zones, kept, field) -> None:
    with pytest.raises(MalformedQuestion) as refused:
        allocate(sources, zones, kept)
    assert refused.value.field == field
    assert refused.value.cure


def test_eight_zones_on_twenty_four_channels_are_answered_at_once() -> None:
    sources = tuple(
        Source(name=f"amplifier{i}", outputs=tuple(x for n in range(4) for x in _pair(f"pair{n}")))
        for i in range(3)
    )
    answer = allocate(sources, tuple(_zone(f"zone{i}", rms_w=100.0 + i) for i in range(8)))
    assert isinstance(answer, Allocation)
    assert len({(fed.source, fed.output) for fed in answer.feeds}) == 16
