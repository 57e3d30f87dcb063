"""The wiring as a diagram: the head unit on top, the speakers at the bottom, and every joint with its number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from textwrap import wrap

from markupsafe import Markup

from rules.bench import Bench
from rules.build import Placement
from rules.net import LOOM, Node
from service.desk.drawing.layers import Rows, arrange, rows_of
from service.desk.drawing.svg import INK, PAPER, Point, element, group, picture, stroke, word
from service.desk.wiring import BIKE_WIRES, Joint, Plugged, short_name, words_of

WIDTH = 760.0
BOX = 150.0
GAP = 16.0
ROW_GAP = 46.0
LETTER = 7.9
LINE = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """One thing with plugs: a part, or some plugs of the bike's own wiring that lie together."""

    key: str
    title: tuple[str, ...]
    notes: tuple[str, ...]
    is_new: bool

    @property
    def height(self) -> float:
        """Give its height."""
        return 12 + LINE * (len(self.title) + len(self.notes))


def draw_wires(told: Plugged, bench: Bench, new: frozenset[Placement], *, name: str) -> Markup:
    """Draw the wiring of a bike after a visit.

    Args:
        new: What is fitted at the visit.
        name: Marks the picture in the page.
    """
    return _Diagram(told, bench, new).draw(name)


class _Diagram:
    def __init__(self, told: Plugged, bench: Bench, new: frozenset[Placement]) -> None:
        self.told, self.bench, self.new = told, bench, new
        self.of: dict[Node, str] = {}
        for joint in told.joints:
            for node, facing in (joint.mate, joint.mate[::-1]):
                self.of[node] = self._key(node, facing)
        self.inside = tuple(self._inside())

    def draw(self, name: str) -> Markup:
        keys = tuple(dict.fromkeys(self.of.values()))
        joined = self._joined()
        lines = [*joined, *self.inside]
        row = rows_of(keys, lines, self._owners("head_unit") or keys[:1], self._owners("speaker"))
        most = max((list(row.values()).count(x) for x in row.values()), default=1)
        width = min(BOX, (WIDTH - GAP * most) / most)
        boxes = {key: self._box(key, width) for key in keys}
        rows = arrange(row, lines, dict.fromkeys(keys, width + GAP), WIDTH)
        tops, height = _tops(rows, boxes)
        drawn = [
            *(self._inside_line(x, rows, boxes, tops, row) for x in self.inside),
            *(
                y
                for pair, joints in joined.items()
                for y in _joint_line(pair, joints, rows, boxes, tops, row)
            ),
            *(_drawn(x, rows.middle[x.key], tops[row[x.key]], width) for x in boxes.values()),
            *(x for pair, joints in joined.items() for x in _number(pair, joints, rows, boxes, tops, row)),
        ]
        title = "What is plugged into what, from the head unit down to the speakers; the numbers are those of the table"
        left, wide = _extent(rows, width)
        return picture(wide, height, title, [group(drawn, transform=f"translate({-left:.1f} 0)")], name=name)

    # --- boxes ---

    def _key(self, node: Node, facing: Node) -> str:
        """Keep the bike's plugs apart that lead to different things: together they would tie everything into one knot."""
        return f"loom {facing.owner}" if node.owner == LOOM else str(node.owner)

    def _owners(self, kind: str) -> tuple[str, ...]:
        found = (x.owner for x in self.of if x.owner != LOOM)
        return tuple(dict.fromkeys(str(x) for x in found if self.bench.part(x).kind == kind))

    def _box(self, key: str, width: float) -> Box:
        nodes = [x for x, box in self.of.items() if box == key]
        owner = nodes[0].owner
        if owner == LOOM:
            plugs = dict.fromkeys(self._plug(x) for x in nodes)
            return Box(
                key=key,
                title=_broken(BIKE_WIRES, width),
                notes=_broken(", ".join(plugs), width),
                is_new=False,
            )
        catalog = self.bench.tables.catalog
        place = catalog.places[owner.place]
        part = catalog.parts[owner.part]
        notes = [place.zone or place.name] if part.kind == "speaker" else [place.name]
        notes += self._fed(owner)
        return Box(
            key=key,
            title=_broken(short_name(part.name), width),
            notes=tuple(y for x in notes for y in _broken(x, width)),
            is_new=owner in self.new,
        )

    def _plug(self, node: Node) -> str:
        return self.bench.loom.connectors[node.connector].name or words_of(node.connector)

    def _fed(self, owner: Placement) -> Iterator[str]:
        place = self.bench.tables.catalog.places[owner.place]
        name = short_name(self.bench.tables.catalog.parts[owner.part].name)
        for feed in self.told.feeds:
            if (feed.zone, feed.speaker) == (place.zone or place.name, name):
                yield f"{feed.side}: {feed.channel}" if feed.side else feed.channel

    # --- lines ---

    def _joined(self) -> dict[tuple[str, str], list[Joint]]:
        found: dict[tuple[str, str], list[Joint]] = {}
        for joint in self.told.joints:
            one, other = sorted(self.of[x] for x in joint.mate)
            found.setdefault((one, other), []).append(joint)
        return found

    def _inside(self) -> Iterator[tuple[str, str]]:
        """Give which of the bike's plugs its own wires lead to which."""
        loom = {x.connector: box for x, box in self.of.items() if x.owner == LOOM}
        pairs = {
            tuple(sorted((end.split(".")[0], start.split(".")[0])))
            for end, start in self.bench.bike.has.loom.links.items()
        }
        for one, other in sorted(pairs):
            if one in loom and other in loom and loom[one] != loom[other]:
                yield loom[one], loom[other]

    def _inside_line(
        self,
        pair: tuple[str, str],
        rows: Rows,
        boxes: Mapping[str, Box],
        tops: list[float],
        row: Mapping[str, int],
    ) -> Markup:
        return stroke(_way(pair, rows, boxes, tops, row), stroke_dasharray="5 4", stroke_opacity=0.7)


def _broken(text: str, width: float) -> tuple[str, ...]:
    return tuple(wrap(text, max(8, int(width / LETTER)), break_long_words=False))


def _tops(rows: Rows, boxes: Mapping[str, Box]) -> tuple[list[float], float]:
    """Give each row its top, and the whole its height."""
    tops, y = [], 6.0
    for row in rows.order:
        tops.append(y)
        y += max((boxes[x].height for x in row if x in boxes), default=0) + ROW_GAP
    return tops, y - ROW_GAP + 8


def _extent(rows: Rows, width: float) -> tuple[float, float]:
    """Give where the picture begins and how wide it is: no wider than what is on it."""
    left, right = min(rows.middle.values()), max(rows.middle.values())
    return left - width / 2 - 4, right - left + width + 8


def _points(
    pair: tuple[str, str], rows: Rows, boxes: Mapping[str, Box], tops: list[float], row: Mapping[str, int]
) -> list[Point]:
    upper, lower = sorted(pair, key=lambda x: row[x])
    if row[upper] == row[lower]:
        y = tops[row[upper]] + 16
        return [(rows.middle[upper], y), (rows.middle[lower], y)]
    start = (_foot(upper, lower, rows), tops[row[upper]] + boxes[upper].height)
    found = [start]
    for name in rows.threads.get((upper, lower), []):
        top = tops[int(name.rsplit("|", 1)[1])]
        found += [(rows.middle[name], top - 6), (rows.middle[name], top + 30)]
    return [*found, (_foot(lower, upper, rows), tops[row[lower]])]


def _foot(box: str, to: str, rows: Rows) -> float:
    """Let a line leave its box on the side that it goes to."""
    return rows.middle[box] + max(-40.0, min(40.0, (rows.middle[to] - rows.middle[box]) * 0.25))


def _way(
    pair: tuple[str, str], rows: Rows, boxes: Mapping[str, Box], tops: list[float], row: Mapping[str, int]
) -> str:
    """Draw a line that leaves and comes in upright."""
    points = _points(pair, rows, boxes, tops, row)
    told = f"M{points[0][0]:.1f} {points[0][1]:.1f}"
    for (x1, y1), (x2, y2) in pairwise(points):
        bend = (y2 - y1) / 2
        told += f" C{x1:.1f} {y1 + bend:.1f} {x2:.1f} {y2 - bend:.1f} {x2:.1f} {y2:.1f}"
    return told


def _joint_line(
    pair: tuple[str, str],
    joints: list[Joint],
    rows: Rows,
    boxes: Mapping[str, Box],
    tops: list[float],
    row: Mapping[str, int],
) -> Iterator[Markup]:
    new = any(x.is_new for x in joints)
    yield stroke(_way(pair, rows, boxes, tops, row), stroke_width=2.4 if new else 1.2)


def _number(
    pair: tuple[str, str],
    joints: list[Joint],
    rows: Rows,
    boxes: Mapping[str, Box],
    tops: list[float],
    row: Mapping[str, int],
) -> Iterator[Markup]:
    points = _points(pair, rows, boxes, tops, row)
    (x1, y1), (x2, y2) = points[-2:]
    at = ((x1 + x2) / 2, (y1 + y2) / 2)
    told = " ".join(str(x.number) for x in joints)
    new = any(x.is_new for x in joints)
    half = 6 + 3.9 * len(told)
    yield element(
        "rect",
        x=at[0] - half,
        y=at[1] - 9.5,
        width=2 * half,
        height=19,
        rx=9.5,
        fill=INK if new else PAPER,
        class_="ink" if new else "paper",
        stroke_width=1.2,
    )
    yield word(
        (at[0], at[1] + 4.4),
        told,
        font_size=12.5,
        text_anchor="middle",
        stroke="none",
        fill=PAPER if new else INK,
        class_="paper" if new else "ink",
    )


def _drawn(box: Box, x: float, top: float, width: float) -> Markup:
    left = x - width / 2
    lines = [
        element(
            "rect",
            x=left,
            y=top,
            width=width,
            height=box.height,
            rx=3,
            fill=PAPER,
            class_="paper",
            stroke_width=2.6 if box.is_new else 1.2,
            stroke_dasharray="5 4" if box.key.startswith("loom ") else None,
        )
    ]
    for at, told in enumerate((*box.title, *box.notes)):
        heading = at < len(box.title)
        lines.append(
            word(
                (x, top + 18 + LINE * at),
                told,
                font_size=12.5 if heading else 12,
                font_weight="bold" if heading else None,
                text_anchor="middle",
                stroke="none",
            )
        )
    return group(lines)
