"""Reads the rows of published values, and calculates each.

A file holds one topic: `rows`, and `not_covered` with a reason each. A row names the calculation and its
inputs. An input that was printed in another unit is written `{value: 15, unit: ft}`, and is converted here.

Optional keys of a row: `figure` (not the result but another figure of the answer), `item` (of a figure that is
a list, counted from 0), `over` (divide by another figure, item or inputs of the same calculation).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pint
import yaml

from rules.calculations.calculation import Answer
from rules.calculations.registry import CALCULATIONS

FOLDER = Path(__file__).parent
WORDS = {
    "found": "read in a public text",
    "from_memory": "recalled, not read",
    "common_practice": "common practice, no source",
}
CLOSE = 1e-12
"""Relative; what binary fractions cost where a value is to be met exactly."""

units: pint.UnitRegistry[float] = pint.UnitRegistry()


@dataclass(frozen=True, kw_only=True)
class Row:
    """One published value, with the calculation that gives it."""

    topic: str
    id: str
    quantity: str
    source: str
    provenance: str
    kind: str
    expected: Mapping[str, Any]
    tolerance: Mapping[str, float]
    calculation: str
    inputs: Mapping[str, Any]
    figure: str = ""
    item: int | None = None
    over: Mapping[str, Any] | None = None
    note: str = ""

    @property
    def standing(self) -> str:
        """Say where the value comes from; one that was worked out is never called printed."""
        words = WORDS[self.provenance]
        return f"derived, not printed; its basis: {words}" if self.kind == "derived" else words

    def __str__(self) -> str:
        return f"{self.id} [{self.source}; {self.standing}]"

    def calculated(self) -> Any:
        """Give the value that the calculation gives, in the printed unit."""
        value, unit = self._value({})
        if self.over is not None:
            value, unit = value / self._value(self.over)[0], "1"
        return value if isinstance(value, str) else converted(value, unit, self.expected["unit"])

    def _value(self, changed: Mapping[str, Any]) -> tuple[Any, str]:
        chosen = {"figure": self.figure, "item": self.item, **changed}
        answer = self._answer({**self.inputs, **changed.get("inputs", {})})
        name = chosen["figure"] or CALCULATIONS[self.calculation].output.name
        figure = answer.figures[name]
        value: Any = figure.value
        return (value if chosen["item"] is None else value[chosen["item"]]), figure.unit

    def _answer(self, written: Mapping[str, Any]) -> Answer:
        calculation = CALCULATIONS[self.calculation]
        wanted = {x.name: x.unit for x in calculation.inputs}
        return calculation.answer(**{name: plain(x, wanted.get(name, "1")) for name, x in written.items()})

    def agrees(self) -> bool:
        """Tell whether the calculation meets the value within the row's tolerance."""
        value, expected = self.calculated(), self.expected["value"]
        if isinstance(expected, str):
            return bool(value == expected)
        slack = self.tolerance.get("abs", abs(expected) * self.tolerance.get("rel", 0.0))
        return math.isclose(value, expected, rel_tol=CLOSE, abs_tol=slack)


def converted(value: float, unit: str, wanted: str) -> float:
    """Give a value in another unit."""
    same = unit == wanted
    return value if same else float(units.Quantity(value, named(unit)).to(named(wanted)).magnitude)


def named(unit: str) -> str:
    """Spell a unit as pint does."""
    return {"1": "dimensionless", "%": "percent", "% IACS": "percent"}.get(unit, unit)


def plain(written: Any, unit: str) -> Any:
    """Give an input in the unit of the calculation."""
    if isinstance(written, Mapping):
        return converted(written["value"], written["unit"], unit)
    return tuple(written) if isinstance(written, list) else written


@cache
def files() -> Mapping[str, Mapping[str, Any]]:
    """Give each topic's file."""
    found = sorted(FOLDER.glob("*.yaml"))
    return {path.stem: yaml.safe_load(path.read_text(encoding="utf-8")) for path in found}


def rows(topic: str) -> list[Row]:
    """Give the rows of a topic that a calculation covers."""
    return [Row(topic=topic, **row) for row in files()[topic]["rows"]]


def not_covered() -> Iterator[tuple[str, str]]:
    """Give each row that no calculation covers, with the reason."""
    for held in files().values():
        for row in held.get("not_covered", ()):
            yield row["id"], row["reason"]
