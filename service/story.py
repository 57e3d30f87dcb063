"""The demo's rider, in ids of the demo catalog: what is wanted, over which visits, and the next bike."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rules.catalog.catalog import Catalog
from rules.question import CarryOverQuestion, FitQuestion, PathQuestion, Stage, Want

TODAY = date(2026, 5, 4)
BIKE = "gadwall-2018-grand"
NEXT_BIKE = "gadwall-2023-regent"
KIND_LOOKED_AT = "speaker"
PLACE_LOOKED_AT = "rear_pods"
REFUSED = FitQuestion(bike=BIKE, part="tern-65", place=PLACE_LOOKED_AT, on=TODAY)
PATH = PathQuestion(
    bike=BIKE,
    stages=(Stage(on=TODAY, budget=30_000), Stage(on=date(2027, 4, 5), budget=160_000)),
    wants=(
        Want(parts=("tern-65",), place="fairing_pods", by=1),
        Want(parts=("fulmar-4",)),
        Want(parts=("tern-52",), place="rear_pods"),
    ),
)
CARRY_OVER = CarryOverQuestion(bike=BIKE, next_bike=NEXT_BIKE, on=date(2029, 4, 2))


def looked_at(catalog: Catalog) -> Iterator[FitQuestion]:
    """Ask about every part on the shelf that the rider looks at, at the place that the rider means."""
    for part in catalog.parts.values():
        if part.kind == KIND_LOOKED_AT and not part.stock_only and PLACE_LOOKED_AT in part.at:
            yield FitQuestion(bike=BIKE, part=part.id, place=PLACE_LOOKED_AT, on=TODAY)
