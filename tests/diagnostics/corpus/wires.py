"""Faults of plugs, contact maps, links and channels."""

from __future__ import annotations

from tests.diagnostics.fault import edit

PLUGS, BIKE, TERN, WORKS = "connectors.yaml", "bikes/heron.yaml", "parts/tern.yaml", "parts/works.yaml"
LINK = "      amp.in_$side: radio.front_$side\n"

FAULTS = (
    edit("bad-contact", "a contact by name", PLUGS, '"2": out minus', '«"second"»: out minus'),
    edit("bad-contact", "a lane without direction", PLUGS, '"2": out minus', '"2": «minus»'),
    edit("contact-beyond", "a pin too many", PLUGS, '"2": out minus', '«"3"»: out minus'),
    edit("repeated-contact", "a pin twice", PLUGS, '"2": out minus', '«"2/1"»: out minus'),
    edit("repeated-contact", "a lane twice", PLUGS, '"2": out minus', '"2": «out plus»'),
    edit("unknown-connector-type", "a plug of unknown shape", PLUGS, "type: pod_2", "type: «pod_3»"),
    edit(
        "unknown-contact-map", "a plug with an unknown map", BIKE, "main: {map: main,", "main: {map: «mian»,"
    ),
    edit(
        "unknown-contact-map",
        "a part's plug with an unknown map",
        TERN,
        "amp: {map: amp, gender: plug",
        "amp: {map: «ampp», gender: plug",
    ),
    edit("bad-link", "a link to a plug without a lane", TERN, LINK, "      «amp»: radio.front_$side\n"),
    edit("bad-link", "a link with a blank", TERN, LINK, "      amp.in_$side: «radio front»\n"),
    edit(
        "unknown-connector",
        "a link to a misspelt plug",
        TERN,
        LINK,
        "      amp.in_$side: «rdio.front_$side»\n",
    ),
    edit(
        "unknown-connector",
        "a channel at a misspelt plug",
        TERN,
        "left, output: amp.out_left",
        "left, output: «apm.out_left»",
    ),
    edit(
        "unknown-lane",
        "a channel on a misspelt lane",
        TERN,
        "left, output: amp.out_left",
        "left, output: «amp.out_leff»",
    ),
    edit(
        "unknown-lane",
        "a link of the bike to a misspelt lane",
        BIKE,
        "pods.drive: main.front_$side",
        "«pods.drvie»: main.front_$side",
    ),
    edit(
        "wrong-direction",
        "a link the wrong way round",
        TERN,
        "      main.front_$side: amp.out_$side\n",
        "      main.front_$side: «amp.in_$side»\n",
    ),
    edit(
        "wrong-direction",
        "a channel that leaves by an input",
        TERN,
        "left, output: amp.out_left",
        "left, output: «amp.in_left»",
    ),
    edit(
        "one-sided-link", "both sides into one wire", TERN, LINK, "      «amp.in_left»: radio.front_$side\n"
    ),
    edit(
        "fed-twice", "two outputs in one wire", TERN, LINK, LINK + "      «amp.in_left»: radio.front_left\n"
    ),
    edit(
        "unknown-channel",
        "a bridge with a channel that is not there",
        TERN,
        '{id: left, output: amp.out_left, watts: {"4": 60.0, "2": 90.0}, min_ohm: 2.0',
        '{id: left, output: amp.out_left, watts: {"4": 60.0, "2": 90.0}, min_ohm: 2.0, bridges: [«rihgt»]',
    ),
)
