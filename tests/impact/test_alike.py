"""Bikes that count as alike for a part give the same answers about it, however else they differ."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from random import Random

import pytest

from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.impact import impact
from rules.impact.alike import AlikeBikes
from rules.impact.compare import days_that_matter
from rules.impact.reach import Needs
from rules.impact.space import FITTERS
from rules.impact.told import Told, told_fit
from rules.load import load_catalog
from rules.question import FitQuestion
from service.settings import DEMO_CATALOG
from tests.benchmarks.catalogs import Size, draw_catalog, write_catalog
from tests.impact.everything import answers, changed
from tests.impact.test_impact import MINDED, fits, small, with_room_behind

ON = date(2026, 11, 20)


def told_by_likeness(
    catalog: Catalog, bikes: list[str], parts: list[str]
) -> tuple[dict[object, set[Told]], int]:
    """Ask of each part on each bike, and gather answers by what counts as alike; with the number of questions."""
    engine = Engine(catalog)
    alike = AlikeBikes(engine, Needs(engine.tables), (ON,))
    found: dict[object, set[Told]] = {}
    for bike in bikes:
        for part in parts:
            for fitter in FITTERS:
                question = FitQuestion(bike=bike, part=part, on=ON, fitter=fitter)
                key = part, fitter, repr(alike.key_for(bike, part))
                found.setdefault(key, set()).add(told_fit(engine.fit(question)))
    return found, len(bikes) * len(parts) * len(FITTERS)


def drawn(directory: Path, seed: int) -> Catalog:
    write_catalog(directory, draw_catalog(Size(families=2, parts=180, rules=30, seed=seed)))
    return load_catalog(directory)


def test_parts_that_stand_alone_have_one_answer_on_all_alike_bikes_of_the_demo():
    catalog = load_catalog(DEMO_CATALOG)
    small = [x.id for x in catalog.parts.values() if x.kind in ("grille", "deadening", "hardware")]
    found, asked = told_by_likeness(catalog, sorted(catalog.bikes)[::3], small)
    assert max(map(len, found.values())) == 1
    assert len(found) < asked * 2 / 3


def test_grilles_and_bezels_have_one_answer_on_all_alike_bikes_of_a_drawn_catalog(tmp_path):
    catalog = drawn(tmp_path, 1)
    small = [x.id for x in catalog.parts.values() if x.kind in ("grille", "bezel", "deadening")]
    found, asked = told_by_likeness(catalog, sorted(catalog.bikes), small)
    assert max(map(len, found.values())) == 1
    assert len(found) < asked / 4


def test_a_grille_that_the_stock_radio_minds_is_not_alike_where_what_would_help_fits_otherwise():
    known = with_room_behind(small(), 60.0)
    shallow = with_room_behind(small(), 20.0).bikes["bittern-2021-plain"]
    rules = dict(sorted({**known.rules, MINDED.id: MINDED}.items()))
    catalog = replace(known, rules=rules, bikes={**known.bikes, shallow.id: shallow})
    found, _ = told_by_likeness(catalog, sorted(catalog.bikes), ["curlew-grille"])
    assert {answer.outcome for answers in found.values() for answer in answers} == {
        "fits_with",
        "does_not_fit",
    }
    assert max(map(len, found.values())) == 1


def with_other_seats(catalog: Catalog, random: Random) -> Catalog:
    """Let the grilles of the pods sit otherwise on a few bikes."""
    bikes = dict(catalog.bikes)
    for name in random.sample(sorted(bikes), 10):
        has = bikes[name].has
        pods = has.places["pods"]
        other = pods.model_copy(update={"geometry": {**pods.geometry, "seat_mm": 158.0}})
        changed_has = has.model_copy(update={"places": {**has.places, "pods": other}})
        bikes[name] = replace(bikes[name], has=changed_has)
    return replace(catalog, bikes=bikes)


def with_a_wider_margin(catalog: Catalog, random: Random) -> Catalog:
    """Let grilles, or bezels, differ by more."""
    name = random.choice(("grille_differs", "bezel_differs"))
    rule = catalog.rules[name].model_copy(update={"margin": 17.0})
    return replace(catalog, rules={**catalog.rules, name: rule})


def with_dearer_grilles(catalog: Catalog, random: Random) -> Catalog:
    grilles = [x.id for x in catalog.parts.values() if x.kind == "grille"]
    dearer = dict.fromkeys(random.sample(grilles, 3), 99900)
    lists = (x.model_copy(update={"prices": {**x.prices, **dearer}}) for x in catalog.price_lists)
    return replace(catalog, price_lists=tuple(lists))


@pytest.mark.parametrize("seed", range(3))
def test_the_impact_on_many_alike_bikes_is_what_asking_everything_finds(tmp_path, seed):
    old, random = drawn(tmp_path, seed), Random(seed)
    new = with_dearer_grilles(with_a_wider_margin(with_other_seats(old, random), random), random)
    bikes = random.sample(sorted(old.bikes), 6)
    parts = [x.id for x in old.parts.values() if x.kind in ("grille", "bezel", "deadening")]
    days = days_that_matter(old, new, ON)
    found = impact(old, new, ON)
    assert found.asked < len(found.changed) / 2
    told = {key for key in fits(found) if key[0] in bikes}
    assert told == set(changed(answers(old, days, bikes, parts), answers(new, days, bikes, parts)))
