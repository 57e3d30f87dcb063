"""More exclusions never help, and more to choose from never harms."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import given, settings

from rules.catalog.catalog import Catalog
from rules.catalog.condition import Selector
from rules.catalog.rule import Excludes, Hold
from rules.engine import Engine
from rules.fitment import ORDER
from rules.question import FitQuestion
from tests.property.strategies import fit_instance, seeds


def with_rule(catalog: Catalog, rule) -> Catalog:
    return replace(catalog, rules=dict(sorted({**catalog.rules, rule.id: rule}.items())))


def rank(catalog: Catalog, question: FitQuestion) -> int:
    """Give how good the verdict is: 0 for fits."""
    return ORDER.index(Engine(catalog).fit(question).verdict)


@given(seeds)
@settings(max_examples=25)
def test_an_exclusion_never_turns_a_refusal_into_a_fit(seed):
    rng = Random(seed)
    instance = fit_instance(seed)
    parts = sorted(x.id for x in instance.catalog.parts.values() if x.slot)
    excluded = Excludes(
        id="zz-excluded",
        says="These two do not go together.",
        kind="excludes",
        subject=Selector(part=(rng.choice(parts),)),
        together_with=Selector(part=(rng.choice(parts),)),
    )
    before = rank(instance.catalog, instance.question)
    assert rank(with_rule(instance.catalog, excluded), instance.question) >= before


@given(seeds)
@settings(max_examples=30)
def test_a_hold_on_a_part_never_makes_an_answer_better(seed):
    instance = fit_instance(seed)
    part = Random(seed).choice(sorted(instance.catalog.parts))
    held = Hold(
        id="zz-held", says="Stopped.", kind="hold", subject=Selector(part=(part,)), first=instance.question.on
    )
    before = rank(instance.catalog, instance.question)
    assert rank(with_rule(instance.catalog, held), instance.question) >= before


@given(seeds)
@settings(max_examples=25)
def test_a_part_that_may_be_bought_as_well_never_worsens_an_answer_or_its_price(seed):
    instance = fit_instance(seed)
    found = replace(instance.question.found, fitted=(), presets=(), wiring=frozenset())
    question = replace(instance.question, found=found)
    rng = Random(seed)
    spare = [x for x in sorted(instance.catalog.parts) if x != question.part and not x.startswith("stock")]
    if not spare:
        return
    fewer = off_the_lists(instance.catalog, rng.choice(spare))
    less, more = Engine(fewer).fit(question), Engine(instance.catalog).fit(question)
    assert ORDER.index(more.verdict) <= ORDER.index(less.verdict)
    if more.verdict == less.verdict and less.total is not None:
        assert more.total is not None
        assert more.total <= less.total


def off_the_lists(catalog: Catalog, part: str) -> Catalog:
    """Take a part off all price lists: it is known, but nobody sells it."""
    lists = tuple(
        x.model_copy(update={"prices": {name: price for name, price in x.prices.items() if name != part}})
        for x in catalog.price_lists
    )
    return replace(catalog, price_lists=lists)
