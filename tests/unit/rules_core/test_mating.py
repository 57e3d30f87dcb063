"""When two plugs mate."""

from __future__ import annotations

import pytest

from rules.catalog.connector import Connector, ContactMap
from rules.mating import MateTable, face_of, faces_mate

MAPS = {
    "pair": ContactMap(id="pair", type="round", contacts={"1": "out left", "2": "out right"}),
    "half": ContactMap(id="half", type="round", contacts={"1": "out left"}),
    "crossed": ContactMap(id="crossed", type="round", contacts={"1": "out right", "2": "out left"}),
    "other": ContactMap(id="other", type="square", contacts={"1": "out left", "2": "out right"}),
    "bus": ContactMap(id="bus", type="round", contacts={"3": "both bus"}),
    "mixed": ContactMap(id="mixed", type="round", contacts={"1": "out left", "2": "in right"}),
}


def face(contacts, gender, **more):
    return face_of(Connector(map=contacts, gender=gender, **more), MAPS)


def mate(one, other):
    """Tell whether two mate; from either side the answer is the same."""
    assert faces_mate(one, other) is faces_mate(other, one)
    return faces_mate(one, other)


SENDER = face("pair", "plug")


def test_a_plug_mates_with_a_socket_that_takes_what_it_sends():
    assert mate(SENDER, face("pair", "socket", mirrored=True))


@pytest.mark.parametrize(
    ("other", "why"),
    [
        (face("pair", "plug", mirrored=True), "two plugs"),
        (face("other", "socket", mirrored=True), "another shape"),
        (face("pair", "socket"), "both send"),
        (face("crossed", "socket", mirrored=True), "left on right"),
        (face("pair", "socket", mirrored=True, paired=True), "one against a pair"),
    ],
)
def test_a_plug_does_not_mate(other, why):
    assert not mate(SENDER, other), why


def test_a_contact_that_is_empty_on_one_side_does_no_harm():
    assert mate(SENDER, face("half", "socket", mirrored=True))
    assert mate(face("half", "plug"), face("pair", "socket", mirrored=True))
    assert mate(SENDER, face("bus", "socket"))


def test_a_bus_agrees_with_a_bus_either_way_round():
    assert mate(face("bus", "plug"), face("bus", "socket"))
    assert mate(face("bus", "plug"), face("bus", "socket", mirrored=True))


def test_a_map_with_both_directions_is_turned_round_contact_by_contact():
    assert mate(face("mixed", "plug"), face("mixed", "socket", mirrored=True))
    assert not mate(face("mixed", "plug"), face("pair", "socket", mirrored=True))


def test_equal_faces_share_a_number_and_mates_know_each_other():
    table = MateTable()
    one, two = table.number(SENDER), table.number(face("pair", "socket", mirrored=True))
    assert table.number(face("pair", "plug", needed=True)) == one
    assert table.mates(one) == {two}
    assert table.mates(two) == {one}
