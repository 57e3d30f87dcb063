"""Neither the order in which a catalog was read nor what was asked before changes an answer."""

from __future__ import annotations

from dataclasses import fields, replace
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import yaml
from hypothesis import given, settings

from rules.build import STOCK
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.load import load_catalog
from rules.question import CartQuestion, FitQuestion, PathQuestion, Want
from tests.diagnostics.base import FILES, write
from tests.property.strategies import fit_instance, path_at, path_seeds, seeds


def shuffled(files: dict[str, str], rng: Random) -> dict[str, str]:
    """Write the same catalog with every list and every file in another order."""
    found = {}
    for name, text in files.items():
        tree = yaml.safe_load(text)
        for key in ("places", "connector_types", "contact_maps", "parts", "rules", "cases"):
            rng.shuffle(tree.get(key, []))
        folder, _, last = name.rpartition("/")
        renamed = f"{folder}/{rng.choice('abcxyz')}-{last}" if folder else name
        found[renamed] = yaml.safe_dump(tree, sort_keys=False)
    return found


@given(seeds)
@settings(max_examples=12)
def test_the_order_of_files_and_entries_does_not_change_a_catalog(seed):
    with TemporaryDirectory() as one, TemporaryDirectory() as other:
        plain = load_catalog(write(Path(one)))
        mixed = load_catalog(write(Path(other), shuffled(dict(FILES), Random(seed))))
    for field in fields(Catalog):
        if field.name not in ("positions", "bikes"):
            assert getattr(mixed, field.name) == getattr(plain, field.name), field.name
            assert list(getattr(mixed, field.name)) == list(getattr(plain, field.name)), field.name
    assert {name: bike.has for name, bike in mixed.bikes.items()} == {
        name: bike.has for name, bike in plain.bikes.items()
    }


@given(seeds)
@settings(max_examples=30)
def test_what_was_asked_before_does_not_change_a_verdict(seed):
    instance = fit_instance(seed)
    rng = Random(seed)
    warmed = Engine(instance.catalog)
    for before in earlier(
        instance.question, sorted(x.id for x in instance.catalog.parts.values() if x.slot), rng
    ):
        ask(warmed, before)
    assert warmed.fit(instance.question) == Engine(instance.catalog).fit(instance.question)


@given(path_seeds)
@settings(max_examples=12)
def test_what_was_asked_before_does_not_change_a_path(seed):
    for warmed, fresh in answered(seed):
        assert warmed == fresh


def answered(seed: int):
    """Answer the drawn question, and the same for a stock bike, on a warmed engine and on a fresh one."""
    instance = path_at(seed)
    stock = replace(instance.question, found=STOCK)
    rng = Random(seed)
    warmed = Engine(instance.catalog)
    fit = FitQuestion(bike=stock.bike, part=stock.wants[0].parts[0], on=stock.stages[0].on)
    for before in earlier(fit, sorted(x.id for x in instance.catalog.parts.values() if x.slot), rng):
        ask(warmed, before)
    for question in (stock, instance.question):
        yield warmed.path(question), Engine(instance.catalog).path(question)


def earlier(question: FitQuestion, parts: list[str], rng: Random):
    """Give questions that another customer may have asked on the same bike."""
    for part in rng.sample(parts, min(4, len(parts))):
        yield replace(question, part=part, place=None)
    wants = tuple(Want(parts=(part,)) for part in rng.sample(parts, min(2, len(parts))))
    yield CartQuestion(bike=question.bike, wants=wants, on=question.on, found=question.found)


def ask(engine: Engine, question: FitQuestion | CartQuestion | PathQuestion) -> None:
    if isinstance(question, FitQuestion):
        engine.fit(question)
    elif isinstance(question, CartQuestion):
        engine.cart(question)
    else:
        engine.path(question)
