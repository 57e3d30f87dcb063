"""Tables with a rider's own parts beside the catalog's are those of a catalog that has them, and leave the others as they are."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import given, settings

from rules.catalog.catalog import Catalog
from rules.catalog.condition import Selector
from rules.catalog.part import Part
from rules.catalog.rule import RuleEntry
from rules.own_parts import widened
from rules.tables import Tables
from tests.property.strategies import fit_instance, seeds

COMPILED = ("facts", "part_rules", "advice", "operations", "needs_tags", "twins", "fact_names", "services")


def without_some(seed: int) -> tuple[Catalog, tuple[Part, ...]]:
    """Take a few parts out of a drawn catalog; they are the rider's own now."""
    catalog, rng = fit_instance(seed).catalog, Random(seed)
    slotted = [part for part in catalog.parts.values() if part.slot and part.id not in served(catalog)]
    own = tuple(rng.sample(slotted, min(3, len(slotted))))
    names = {part.id for part in own}
    rest = {name: part for name, part in catalog.parts.items() if name not in names}
    return replace(catalog, parts=rest), own


def served(catalog: Catalog) -> set[str]:
    return {name for part in catalog.parts.values() if part.preset for name in part.preset.amplifiers}


def selectors(rule: RuleEntry) -> list[Selector]:
    found = (getattr(rule, word, None) for word in ("subject", "needs", "together_with"))
    return [selector for selector in found if isinstance(selector, Selector)]


@given(seeds)
@settings(max_examples=60)
def test_tables_that_were_widened_are_those_compiled_whole(seed):
    catalog, own = without_some(seed)
    wider, whole = Tables(catalog).widened(own), Tables(widened(catalog, own))
    for name in COMPILED:
        assert getattr(wider, name) == getattr(whole, name), name
    for part, wires in whole.wires.items():
        assert replace(wider.wires[part], numbers={}) == replace(wires, numbers={})
    for rule in catalog.rules.values():
        for selector in selectors(rule):
            assert wider.selected(selector) == whole.selected(selector)


@given(seeds)
@settings(max_examples=30)
def test_the_tables_of_the_catalog_do_not_notice(seed):
    catalog, own = without_some(seed)
    tables, untouched = Tables(catalog), Tables(catalog)
    tables.widened(own)
    for name in ("catalog", "wires", *COMPILED):
        assert getattr(tables, name) == getattr(untouched, name), name
