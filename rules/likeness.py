"""Parts that differ in nothing that any rule, wiring or labour looks at: where one of them serves, every one does."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

from rules.catalog.condition import Comparison, Condition, Fitted, Selector
from rules.conditions import leaves

if TYPE_CHECKING:
    from rules.tables import Tables

WORDS = {"id", "name", "colour", "source", "lead_days", "warranty_months", "available", "stock_only"}
"""What only people and prices look at; colour and id also conditions that name them."""


class Likeness:
    """Tells parts of one compiled catalog apart by all that an answer may take from them, but for price and name."""

    def __init__(self, tables: Tables) -> None:
        self._tables = tables
        self._known: dict[str, object] = {}

    def of(self, name: str) -> object:
        """Give what a part has in common with those that are like it."""
        if name not in self._known:
            self._known[name] = self._of(name)
        return self._known[name]

    def _of(self, name: str) -> object:
        if name in self._by_name or "part.id" in self._facts:
            return name
        part = self._tables.catalog.parts[name]
        line = self._tables.catalog.lines[name] if "part.line" in self._facts else None
        selecting = tuple(self._selecting.get(name, ()))
        return selecting, line, part.model_dump_json(exclude=WORDS)

    @cached_property
    def about_colour(self) -> tuple[Condition, ...]:
        """Give the conditions that ask for a part's colour."""
        return tuple(
            when
            for when in self._conditions()
            if any(isinstance(x, Comparison) and x.fact == "part.colour" for x in leaves(when))
        )

    @cached_property
    def _by_name(self) -> frozenset[str]:
        """Give the parts that others name: as hosts, in bundles, for presets."""
        parts = self._tables.catalog.parts.values()
        named = (
            (*part.host, *part.members, *(part.preset.amplifiers if part.preset else ())) for part in parts
        )
        return frozenset(x for names in named for x in names)

    @cached_property
    def _facts(self) -> frozenset[str]:
        return frozenset(x.fact for x in self._leaves() if isinstance(x, Comparison))

    @cached_property
    def _selecting(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for at, selector in enumerate(dict.fromkeys(self._selectors())):
            for part in self._tables.selected(selector):
                found.setdefault(part, []).append(at)
        return found

    def _selectors(self) -> Iterator[Selector]:
        for rule in self._tables.catalog.rules.values():
            for field in ("subject", "needs", "together_with"):
                selector: Selector | None = getattr(rule, field, None)
                if selector is not None and rule.kind not in ("advice", "hold"):
                    yield selector
        yield from (x.fitted for x in self._leaves() if isinstance(x, Fitted))

    def _leaves(self) -> Iterator[Comparison | Fitted]:
        for when in self._conditions():
            yield from leaves(when)

    def _conditions(self) -> Iterator[Condition]:
        for rule in self._tables.catalog.rules.values():
            when: Condition | None = getattr(rule, "when", None)
            if when is not None and rule.kind != "advice":
                yield when
