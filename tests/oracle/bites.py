"""Whether a feature of a question bites: whether the cheapest path would be another one without it.

The feature is taken out of the catalog, the question or the model, and that is solved. It bites if what was the cheapest path
is not the cheapest there, or if there is a path with or without it only. Labour that is not shared, or one price list for all
visits, make most paths cost something else: so the former path is priced there before the two are compared.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from time import monotonic

from rules.catalog.catalog import Catalog
from rules.catalog.price import PriceList
from rules.catalog.rule import Operation, Rule
from rules.question import PathQuestion
from tests.oracle.cpsat_wires import standing_wirings
from tests.oracle.paths_cpsat import PathModel, Schedule
from tests.oracle.reading import World
from tests.oracle.realistic import Instance

FEATURES = (
    "rewiring",
    "channel_limits",
    "carriers",
    "shared_labour",
    "dated_prices",
    "availability",
    "presets",
    "bundles",
    "stop_gaps",
    "replugs",
    "budgets",
)
_REPRICED = {"channel_limits", "shared_labour", "dated_prices", "presets", "bundles", "replugs"}
"""Without these the same path may cost something else."""


def bites(instance: Instance, seconds: float) -> dict[str, bool]:
    """Tell of every feature whether it bites.

    Raises: TimeoutError, where a model has no proof after so many seconds.
    """
    cheapest = _model(instance, seconds).cheapest()
    return {feature: _bites(feature, instance, cheapest, seconds) for feature in FEATURES}


def _bites(feature: str, instance: Instance, cheapest: tuple[int, Schedule] | None, seconds: float) -> bool:
    changed = without(feature, instance)
    if changed == instance and feature not in {"rewiring", "stop_gaps"}:
        return False
    there = _model(changed, seconds, feature).cheapest()
    if there is None or cheapest is None:
        return there is not cheapest
    cost, schedule = cheapest
    if feature in _REPRICED:
        return _model(changed, seconds, feature).cost_of(schedule) != there[0]
    return there[0] != cost


def _model(instance: Instance, seconds: float, feature: str = "") -> PathModel:
    end = monotonic() + seconds
    world = World(instance.catalog, instance.question.bike, instance.question.found)
    (*_, standing) = [None, *standing_wirings(world)]
    return PathModel(
        world,
        instance.question,
        standing,
        end,
        free_rewiring=feature == "rewiring",
        stop_gaps=feature != "stop_gaps",
    )


# Without a feature --------------------------------------------------------------------------------


def without(feature: str, instance: Instance) -> Instance:
    """Give the question without a feature; stop-gaps, and where zone sides go, are for the model to leave out."""
    catalog, question = instance.catalog, instance.question
    if feature in _CATALOGS:
        catalog = _CATALOGS[feature](catalog)
    if feature == "rewiring":
        question = replace(question, allowed_rewiring=frozenset(catalog.parts))
    if feature == "dated_prices":
        catalog = replace(catalog, price_lists=(_first_list(catalog, question),))
    if feature == "budgets":
        stages = tuple(replace(stage, budget=None) for stage in question.stages)
        question = replace(question, stages=stages, year_budgets={}, budget=None)
    return replace(instance, catalog=catalog, question=question)


def _with_rules(catalog: Catalog, keeps) -> Catalog:
    return replace(catalog, rules={name: rule for name, rule in catalog.rules.items() if keeps(rule)})


def _without_carriers(catalog: Catalog) -> Catalog:
    bikes = {}
    for name, bike in catalog.bikes.items():
        places = {
            place: has.model_copy(update={"carrier_needed": False}) for place, has in bike.has.places.items()
        }
        bikes[name] = replace(bike, has=bike.has.model_copy(update={"places": places}))
    return replace(catalog, bikes=bikes)


def _unshared(rules: Mapping[str, Rule]) -> dict[str, Rule]:
    """Let every operation hold all its tear-down, so that no two share any."""
    return {
        name: _alone(rule, rules) if isinstance(rule, Operation) and rule.action else rule
        for name, rule in rules.items()
    }


def _alone(rule: Operation, rules: Mapping[str, Rule]) -> Operation:
    before = [rules[name] for name in _reached(rule, rules)]
    torn_down = [one for one in before if isinstance(one, Operation)]
    return rule.model_copy(
        update={
            "minutes": rule.minutes + sum(one.minutes for one in torn_down),
            "home": rule.home and all(one.home for one in torn_down),
            "after": (),
        }
    )


def _reached(rule: Operation, rules: Mapping[str, Rule]) -> set[str]:
    reached: set[str] = set()
    for name in rule.after:
        other = rules[name]
        assert isinstance(other, Operation)
        reached |= {name} | _reached(other, rules)
    return reached


def _first_list(catalog: Catalog, question: PathQuestion) -> PriceList:
    """Give the list of the first visit, as if it held for ever."""
    day = question.stages[0].on
    lists = [one for one in catalog.price_lists if one.first <= day] or list(catalog.price_lists)
    last = max(question.stages[-1].on, *(one.last for one in lists))
    return max(lists, key=lambda one: one.first).model_copy(update={"last": last})


def _singles(catalog: Catalog) -> Catalog:
    return replace(catalog, parts={name: part for name, part in catalog.parts.items() if not part.members})


def _always_for_sale(catalog: Catalog) -> Catalog:
    parts = {name: part.model_copy(update={"available": None}) for name, part in catalog.parts.items()}
    return _with_rules(replace(catalog, parts=parts), lambda rule: rule.kind != "hold")


def _free_presets(catalog: Catalog) -> Catalog:
    services = {name for name, part in catalog.parts.items() if part.preset}
    parts = {
        name: part.model_copy(update={"preset": part.preset.model_copy(update={"minutes": 0})})
        if part.preset
        else part
        for name, part in catalog.parts.items()
    }
    lists = tuple(
        one.model_copy(
            update={
                "prices": {name: 0 if name in services else price for name, price in one.prices.items()},
                "freight": 0,
            }
        )
        for one in catalog.price_lists
    )
    free = replace(catalog, parts=parts, price_lists=lists)
    return _with_rules(free, lambda rule: getattr(rule, "action", None) != "preset")


_CATALOGS: dict[str, Callable[[Catalog], Catalog]] = {
    "channel_limits": lambda catalog: _with_rules(catalog, lambda rule: rule.kind != "channel_limit"),
    "carriers": _without_carriers,
    "shared_labour": lambda catalog: replace(catalog, rules=_unshared(catalog.rules)),
    "availability": _always_for_sale,
    "presets": _free_presets,
    "bundles": _singles,
    "replugs": lambda catalog: _with_rules(catalog, lambda rule: getattr(rule, "action", "") != "replug"),
}
