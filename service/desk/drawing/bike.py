"""The drawing of a bike with its places, for one visit: what is new, what is there, what is free."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from string import ascii_uppercase
from textwrap import wrap
from typing import Literal

from markupsafe import Markup

from rules.catalog.catalog import Bike, Catalog
from service.desk.drawing.outline import ABOVE_HEIGHT, SIDE_HEIGHT, WIDTH, Looks, above, side
from service.desk.drawing.spots import Spot, spots
from service.desk.drawing.spread import spread
from service.desk.drawing.svg import INK, PAPER, Point, circle, group, line, picture, word
from service.desk.words import bike_name

State = Literal["new", "there", "free"]

STATES: Mapping[State, str] = {
    "new": "fitted at this visit",
    "there": "there already",
    "free": "nothing there",
}

LANE = 46
"""Height of the room above and below the side view in which places are named."""

LETTER = 7.4
"""Width of a letter of a name, roughly: wide enough that two names never touch."""

LETTERS = 15
"""Letters of a name on one line: longer names take two."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One place as it is marked: the letter in the circle, its name, and what is there."""

    letter: str
    place: str
    name: str
    state: State
    drawn: bool

    @property
    def says(self) -> str:
        """Say what the circle shows."""
        return STATES[self.state]


@dataclass(frozen=True, slots=True, kw_only=True)
class BikeDrawing:
    """Both views, and the marks in words."""

    side: Markup
    above: Markup
    marks: tuple[Mark, ...]

    @property
    def not_drawn(self) -> str:
        """Name the places that the drawing has no spot for; nothing where it has all."""
        left = ", ".join(f"{x.letter} {x.name} ({x.says})" for x in self.marks if not x.drawn)
        return f"Not on the drawing: {left}." if left else ""


def letters_of(bike: Bike, catalog: Catalog) -> dict[str, str]:
    """Give each place of a bike its letter, in the catalog's order of places: the same on every sheet."""
    places = [x for x in catalog.places if x in bike.has.places]
    ordered = sorted(places, key=lambda x: (x not in _ORDER, _ORDER.index(x) if x in _ORDER else 0, x))
    return {place: ascii_uppercase[at % 26] * (1 + at // 26) for at, place in enumerate(ordered)}


_ORDER = (
    "dash",
    "fairing_loom",
    "fairing_pods",
    "fairing_tray",
    "lowers",
    "battery",
    "left_case_tray",
    "lids",
    "rear_pods",
    "case_floor",
)
"""From front to back, as a person walks along the bike."""


def draw_bike(
    bike: Bike, catalog: Catalog, *, new: Iterable[str], there: Iterable[str], name: str
) -> BikeDrawing:
    """Draw a bike.

    Args:
        new: Places at which something is fitted at this visit.
        there: Places that hold something already.
        name: Marks the pictures in the page; no other drawing there may have it.
    """
    looks = Looks.of(bike)
    known = spots(looks)
    fresh, held = frozenset(new), frozenset(there)
    marks = tuple(
        Mark(
            letter=letter,
            place=place,
            name=catalog.places[place].name,
            state="new" if place in fresh else "there" if place in held else "free",
            drawn=place in known,
        )
        for place, letter in letters_of(bike, catalog).items()
    )
    drawn = tuple(x for x in marks if x.drawn)
    return BikeDrawing(
        side=_side(looks, drawn, known, f"{name}-side", bike),
        above=_above(looks, drawn, known, f"{name}-above", bike),
        marks=marks,
    )


def _side(looks: Looks, marks: tuple[Mark, ...], known: Mapping[str, Spot], name: str, bike: Bike) -> Markup:
    title = f"{bike_name(bike)} from its left side; the letters are explained in the table of positions"
    shift = LANE
    inside = [
        group(side(looks), transform=f"translate(0 {shift})", stroke_opacity=0.8),
        *_names(marks, known, shift),
        *(_circle(x, _moved(known[x.place].side, shift)) for x in marks),
    ]
    return picture(WIDTH, SIDE_HEIGHT + 2 * LANE + 4, title, inside, name=name)


def _above(looks: Looks, marks: tuple[Mark, ...], known: Mapping[str, Spot], name: str, bike: Bike) -> Markup:
    title = f"{bike_name(bike)} from above; it faces left, so its left side is at the bottom"
    inside = [
        group(above(looks), stroke_opacity=0.8),
        *(_circle(x, at) for x in marks for at in known[x.place].above),
        *(
            word((WIDTH - 14, y), told, font_size=13, text_anchor="end", stroke="none", font_style="italic")
            for y, told in ((24, "right"), (ABOVE_HEIGHT - 14, "left"))
        ),
    ]
    return picture(WIDTH, ABOVE_HEIGHT, title, inside, name=name)


def _moved(at: Point, down: float) -> Point:
    return at[0], at[1] + down


def _circle(mark: Mark, at: Point) -> Markup:
    new = mark.state == "new"
    return group(
        [
            circle(
                at,
                12,
                fill=INK if new else PAPER,
                class_="ink" if new else "paper",
                stroke_width=1.5,
                stroke_dasharray="3 3" if mark.state == "free" else None,
            ),
            word(
                (at[0], at[1] + 5.2),
                mark.letter,
                font_size=15,
                font_weight="bold",
                text_anchor="middle",
                stroke="none",
                fill=PAPER if new else INK,
                class_="paper" if new else "ink",
            ),
        ]
    )


# --- names ----------------------------------------------------------------------------------------------------------


def _names(marks: tuple[Mark, ...], known: Mapping[str, Spot], shift: float) -> Iterator[Markup]:
    """Name the places: those of the upper half above, the others below, in their order from front to back."""
    upper = [x for x in marks if known[x.place].side[1] < SIDE_HEIGHT * 0.44]
    lower = [x for x in marks if x not in upper]
    foot = SIDE_HEIGHT + LANE + 14.0
    for held, y, knee in ((upper, 16.0, 38.0), (lower, foot + 16, foot)):
        ordered = sorted(held, key=lambda x: known[x.place].side[0])
        for mark, x in zip(ordered, _apart(ordered, known), strict=True):
            at = _moved(known[mark.place].side, shift)
            lines = _lines(mark.name)
            first = y if held is lower else y + LINE * (2 - len(lines))
            yield line(((x, knee), at), stroke_width=0.8, stroke_opacity=0.7, class_="words")
            yield from (_name(told, x, first + LINE * row) for row, told in enumerate(lines))


LINE = 16.0
"""From one line of a name to the next."""


def _name(told: str, x: float, y: float) -> Markup:
    return word((x, y), told, font_size=14, text_anchor="middle", stroke="none", class_="ink words")


def _lines(name: str) -> list[str]:
    """Break a long name into two lines as even as they go."""
    return wrap(name, max(LETTERS, len(name) // 2 + 2))[:2]


def _apart(marks: list[Mark], known: Mapping[str, Spot]) -> list[float]:
    """Give each name its middle: as near its place as its neighbours and the edge allow."""
    wide = [max(map(len, _lines(x.name))) * LETTER + 12 for x in marks]
    return spread([known[x.place].side[0] for x in marks], wide, WIDTH)
