"""What differs between two catalogs, fact by fact and rule by rule; and the older catalog with one difference alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

from pydantic import BaseModel

from rules.catalog.bike import BikeFacts
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.price import PriceList
from rules.impact.touch import changed_keys

Kind = Literal["bike fact", "bike", "part fact", "part", "rule", "price", "vocabulary"]
Steps = tuple[str, ...]
T = TypeVar("T")

NOTHING = "(nothing)"


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Difference:
    """One fact, rule or price that is not the same in two catalogs.

    `of` is the family, part, rule or price list; `path` the fact in it, dotted. `before` and `after` are the values as text.
    `bikes` are the bikes that have it; none where it concerns all.
    """

    kind: Kind
    of: str
    path: str
    before: str
    after: str
    bikes: tuple[str, ...] = ()
    steps: Steps = ()

    def __str__(self) -> str:
        """Say what differs, in a line."""
        what = f"{self.of} {self.path}".strip()
        return f"{self.kind} {what}: {self.before} becomes {self.after}"


def differences(old: Catalog, new: Catalog) -> tuple[Difference, ...]:
    """Give everything that differs and may decide an answer, in a fixed order. Words for people and sources do not."""
    found = [
        *_bike_facts(old, new),
        *_bikes(old, new),
        *_parts(old, new),
        *_rules(old, new),
        *_prices(old, new),
        *_vocabulary(old, new),
    ]
    return tuple(sorted(found))


# --- bikes ---------------------------------------------------------------------------------------------------


def _bike_facts(old: Catalog, new: Catalog) -> Iterator[Difference]:
    changed: dict[tuple[str, Steps, str, str], list[str]] = {}
    for name in sorted(old.bikes.keys() & new.bikes.keys()):
        one, other = old.bikes[name], new.bikes[name]
        for steps, before, after in _leaves(_bike_tree(one), _bike_tree(other)):
            changed.setdefault((one.family, steps, before, after), []).append(name)
    for (family, steps, before, after), bikes in changed.items():
        yield Difference(
            kind="bike fact",
            of=family,
            path=".".join(steps),
            before=before,
            after=after,
            bikes=tuple(bikes),
            steps=steps,
        )


_IDENTITY = ("family", "maker", "mount", "cooling")


def _bike_tree(bike: Bike) -> dict[str, object]:
    return {**_plain(bike.has), **{name: getattr(bike, name) for name in _IDENTITY}}


def _bikes(old: Catalog, new: Catalog) -> Iterator[Difference]:
    names = (old.bikes.keys() | old.ambiguous.keys()) ^ (new.bikes.keys() | new.ambiguous.keys())
    for name in sorted(names):
        there = [name in catalog.bikes or name in catalog.ambiguous for catalog in (old, new)]
        before, after = (("listed" if known else "not listed") for known in there)
        yield Difference(kind="bike", of=name, path="", before=before, after=after, bikes=(name,))
    for name in sorted(old.ambiguous.keys() & new.ambiguous.keys()):
        one, other = old.ambiguous[name], new.ambiguous[name]
        if one.sides != other.sides:
            yield Difference(
                kind="bike",
                of=name,
                path="sides",
                before=str(one.sides),
                after=str(other.sides),
                bikes=(name,),
            )


# --- parts, rules, prices ------------------------------------------------------------------------------------

_WORDS = frozenset(("name", "says", "source", "look", "lead_days", "warranty_months", "unknown"))


def _parts(old: Catalog, new: Catalog) -> Iterator[Difference]:
    for name in sorted(old.parts.keys() | new.parts.keys()):
        one, other = old.parts.get(name), new.parts.get(name)
        if one is None or other is None:
            before, after = (("listed" if x else "not listed") for x in (one, other))
            yield Difference(kind="part", of=name, path="", before=before, after=after)
        elif one is not other:
            for steps, before, after in _leaves(_plain(one), _plain(other)):
                yield Difference(
                    kind="part fact", of=name, path=".".join(steps), before=before, after=after, steps=steps
                )
            if old.lines[name] != new.lines[name]:
                yield Difference(
                    kind="part", of=name, path="line", before=old.lines[name], after=new.lines[name]
                )


def _rules(old: Catalog, new: Catalog) -> Iterator[Difference]:
    for name in sorted(changed_keys(old.rules, new.rules)):
        one, other = (_plain(catalog.rules.get(name)) for catalog in (old, new))
        if one == other:
            continue
        before, after = ((_short(x) if x else NOTHING) for x in (one, other))
        changed = [(steps, a, b) for steps, a, b in _leaves(one, other)] if one and other else []
        path = ", ".join(".".join(steps) for steps, _, _ in changed)
        if len(changed) == 1:
            before, after = changed[0][1:]
        yield Difference(kind="rule", of=name, path=path, before=before, after=after)


def _prices(old: Catalog, new: Catalog) -> Iterator[Difference]:
    one, other = ({x.price_list: x for x in catalog.price_lists} for catalog in (old, new))
    for name in sorted(changed_keys(one, other)):
        before, after = (_plain(lists.get(name)) for lists in (one, other))
        if not before or not after:
            words = (("listed" if x else "not listed") for x in (before, after))
            yield Difference(kind="price", of=name, path="", before=next(words), after=next(words))
            continue
        for steps, a, b in _leaves(before, after):
            yield Difference(kind="price", of=name, path=".".join(steps), before=a, after=b, steps=steps)


def _vocabulary(old: Catalog, new: Catalog) -> Iterator[Difference]:
    for what in ("places", "contact_maps"):
        one, other = getattr(old, what), getattr(new, what)
        for name in sorted(changed_keys(one, other)):
            before_tree, after_tree = ({name: _plain(x.get(name))} for x in (one, other))
            for steps, before, after in _leaves(before_tree, after_tree):
                yield Difference(
                    kind="vocabulary", of=what, path=".".join(steps), before=before, after=after, steps=steps
                )


# --- trees ---------------------------------------------------------------------------------------------------


def _plain(model: BaseModel | None) -> dict[str, object]:
    dumped = {} if model is None else model.model_dump(mode="json", by_alias=True)
    return {key: value for key, value in dumped.items() if key not in _WORDS}


def _leaves(one: object, other: object, steps: Steps = ()) -> Iterator[tuple[Steps, str, str]]:
    """Give each path at which two trees differ, with both values as text."""
    if one == other:
        return
    if isinstance(one, dict) and isinstance(other, dict) and {"unknown"} not in ({*one}, {*other}):
        for key in sorted(one.keys() | other.keys()):
            if key not in _WORDS:
                yield from _leaves(one.get(key, _MISSING), other.get(key, _MISSING), (*steps, key))
        return
    before, after = _short(one), _short(other)
    if before != after:
        yield steps, before, after


_MISSING = object()


def _short(value: object) -> str:
    if value is _MISSING or value is None:
        return NOTHING
    if isinstance(value, dict) and set(value) == {"unknown"}:
        return "unknown"
    return str(value)


# --- one difference alone ------------------------------------------------------------------------------------


def with_one(old: Catalog, new: Catalog, difference: Difference) -> Catalog | None:
    """Give the older catalog with one difference alone; None where that makes no sense by itself."""
    match difference.kind:
        case "rule":
            return replace(old, rules=_swapped(old.rules, new.rules, difference.of))
        case "part fact":
            part = _patched(old.parts[difference.of], new.parts[difference.of], difference.steps)
            return replace(old, parts={**old.parts, difference.of: part})
        case "bike fact":
            return _with_bike_fact(old, new, difference)
        case "price" if difference.path:
            return _with_price(old, new, difference)
        case _:
            return None


def _with_bike_fact(old: Catalog, new: Catalog, difference: Difference) -> Catalog | None:
    if difference.steps[0] in _IDENTITY:
        return None
    bikes = dict(old.bikes)
    for name in difference.bikes:
        has: BikeFacts = _patched(old.bikes[name].has, new.bikes[name].has, difference.steps)
        bikes[name] = replace(old.bikes[name], has=has)
    return replace(old, bikes=bikes)


def _with_price(old: Catalog, new: Catalog, difference: Difference) -> Catalog:
    lists: list[PriceList] = []
    newer = {x.price_list: x for x in new.price_lists}
    for one in old.price_lists:
        same = one.price_list == difference.of
        lists.append(_patched(one, newer[one.price_list], difference.steps) if same else one)
    return replace(old, price_lists=tuple(lists))


def _swapped(old: Mapping[str, T], new: Mapping[str, T], name: str) -> dict[str, T]:
    kept = {key: value for key, value in old.items() if key != name}
    if name in new:
        kept[name] = new[name]
    return dict(sorted(kept.items()))


M = TypeVar("M", bound=BaseModel)


def _patched(one: M, other: M, steps: Steps) -> M:
    tree, source = (x.model_dump(by_alias=True) for x in (one, other))
    holder: dict[str, object] = tree
    for step in steps[:-1]:
        below = holder.get(step)
        source = source.get(step) or {}
        if not isinstance(below, dict):
            below = {}
            holder[step] = below
        holder = below
    if steps[-1] in source:
        holder[steps[-1]] = source[steps[-1]]
    else:
        holder.pop(steps[-1], None)
    return type(one).model_validate(tree)
