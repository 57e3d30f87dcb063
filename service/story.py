"""The demo's rider: who comes in, what is wanted, and over which visits. Ids of the demo catalog."""

from __future__ import annotations

from datetime import date

from rules.question import CarryOverQuestion, FitQuestion, PathQuestion, Stage, Want

TODAY = date(2026, 5, 4)
BIKE = "gadwall-2018-grand"
NEXT_BIKE = "pochard-2022-voyage"
KIND_LOOKED_AT = "speaker"
PLACE_LOOKED_AT = "fairing_pods"
REFUSED = FitQuestion(bike=BIKE, part="tern-65", place=PLACE_LOOKED_AT, on=TODAY)
PATH = PathQuestion(
    bike=BIKE,
    stages=(Stage(on=TODAY, budget=120_000), Stage(on=date(2027, 4, 5)), Stage(on=date(2028, 4, 3))),
    wants=(
        Want(parts=("fulmar-4",), place="fairing_tray"),
        Want(parts=("tern-52",), place="fairing_pods", by=1),
        Want(parts=("tern-52",), place="rear_pods"),
    ),
)
CARRY_OVER = CarryOverQuestion(bike=BIKE, next_bike=NEXT_BIKE, on=date(2029, 4, 2))
