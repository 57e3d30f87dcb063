"""One small change of a drawn catalog, made on its entries: a figure, a plug, a rule, a price, a fact of a bike."""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import Any

from rules.catalog.catalog import Catalog
from rules.catalog.condition import Not
from rules.catalog.part import Part


def with_a_change(catalog: Catalog, random: Random) -> Catalog:
    change = random.choice((_part, _part, _part, _rule, _rule, _price, _bike, _bike))
    return change(catalog, random)


def _part(catalog: Catalog, random: Random) -> Catalog:
    name = random.choice(sorted(catalog.parts))
    tree = catalog.parts[name].model_dump(by_alias=True)
    _spoil(
        tree,
        random,
        ("spec", "speaker", "supply", "cable", "channels", "connectors", "links", "tags", "mass_kg", "host"),
    )
    return replace(catalog, parts={**catalog.parts, name: Part.model_validate(tree)})


def _bike(catalog: Catalog, random: Random) -> Catalog:
    name = random.choice(sorted(catalog.bikes))
    bike = catalog.bikes[name]
    tree = bike.has.model_dump(by_alias=True)
    _spoil(tree, random, ("facts", "places", "loom"))
    return replace(
        catalog, bikes={**catalog.bikes, name: replace(bike, has=type(bike.has).model_validate(tree))}
    )


def _rule(catalog: Catalog, random: Random) -> Catalog:
    names = sorted(
        name for name, rule in catalog.rules.items() if rule.kind not in ("provides", "measured_exception")
    )
    if not names:
        return catalog
    name = random.choice(names)
    rule: Any = catalog.rules[name]
    when = getattr(rule, "when", None)
    if when is not None and random.random() < 0.5:
        inverted = rule.model_copy(update={"when": Not(not_=when)})
        return replace(catalog, rules={**catalog.rules, name: inverted})
    if getattr(rule, "margin", None) is not None and random.random() < 0.7:
        return replace(
            catalog,
            rules={
                **catalog.rules,
                name: rule.model_copy(update={"margin": rule.margin + random.choice((0.5, 2.0, 6.0))}),
            },
        )
    needed = {after for one in catalog.rules.values() for after in getattr(one, "after", ())}
    if name in needed:
        return catalog
    kept = {
        key: one
        for key, one in catalog.rules.items()
        if key != name and getattr(one, "overrides", "") != name
    }
    return replace(catalog, rules=kept)


def _price(catalog: Catalog, random: Random) -> Catalog:
    lists = list(catalog.price_lists)
    if not lists:
        return catalog
    at = random.randrange(len(lists))
    prices = dict(lists[at].prices)
    part = random.choice(sorted(prices))
    prices[part] = max(0, round(prices[part] * random.choice((0.5, 0.9, 1.1, 3.0))))
    lists[at] = lists[at].model_copy(update={"prices": prices})
    return replace(catalog, price_lists=tuple(lists))


def _spoil(tree: dict[str, Any], random: Random, keys: tuple[str, ...]) -> None:
    places = [(holder, key) for top in keys if top in tree for holder, key in _values(tree, top)]
    if not places:
        return
    holder, key = random.choice(places)
    value = holder[key]
    if isinstance(value, bool):
        holder[key] = not value
    elif isinstance(value, int | float):
        holder[key] = type(value)(max(0.5, value * random.choice((0.5, 0.9, 1.1, 1.6))))
    elif value in ("plug", "socket"):
        holder[key] = "socket" if value == "plug" else "plug"
    elif isinstance(value, tuple) and value:
        holder[key] = value[1:]


def _values(holder: Any, key: Any) -> list[tuple[Any, Any]]:
    value = holder[key]
    if isinstance(value, dict):
        return [found for inner in value for found in _values(value, inner)]
    if isinstance(value, tuple | list) and value and isinstance(value[0], dict):
        holder[key] = value = list(value)
        return [found for at in range(len(value)) for found in _values(value, at)]
    return [(holder, key)] if key not in ("id", "accepts", "bridges", "needs") else []
