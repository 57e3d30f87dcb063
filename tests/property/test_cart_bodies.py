"""A body that asks about a plain cart is read as JSON reads it, or is left to the framework."""

from __future__ import annotations

import json
from datetime import date
from random import Random

from hypothesis import given
from hypothesis import strategies as st
from pydantic_core import from_json

from rules.question import CartLines
from rules.ranks import CartLine, Ranks
from service.storefront.cart_bodies import CartBodies
from tests.contract.small import small_release

TODAY = date(2026, 5, 4)
CATALOG = small_release().catalog
BODIES = CartBodies(Ranks(CATALOG))
MARKS = b'{}[],:" \n\t\x0b\\0a\xe9'


def plain(random: Random) -> bytes:
    """Write a cart as shops might: on one line or several, with days and places or without."""
    lines = [
        {"part": x, **random.choice(({}, {"place": None}, {"place": random.choice([*CATALOG.places])}))}
        for x in random.choices([*CATALOG.parts], k=random.randint(1, 4))
    ]
    more = random.choice(({}, {"on": "2026-07-01"}, {"on": None}, {"fitter": "home"}))
    fields = [*{"bike": random.choice([*CATALOG.bikes]), "parts": lines, **more}.items()]
    random.shuffle(fields)
    how = random.choice(({}, {"indent": 2}, {"separators": (",", ":")}, {"indent": "\t"}))
    return json.dumps(dict(fields), **how).encode()


def spoilt(body: bytes, random: Random) -> bytes:
    """Put a mark somewhere, take one away, or repeat a stretch elsewhere."""
    at, to = sorted(random.choices(range(len(body)), k=2))
    mark = bytes([random.choice(MARKS)])
    return random.choice(
        (
            body[:at] + mark + body[at:],
            body[:at] + body[at + 1 :],
            body[:at] + mark + body[at + 1 :],
            body[:at] + body[to : to + random.randint(1, 30)] + body[at:],
        )
    )


def read_by_json(body: bytes) -> CartLines:
    """Read a body that is said to be plain."""
    asked = from_json(body)
    assert asked.keys() <= {"bike", "parts", "on", "fitter"}
    assert all(x.keys() <= {"part", "place"} for x in asked["parts"])
    numbers = tuple(BODIES.ranks.number(CartLine(x["part"], x.get("place"))) for x in asked["parts"])
    on = date.fromisoformat(asked["on"]) if asked.get("on") else TODAY
    return CartLines(asked["bike"], numbers, on, asked.get("fitter", "shop"), BODIES.ranks)


@given(st.integers(0, 2**32))
def test_a_plain_body_is_read_as_json_reads_it(seed: int) -> None:
    body = plain(Random(seed))
    assert BODIES.read(body, lambda: TODAY) == read_by_json(body)


@given(st.integers(0, 2**32), st.integers(1, 3))
def test_a_spoilt_body_is_read_as_json_reads_it_or_not_at_all(seed: int, times: int) -> None:
    random = Random(seed)
    body = plain(random)
    for _ in range(times):
        body = spoilt(body, random)
    # What was read before must not make anything known that it does not stand for.
    for _ in range(2):
        read = BODIES.read(body, lambda: TODAY)
        assert read is None or read == read_by_json(body), body


def test_what_is_no_json_between_two_lines_is_not_read() -> None:
    line = json.dumps({"part": min(CATALOG.parts)}).encode()
    head = b'{"bike": "%b", "parts": [' % min(CATALOG.bikes).encode()
    assert BODIES.read(head + line + b"," + line + b"]}", lambda: TODAY) is not None
    for between in (b"", b",,", b";", b"\x0b,", b",\x0c", b"},", b",{"):
        assert BODIES.read(head + line + between + line + b"]}", lambda: TODAY) is None, between
    for around in ((b",", b""), (b"", b","), (b"[", b"]"), (b"", b" 1")):
        assert BODIES.read(head + around[0] + line + around[1] + b"]}", lambda: TODAY) is None, around
