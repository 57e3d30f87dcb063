"""The bike itself as lines, seen from its left side and from above. It faces left, so that its left side is seen.

Both views share their x. What a bike has decides what is drawn: where its fairing hangs, how it is cooled, whether it has side
cases, lowers and a top case. It is a sketch to point at, and to no scale.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from rules.catalog.catalog import Bike
from service.desk.drawing.svg import body, circle, line, stroke

WIDTH = 700
SIDE_HEIGHT = 360
ABOVE_HEIGHT = 250
MIDDLE = 125.0
"""Middle line of the bike seen from above."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """What of a bike is drawn."""

    fork_fairing: bool
    liquid: bool
    side_cases: bool
    lowers: bool
    top_case: bool
    battery_x: float

    @classmethod
    def of(cls, bike: Bike) -> Looks:
        """Read it from a bike's facts."""
        places = bike.has.places
        return cls(
            fork_fairing=bike.mount == "fork",
            liquid=bike.cooling == "liquid",
            side_cases="lids" in places or "left_case_tray" in places,
            lowers="lowers" in places,
            top_case="case_floor" in places or _has_top_case(bike),
            battery_x=_battery_x(bike),
        )


def _has_top_case(bike: Bike) -> bool:
    """Tell whether the rear pods sit at a top case; a bike of which nobody recorded that is drawn without."""
    rears = bike.has.places.get("rear_pods")
    return rears is not None and rears.geometry.get("pod_maker") == "top_case"


def _battery_x(bike: Bike) -> float:
    """Put the battery as far back as its lead is long [m]; in the middle where nobody measured it."""
    battery = bike.has.places.get("battery")
    run = battery.geometry.get("run_m") if battery else None
    metres = float(run) if isinstance(run, int | float) else 1.8
    return min(max(395 + (metres - 1.6) * 95, 385), 470)


def side(looks: Looks) -> Iterator[Markup]:
    """Draw the left side."""
    yield stroke("M20 338 H680", stroke_width=1, stroke_opacity=0.45)
    yield from _wheel((140, 268), 68)
    yield from _wheel((560, 270), 66)
    yield stroke("M146 268 L214 108 M157 270 L224 112", stroke_width=1.5)
    yield body("M70 236 C84 190 132 176 176 190 L208 236 C190 204 160 194 138 194 C112 194 90 208 70 236 Z")
    yield from _engine(looks)
    yield stroke("M318 296 C380 306 420 300 470 300")
    yield body("M440 292 H624 L634 300 L624 312 H440 Z")
    yield body("M536 196 C590 180 640 202 654 262 L644 266 C628 220 596 204 536 214 Z")
    yield stroke("M300 142 L318 250 M318 250 L404 262 L430 190 M404 262 L548 268")
    yield body("M268 150 C286 122 318 112 352 118 C382 122 402 138 414 158 C380 172 318 176 282 174 Z")
    yield body(
        "M408 158 C424 180 456 182 480 164 C492 146 540 144 566 154 L560 186 C520 198 448 204 416 190 Z"
    )
    if looks.side_cases:
        yield body("M500 190 H632 C644 214 648 250 644 272 L508 274 C498 250 496 214 500 190 Z")
        yield stroke("M498 212 H640", stroke_width=1)
        yield stroke("M552 212 v8 h34 v-8", stroke_width=1)
    if looks.top_case:
        yield body("M522 96 C524 84 530 80 542 80 H634 C648 80 654 90 654 104 L650 150 H520 Z")
        yield stroke("M522 104 H653", stroke_width=1)
        yield body("M500 92 C506 84 518 84 520 94 L518 150 H504 Z")
    else:
        yield stroke("M540 154 C580 138 622 140 644 156 M560 152 V168 M630 148 V176", stroke_width=1.5)
    if looks.lowers:
        yield body("M226 206 C248 198 262 204 264 218 L270 262 C262 280 244 284 236 274 Z")
    yield from _fairing(looks)
    yield stroke("M236 108 C258 96 280 98 304 104", stroke_width=3)
    yield body(f"M{looks.battery_x - 17:.0f} 204 h34 v30 h-34 Z", stroke_dasharray="4 3")


def _wheel(at: tuple[float, float], radius: float) -> Iterator[Markup]:
    yield circle(at, radius, stroke_width=2)
    yield circle(at, radius - 18)
    yield circle(at, 9)


def _engine(looks: Looks) -> Iterator[Markup]:
    yield body(
        "M286 262 C286 236 306 226 334 226 C368 226 392 238 392 264 C392 292 366 300 334 300 C304 300 286 288 286 262 Z"
    )
    yield circle((334, 264), 20, stroke_width=1)
    if looks.liquid:
        yield body("M284 180 H396 L388 228 H294 Z")
        yield stroke("M298 196 H386 M300 210 H384", stroke_width=1)
        yield body("M262 184 L276 182 L282 246 L268 248 Z")
        yield stroke("M265 194 l11 -1 M266 206 l11 -1 M267 218 l11 -1 M268 230 l12 -1", stroke_width=1)
        return
    yield body("M288 184 L318 176 L334 226 L304 236 Z")
    yield stroke("M290 192 l30 -8 M293 202 l30 -8 M296 212 l30 -8 M299 222 l30 -8", stroke_width=1)
    yield body("M350 176 L380 184 L366 236 L336 226 Z")
    yield stroke("M348 184 l30 8 M345 194 l30 8 M342 204 l30 8 M339 214 l30 8", stroke_width=1)


def _fairing(looks: Looks) -> Iterator[Markup]:
    if looks.fork_fairing:
        yield body(
            "M150 128 C154 100 176 88 204 84 L254 92 C264 104 266 122 258 142"
            " C236 158 186 162 160 152 C152 146 149 138 150 128 Z"
        )
        yield stroke("M196 84 C206 60 222 44 244 34 C250 54 252 74 250 91")
        yield circle((166, 128), 15)
        return
    yield body(
        "M126 142 C136 108 166 90 204 84 L262 94 C272 108 274 134 268 158 L258 204 C240 200 222 190 206 172 L150 162 Z"
    )
    yield stroke("M196 84 C206 60 222 44 244 34 C252 54 258 76 258 93")
    yield body("M138 138 C150 124 168 120 182 124 L172 146 C160 148 146 146 138 138 Z")


def above(looks: Looks) -> Iterator[Markup]:
    """Draw it from above."""
    yield body("M72 117 C76 112 204 112 208 117 V133 C204 138 76 138 72 133 Z")
    yield body("M494 115 C500 110 622 110 628 115 V135 C622 140 500 140 494 135 Z")
    if looks.lowers:
        for way in (-1, 1):
            near, far = MIDDLE + way * 34, MIDDLE + way * 66
            yield body(f"M238 {near:.0f} H282 L276 {far:.0f} H246 Z")
    if looks.side_cases:
        for way in (-1, 1):
            near, far = MIDDLE + way * 40, MIDDLE + way * 88
            yield body(
                f"M500 {near:.0f} H640 V{far - way * 14:.0f} C636 {far:.0f} 632 {far:.0f} 624 {far:.0f}"
                f" H514 C502 {far:.0f} 500 {far - way * 8:.0f} 500 {near:.0f} Z"
            )
    yield body(
        "M268 125 C276 92 320 86 360 94 C388 100 406 112 414 125 C406 138 388 150 360 156 C320 164 276 158 268 125 Z"
    )
    yield body(
        "M404 125 C410 92 452 88 482 98 C520 92 560 96 566 125 C560 154 520 158 482 152 C452 162 410 158 404 125 Z"
    )
    if looks.top_case:
        yield body("M520 66 H644 C654 66 656 74 656 84 V166 C656 176 654 184 644 184 H520 Z")
        yield stroke("M532 66 V184", stroke_width=1)
    else:
        yield stroke("M566 96 H644 V154 H566 M566 115 H644 M566 135 H644", stroke_width=1.5)
    yield line(((236, 42), (244, 60), (258, 92), (258, 158), (244, 190), (236, 208)), stroke_width=3)
    yield from _fairing_above(looks)
    yield body(f"M{looks.battery_x - 16:.0f} 113 h32 v24 h-32 Z", stroke_dasharray="4 3")


def _fairing_above(looks: Looks) -> Iterator[Markup]:
    half, nose = (64, 152) if looks.fork_fairing else (74, 128)
    top, foot = MIDDLE - half, MIDDLE + half
    yield body(
        f"M{nose} 125 C{nose + 4} {top + 22:.0f} {nose + 30} {top:.0f} 222 {top:.0f} L256 {top + 16:.0f}"
        f" C240 {top + 34:.0f} 236 108 236 125 C236 142 240 {foot - 34:.0f} 256 {foot - 16:.0f} L222 {foot:.0f}"
        f" C{nose + 30} {foot:.0f} {nose + 4} {foot - 22:.0f} {nose} 125 Z"
    )
    yield stroke(f"M196 {top + 12:.0f} C176 108 176 142 196 {foot - 12:.0f}", stroke_width=1)
