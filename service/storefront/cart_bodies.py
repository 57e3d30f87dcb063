"""Bodies that ask about plain carts.

A shop writes all its bodies alike, so a body is cut at its brackets, and each cut is read as JSON when it is first seen: what
stands around the lines, and each line. A cut that is no JSON by itself, or not plain, is never known, and its cart goes to the
framework. So nothing is read here that JSON would read otherwise.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, NamedTuple

from pydantic_core import from_json

from rules.question import CartLines, Fitter
from rules.ranks import CartLine, Ranks
from service.storefront.encoded import Encoded
from service.storefront.reading import FITTERS, read_day

MOST_PARTS = 100
"""As `service.shapes` has it."""

_BLANK = b" \t\r\n"
"""What JSON has between its words (RFC 8259, section 2)."""

_CART, _LINE = frozenset({"bike", "parts", "on", "fitter"}), frozenset({"part", "place"})


class Frame(NamedTuple):
    """A cart without its lines; without a day it is meant for today."""

    bike: str
    on: date | None
    fitter: Fitter


class NotPlain(Exception):  # noqa: N818 -- no error: the framework looks at it
    """There is something about a cart that the framework should look at."""


class CartBodies:
    """Reads bodies that ask about plain carts of one catalog."""

    def __init__(self, ranks: Ranks) -> None:
        self.ranks = ranks
        self._frames: Encoded[tuple[bytes, bytes], Frame] = Encoded()
        self._numbers: Encoded[bytes, int] = Encoded()

    def read(self, body: bytes, today: Callable[[], date]) -> CartLines | None:
        """Read a body; None if there is anything about it that the framework should look at."""
        head, _, rest = body.partition(b"[")
        within, _, tail = rest.rpartition(b"]")
        cuts = (b"," + within).split(b"}")
        if cuts.pop().strip(_BLANK) or not 1 <= len(cuts) <= MOST_PARTS:
            return None
        try:
            frame = self._frames.of((head, tail), _frame)
            numbers = self._numbers.all(cuts, self._number)
        except NotPlain:
            return None
        return CartLines(frame.bike, tuple(numbers), frame.on or today(), frame.fitter, self.ranks)

    def _number(self, cut: bytes) -> int:
        comma, line = cut.lstrip(_BLANK)[:1], cut.lstrip(_BLANK)[1:]
        asked = _read(line + b"}")
        if comma != b"," or not asked.keys() <= _LINE:
            raise NotPlain
        part, place = asked.get("part"), asked.get("place")
        if type(part) is not str or not (place is None or type(place) is str):
            raise NotPlain
        try:
            return self.ranks.number(CartLine(part, place))
        except KeyError:
            raise NotPlain from None


def _frame(ends: tuple[bytes, bytes]) -> Frame:
    head, tail = ends
    asked = _read(head + b"[]" + tail)
    if not asked.keys() <= _CART or asked.get("parts") != []:
        raise NotPlain
    bike, fitter, written = asked.get("bike"), asked.get("fitter", "shop"), asked.get("on")
    on = read_day(written) if type(written) is str else None
    if type(bike) is not str or fitter not in FITTERS or (on is None and written is not None):
        raise NotPlain
    return Frame(bike, on, fitter)


def _read(text: bytes) -> dict[str, Any]:
    try:
        read = from_json(text)
    except ValueError:
        raise NotPlain from None
    if type(read) is not dict:
        raise NotPlain
    return read
