"""The wires inside a part or a loom."""

from __future__ import annotations

from rules.catalog.bike import Loom
from rules.catalog.connector import ContactMap
from rules.mating import MateTable
from rules.wires import End, wires_of_loom, wires_of_part
from tests.unit.catalogs import MAPS, adapter, amplifier, harness, sends, speaker, takes

CONTACTS = {name: ContactMap(id=name, type=name, contacts=x) for name, x in MAPS.items()}


def wires(part):
    return wires_of_part(part, CONTACTS, MateTable())


def test_side_in_a_lane_stands_for_left_and_right():
    feeds = wires(harness()).feeds
    assert feeds[End("loom-end", "", "front_left")] == End("amp-end", "", "amp_left")
    assert feeds[End("loom-end", "", "front_right")] == End("amp-end", "", "amp_right")
    assert len(feeds) == 4


def test_a_pair_of_plugs_is_linked_side_by_side():
    assert wires(adapter()).feeds == {
        End("out", side, "drive"): End("in", side, "drive") for side in ("left", "right")
    }


def test_a_loom_leads_from_one_plug_to_a_pair():
    loom = Loom(
        connectors={"main": takes("head", "plug"), "pods": sends("pod", paired=True)},
        links={"pods.drive": "main.front_$side"},
    )
    assert wires_of_loom(loom, CONTACTS, MateTable()).feeds == {
        End("pods", side, "drive"): End("main", "", f"front_{side}") for side in ("left", "right")
    }


def test_a_plug_that_is_not_there_takes_its_wires_with_it():
    loom = Loom(connectors={"main": takes("head", "plug")}, links={"pods.drive": "main.front_$side"})
    assert not wires_of_loom(loom, CONTACTS, MateTable()).feeds


def test_a_pair_of_speakers_has_a_left_and_a_right_sink_and_a_single_one_has_one():
    assert [side for side, _ in wires(speaker()).sinks] == ["left", "right"]
    plugs = {"terminals": takes("pod", needed=True)}
    single = speaker().model_copy(update={"connectors": plugs})
    assert [side for side, _ in wires(single).sinks] == ["single"]


def test_a_channel_comes_out_where_its_output_says():
    outputs = wires(amplifier()).outputs
    assert {key: channel.id for key, channel in outputs.items()} == {
        ("out", "amp_left"): "left",
        ("out", "amp_right"): "right",
    }
