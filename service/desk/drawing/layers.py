"""Boxes in rows, so that what is joined stands near: each row as far from the head unit as it takes plugs to get there."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TypeVar

from service.desk.drawing.spread import spread

Key = TypeVar("Key", bound=Hashable)

SWEEPS = 6
"""How often rows are put in the order of their neighbours: more change nothing on a bike."""

THREAD = 18.0
"""Room for a line that passes through a row."""


@dataclass
class Rows:
    """Boxes by row, with the threads of lines that pass through.

    Attributes:
        order: Of each row the names, boxes and threads, from left to right.
        middle: Of each name its x.
        threads: Of a line that skips rows the names of its threads, from top to bottom.
    """

    order: list[list[str]] = field(default_factory=list)
    middle: dict[str, float] = field(default_factory=dict)
    threads: dict[tuple[str, str], list[str]] = field(default_factory=dict)


def rows_of(
    boxes: Sequence[str], lines: Iterable[tuple[str, str]], first: Iterable[str], last: Iterable[str]
) -> dict[str, int]:
    """Give each box its row: as many lines as lead to it from the first ones, and the last ones all at the bottom."""
    near: dict[str, list[str]] = {x: [] for x in boxes}
    for one, other in lines:
        near[one].append(other)
        near[other].append(one)
    row = dict.fromkeys(first, 0)
    ahead = list(row)
    while ahead:
        here = ahead.pop(0)
        for there in near[here]:
            if there not in row:
                row[there] = row[here] + 1
                ahead.append(there)
    deepest = max(row.values(), default=0)
    for box in boxes:
        row.setdefault(box, deepest)
    for box in last:
        row[box] = max(deepest, 1)
    return row


def arrange(
    rows: Mapping[str, int], lines: Iterable[tuple[str, str]], widths: Mapping[str, float], room: float
) -> Rows:
    """Put rows in order and boxes in their places."""
    found = Rows(order=[[] for _ in range(max(rows.values(), default=0) + 1)])
    for box, at in rows.items():
        found.order[at].append(box)
    near: dict[str, list[str]] = {x: [] for x in rows}
    for one, other in lines:
        upper, lower = sorted((one, other), key=lambda x: rows[x])
        way = [upper, *_threads(found, upper, lower, rows), lower]
        for above, below in pairwise(way):
            near.setdefault(above, []).append(below)
            near.setdefault(below, []).append(above)
    for row in found.order:
        found.middle.update(_evenly(row, widths, room))
    for sweep in range(SWEEPS):
        for row in found.order if sweep % 2 == 0 else reversed(found.order):
            _settle(row, near, found.middle, widths, room)
    return found


def _threads(found: Rows, upper: str, lower: str, rows: Mapping[str, int]) -> list[str]:
    names = []
    for row in range(rows[upper] + 1, rows[lower]):
        name = f"{upper}|{lower}|{row}"
        if name not in found.order[row]:
            found.order[row].append(name)
        names.append(name)
    found.threads[upper, lower] = names
    return names


def _evenly(row: Sequence[str], widths: Mapping[str, float], room: float) -> dict[str, float]:
    step = room / (len(row) or 1)
    middles = spread(
        [step * (at + 0.5) for at in range(len(row))], [widths.get(x, THREAD) for x in row], room
    )
    return dict(zip(row, middles, strict=True))


def _settle(
    row: list[str],
    near: Mapping[str, list[str]],
    middle: dict[str, float],
    widths: Mapping[str, float],
    room: float,
) -> None:
    """Move each of a row under the middle of what it is joined to, and let them make room for one another."""
    wanted = {x: sum(middle[y] for y in near[x]) / len(near[x]) if near.get(x) else middle[x] for x in row}
    row.sort(key=lambda x: (wanted[x], x))
    wide = [widths.get(x, THREAD) for x in row]
    middle.update(zip(row, _balanced([wanted[x] for x in row], wide, room), strict=True))


def _balanced(wanted: Sequence[float], wide: Sequence[float], room: float) -> list[float]:
    """Push to neither side more than to the other."""
    right = spread(wanted, wide, room)
    left = [
        room - x for x in reversed(spread([room - x for x in reversed(wanted)], list(reversed(wide)), room))
    ]
    return [(x + y) / 2 for x, y in zip(left, right, strict=True)]
