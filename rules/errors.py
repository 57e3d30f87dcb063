"""Mistakes that a caller can make. Expected answers (does not fit, no path) are values, never raised."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


class LoomwayError(Exception):
    """Base of everything that a caller can cause."""


class UnknownId(LoomwayError):  # noqa: N818 - named for what the caller did
    """A question names something that the catalog does not have. `nearest` are ids that look alike.

    Attributes:
        what: bike, part or place.
        nearest: At most three, best first.
    """

    what = "thing"

    def __init__(self, asked: str, known: Iterable[str]) -> None:
        self.asked = asked
        self.nearest = tuple(get_close_matches(asked, list(known), n=3, cutoff=0.6))
        super().__init__(f"the catalog has no such {self.what}")


class UnknownBike(UnknownId):
    """No bike of this id."""

    what = "bike"


class UnknownPart(UnknownId):
    """No part of this id."""

    what = "part"


class UnknownPlace(UnknownId):
    """No place of this id."""

    what = "place"


class UnknownCalculation(UnknownId):
    """No calculation of this id."""

    what = "calculation"


class PlanRefused(Exception):  # noqa: N818 - likewise
    """A plan was made that does not hold when it is checked anew: a fault of ours, so no plan is given.

    `faults` say in which visit which clause of the definitions is broken; they are for the log, not for the caller.
    """

    def __init__(self, faults: Iterable[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("the plan that was made does not hold: " + "; ".join(self.faults))


class MalformedQuestion(LoomwayError):  # noqa: N818 - likewise
    """A question that contradicts itself. `field` is the place of the fault, `cure` what to do."""

    def __init__(self, field: str, message: str, cure: str) -> None:
        self.field = field
        self.cure = cure
        super().__init__(message)
