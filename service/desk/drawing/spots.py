"""Where on the drawing each place is. A place that is not listed here is named under the drawing instead."""

from __future__ import annotations

from dataclasses import dataclass

from service.desk.drawing.outline import MIDDLE, Looks
from service.desk.drawing.svg import Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One place on the drawing: seen from the side, and from above once or, for a pair, left and right."""

    side: Point
    above: tuple[Point, ...]


def spots(looks: Looks) -> dict[str, Spot]:
    """Give the spots of a bike."""
    rear = (512, 122) if looks.top_case else (596, 134)
    return {
        "dash": Spot(side=(232, 76), above=((244, MIDDLE),)),
        "fairing_loom": Spot(side=(206, 112), above=((212, MIDDLE),)),
        "fairing_pods": Spot(side=(250, 128), above=_pair(220, 46)),
        "fairing_tray": Spot(side=(188, 146), above=((178, MIDDLE),)),
        "lowers": Spot(side=(250, 246), above=_pair(261, 56)),
        "battery": Spot(side=(looks.battery_x, 219), above=((looks.battery_x, MIDDLE),)),
        "rear_pods": Spot(side=rear, above=_pair(rear[0] + 12, 44 if looks.top_case else 26)),
        "case_floor": Spot(side=(606, 130), above=((606, MIDDLE),)),
        "lids": Spot(side=(606, 201), above=_pair(606, 72)),
        "left_case_tray": Spot(side=(540, 248), above=((546, MIDDLE + 64),)),
    }


def _pair(x: float, off: float) -> tuple[Point, ...]:
    return (x, MIDDLE + off), (x, MIDDLE - off)
