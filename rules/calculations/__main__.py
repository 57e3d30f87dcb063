"""Prints `docs/calculations.md`: run `python -m rules.calculations`."""

from __future__ import annotations

from collections.abc import Iterator

from rules.calculations.calculation import Calculation, Input
from rules.calculations.registry import CALCULATIONS

INTRODUCTION = """# Calculations

Printed by `python -m rules.calculations`; a test keeps this page equal to the code. Each is asked by
`loomway calc ID`, and at the address in the table. An input in square brackets may be left out.
"""


def page() -> str:
    """Give the page."""
    topics = sorted({entry.topic for entry in CALCULATIONS.values()})
    return "\n".join([INTRODUCTION, *(line for topic in topics for line in _topic(topic))])


def _topic(topic: str) -> Iterator[str]:
    entries = [entry for entry in CALCULATIONS.values() if entry.topic == topic]
    yield from (f"## {topic.capitalize()}", "", "| address | gives | from |", "|---|---|---|")
    for entry in entries:
        taken = ", ".join(map(_input, entry.inputs))
        yield f"| `GET /v1/calculations/{entry.id}` | {entry.title}{_unit(entry.output.unit)} | {taken} |"
    yield ""
    for entry in entries:
        yield from _grounds(entry)


def _input(entry: Input) -> str:
    name = f"`{entry.name}`{_unit(entry.unit)}"
    return f"[{name}]" if entry.optional or entry.default is not None else name


def _unit(unit: str) -> str:
    return "" if unit == "1" else f" in {unit}"


def _grounds(entry: Calculation) -> Iterator[str]:
    cautions = ", ".join(entry.cautions) or "none"
    yield f"- **{entry.id}**: `{entry.equation}`. Holds for: {entry.validity}. Source: {entry.source}. Cautions: {cautions}."
    yield from [""] * (entry.id == _last(entry.topic))


def _last(topic: str) -> str:
    return max(entry.id for entry in CALCULATIONS.values() if entry.topic == topic)


if __name__ == "__main__":
    print(page(), end="")  # noqa: T201 -- a command prints its answer
