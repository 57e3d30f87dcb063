"""What the engine looks at while it answers a case: the cases that look at a mistake are the ones that may notice it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rules.build import AsFound, Placement
from rules.cases import answer_case, differences
from rules.catalog.case import Case
from rules.catalog.catalog import Catalog
from rules.catalog.part import Part
from rules.desk import Desk
from rules.engine import Engine
from rules.impact.told import Told, told


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What was looked at for one case, by bike; its answer, and the parts and rules that this names.

    `effort` counts the builds that were examined. `differences` is empty where it comes out as it should.
    """

    placements: Mapping[str, frozenset[Placement]]
    told: Told
    names: frozenset[str]
    differences: tuple[str, ...]
    effort: int


class Looker(Engine):
    """Looks at cases of one catalog: an engine that remembers the desks of a question, and nothing from one to the next."""

    def __init__(self, catalog: Catalog) -> None:
        super().__init__(catalog)
        self._seen: list[Desk] = []

    def look(self, case: Case) -> Look:
        """Ask a case as if it were the first, and tell what was looked at for it."""
        self._desks.clear()
        self._seen.clear()
        answer = answer_case(self, case)
        found: dict[str, frozenset[Placement]] = {}
        for desk in self._seen:
            before = found.get(desk.bench.bike.id, frozenset())
            found[desk.bench.bike.id] = before | desk.looked_at()
        return Look(
            placements=found,
            told=told(answer),
            names=told(answer).names(),
            differences=differences(case, answer),
            effort=sum(len(desk.examiner.examined()) for desk in self._seen),
        )

    def _desk_of(self, bike: str, found: AsFound, own_parts: tuple[Part, ...]) -> Desk:
        desk = super()._desk_of(bike, found, own_parts)
        self._seen.append(desk)
        return desk
