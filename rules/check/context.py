"""What every cross check looks things up in."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

from rules.catalog.bike import BikeFacts
from rules.catalog.connector import ConnectorType, ContactMap
from rules.catalog.part import Part
from rules.catalog.place import Place
from rules.catalog.rule import Provides
from rules.diagnostics import Code, Collector, Span, quote
from rules.draft import Draft, Written
from rules.resolve import Resolution

T = TypeVar("T")

Where = Span | Callable[[], Span]
"""A place, or how to find it if it is needed."""

BIKE_WORDS = frozenset(("family", "maker", "year", "trim", "mount", "cooling"))
"""What conditions can ask of every bike, besides its recorded facts."""

PART_WORDS = frozenset(("id", "kind", "line", "colour"))
"""What conditions can ask of every part, besides its spec."""


@dataclass(frozen=True)
class Context:
    """The draft, its bikes, and where to report. `own` are a rider's own parts, which one case or question knows besides."""

    draft: Draft
    resolution: Resolution
    collector: Collector
    own: frozenset[str] = frozenset()

    def beside(self, own: Iterable[str]) -> Context:
        """Give a context that knows a rider's own parts besides the catalog's."""
        return replace(self, own=frozenset(own))

    def report(self, code: Code, where: Where, message: str, hint: str | None = None) -> None:
        """Report, unless something was already said about this very place."""
        span = where if isinstance(where, Span) else where()
        if not self.collector.blames(span):
            self.collector.report(code, span, message, hint)

    def name(self, code: Code, kind: str, name: str, where: Where, who: str) -> bool:
        """Report an id that nothing defines. Tells whether it is known."""
        if self.draft.names.knows(kind, name) or (kind == "part" and name in self.own):
            return True
        message = f"{who} names {kind} {quote(name)}, which is not in the catalog"
        self.report(code, where, message, self.draft.names.suggest(kind, name))
        return False

    def word(self, code: Code, what: str, name: str, known: Collection[str], where: Where, who: str) -> bool:
        """Report a word that is not among the known ones. Tells whether it is known."""
        if name in known:
            return True
        message = f"{who} names {what} {quote(name)}, which is not there"
        self.report(code, where, message, self.draft.names.suggest_word(name, tuple(known)))
        return False

    @cached_property
    def places(self) -> dict[str, Place]:
        return _first_of_each((place.what.id, place.what) for place in self.draft.places)

    @cached_property
    def slots(self) -> frozenset[str]:
        return frozenset(slot for place in self.places.values() for slot in place.slots)

    @cached_property
    def types(self) -> dict[str, ConnectorType]:
        return _first_of_each((item.what.id, item.what) for item in self.draft.connector_types)

    @cached_property
    def maps(self) -> dict[str, ContactMap]:
        return _first_of_each((item.what.id, item.what) for item in self.draft.contact_maps)

    @cached_property
    def parts(self) -> dict[str, Part]:
        return _first_of_each((part.what.id, part.what) for part in self.draft.parts)

    @cached_property
    def lines(self) -> dict[str, str]:
        return {part.id: line.what.line for line in self.draft.lines for part in line.what.parts}

    @cached_property
    def tags(self) -> frozenset[str]:
        return frozenset(tag for part in self.parts.values() for tag in part.tags)

    @cached_property
    def facts(self) -> frozenset[str]:
        """Names of facts that some bike records or some rule provides."""
        recorded = {name for has in self.all_bike_facts() for name in has.facts}
        provided = {name for rule in self.provides() for name in rule.what.facts}
        return frozenset(recorded | provided)

    @cached_property
    def geometry(self) -> frozenset[str]:
        places = [place for has in self.all_bike_facts() for place in has.places.values()]
        return frozenset(name for place in places for name in place.geometry)

    @cached_property
    def specs(self) -> frozenset[str]:
        return frozenset(name for part in self.parts.values() for name in part.spec)

    def all_bike_facts(self) -> Iterator[BikeFacts]:
        return (written.what for written, _ in self.resolution.trees)

    def provides(self) -> Iterator[Written[Provides]]:
        for rule in self.draft.rules:
            if isinstance(rule.what, Provides):
                yield Written(rule.what, rule.node)

    def is_whole(self, *folders: str) -> bool:
        """Tell whether everything in these folders could be read: only then is what is not there missing."""
        if "bikes" in folders and not self.resolution.complete:
            return False
        return not self.draft.broken.intersection(folders)

    def can_go(self, part: Part, place: str) -> bool:
        """Tell whether a part can be placed at a place of the vocabulary."""
        listed = not part.at or place in part.at
        return (
            part.slot is not None
            and listed
            and place in self.places
            and part.slot in self.places[place].slots
        )


def _first_of_each(pairs: Iterable[tuple[str, T]]) -> dict[str, T]:
    """Of two entries with one id, which is reported elsewhere, keep the first."""
    return dict(reversed(tuple(pairs)))
