"""From the draft to the catalog: inheritance, what rules provide, cross checks, and the sorted whole."""

from __future__ import annotations

from collections.abc import Iterator
from operator import itemgetter

from rules.catalog.case import Case
from rules.catalog.catalog import Catalog, Position
from rules.catalog.rule import Provides
from rules.check import check_entries
from rules.diagnostics import Collector, Span
from rules.draft import Draft, Written
from rules.provides import apply_provides, check_provides
from rules.resolve import Resolution, resolve


def assemble(draft: Draft, collector: Collector, resolution: Resolution | None = None) -> Catalog | None:
    """Build the catalog from what was read.

    Args:
        draft: Everything that was read.
        collector: Gets every fault.
        resolution: The bikes of the draft's families, where they are worked out already.

    Returns: The catalog, or None if anything is at fault; the collector holds what.
    """
    if resolution is None:
        resolution = resolve(draft.families, collector)
    provide(draft, resolution, collector)
    check_entries(draft, resolution, collector)
    if collector.has_errors or not draft.shop:
        return None
    return _catalog(draft, resolution)


def provide(draft: Draft, resolution: Resolution, collector: Collector) -> None:
    """Give the bikes what rules of kind `provides` say."""
    provides = [Written(rule.what, rule.node) for rule in draft.rules if isinstance(rule.what, Provides)]
    sound = check_provides(provides, collector)
    resolution.bikes = {
        name: apply_provides(bike, sound, collector) for name, bike in resolution.bikes.items()
    }


def _catalog(draft: Draft, resolution: Resolution) -> Catalog:
    lines = sorted(
        ((part.id, line.what) for line in draft.lines for part in line.what.parts), key=itemgetter(0)
    )
    topics = [(rule.id, file.what.topic) for file in draft.topics for rule in file.what.rules]
    return Catalog(
        shop=draft.shop[0].what,
        places=dict(sorted((place.what.id, place.what) for place in draft.places)),
        connector_types=dict(sorted((item.what.id, item.what) for item in draft.connector_types)),
        contact_maps=dict(sorted((item.what.id, item.what) for item in draft.contact_maps)),
        bikes=resolution.bikes,
        ambiguous=resolution.ambiguous,
        parts=dict(sorted((part.id, part) for line in draft.lines for part in line.what.parts)),
        lines={part: line.line for part, line in lines},
        makers={part: line.maker for part, line in lines},
        rules=dict(sorted((rule.what.id, rule.what) for rule in draft.rules)),
        topics=dict(sorted(topics)),
        price_lists=tuple(
            sorted((item.what for item in draft.price_lists), key=lambda item: (item.first, item.price_list))
        ),
        cases=_cases(draft, drafts=False),
        drafts=_cases(draft, drafts=True),
        positions=dict(sorted(_positions(draft))),
    )


def _cases(draft: Draft, *, drafts: bool) -> tuple[Case, ...]:
    found = (case.what for case in draft.cases if case.what.is_draft is drafts)
    return tuple(sorted(found, key=lambda case: case.name))


def _positions(draft: Draft) -> Iterator[tuple[str, Position]]:
    for prefix, kind in (("part", "part"), ("rule", "rule"), ("bike", "bike family"), ("case", "case")):
        for name, span in draft.names.defined.get(kind, {}).items():
            yield f"{prefix}:{name}", _position(span)


def _position(span: Span) -> Position:
    return Position(file=span.file, line=span.line, column=span.column)
