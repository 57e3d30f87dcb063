"""What is left of each mass limit of the bike."""

from __future__ import annotations

from collections.abc import Iterator

from rules.catalog.rule import MassLimit
from rules.figures.figure import Known, VisitFigure, figure
from rules.figures.ridden import Ridden, together
from rules.scene import number
from rules.tables import rules_of_kind


def mass_figures(ridden: Ridden) -> Iterator[VisitFigure]:
    """Weigh each place, or group of places, that has a limit and holds something."""
    for rule in rules_of_kind(ridden.bench.tables.catalog, MassLimit):
        if rule.fact is not None:
            yield from _weighed(ridden, rule.at, ridden.bike(rule.fact))
            continue
        for place in sorted({x.place for x in ridden.visit.build}):
            limit = ridden.bench.place_mass_cause(place)
            if limit is not None and (not rule.at or place in rule.at):
                yield from _weighed(ridden, (place,), Known(value=number(limit.value), causes=(limit,)))


def _weighed(ridden: Ridden, places: tuple[str, ...], limit: Known) -> Iterator[VisitFigure]:
    placed = [x for x in sorted(ridden.visit.build) if x.place in places]
    if placed:
        masses = together(tuple(ridden.fact("part.mass_kg", x) for x in placed), tuple)
        yield figure(", ".join(places), "mass_left", {"limit_kg": limit, "parts_kg": masses})
