"""The visits along time, as far apart as their days, each as tall as what is spent on it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from service.desk.drawing.spread import spread
from service.desk.drawing.svg import INK, element, line, picture, stroke, word
from service.desk.words import day

WIDTH = 700.0
LABEL = 170.0
FOOT = 158.0
TALLEST = 92.0
BAR = 26.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One visit: its day, what is spent [minor units], and the same in words with the sum so far."""

    on: date
    amount: int
    told: str
    so_far: str
    says: str


def draw_timeline(moments: Sequence[Moment], currency: str, *, name: str) -> Markup:
    """Draw the visits along time.

    Args:
        name: Marks the picture in the page.
    """
    told = "; ".join(f"{day(x.on)} {x.told}, so far {x.so_far}" for x in moments)
    title = f"Visits along time, spent in {currency}: {told}"
    drawn = [
        line(((8, FOOT), (WIDTH - 8, FOOT)), stroke_width=1),
        stroke(f"M{WIDTH - 14} {FOOT - 5} l7 5 l-7 5", stroke_width=1),
        *(
            y
            for x, moment in zip(_middles(moments), moments, strict=True)
            for y in _moment(x, moment, moments)
        ),
    ]
    return picture(WIDTH, FOOT + 58, title, drawn, name=name)


def _middles(moments: Sequence[Moment]) -> list[float]:
    """Put each visit where its day is, as far as the labels leave room."""
    first, last = moments[0].on, moments[-1].on
    days = max((last - first).days, 1)
    room = WIDTH - LABEL
    wanted = [LABEL / 2 + room * (x.on - first).days / days for x in moments]
    width = min(LABEL, WIDTH / len(moments))
    return spread(wanted, [width] * len(moments), WIDTH)


def _moment(x: float, moment: Moment, moments: Sequence[Moment]) -> Iterator[Markup]:
    most = max(y.amount for y in moments) or 1
    tall = max(TALLEST * moment.amount / most, 2)
    yield element(
        "rect",
        x=x - BAR / 2,
        y=FOOT - tall,
        width=BAR,
        height=tall,
        fill=INK,
        fill_opacity=0.22,
        stroke_width=1.2,
    )
    texts = (
        (FOOT - tall - 8, moment.told, 15, "bold"),
        (FOOT + 20, day(moment.on), 14, None),
        (FOOT + 37, moment.says, 12, None),
        (FOOT + 53, f"so far {moment.so_far}", 12, None),
    )
    for y, told, size, weight in texts:
        yield word((x, y), told, font_size=size, font_weight=weight, text_anchor="middle", stroke="none")
