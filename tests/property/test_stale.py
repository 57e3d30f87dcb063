"""What a shop keeps from an older release and is not told to ask again is answered as before: the row of an export to the byte."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.catalog.catalog import Catalog
from rules.impact.stale import Staleness
from rules.impact.told import told_fit
from rules.load import read_documents
from rules.question import FitQuestion, Fitter
from rules.release import Release
from rules.strength.mutants import all_sites, make
from rules.strength.workshop import Workshop
from service.serving import Serving
from service.shapes.fitment import FittingRow
from tests.contract.small import DIRECTORY, TODAY
from tests.impact.mistakes import with_a_change
from tests.oracle.generate import verdict_instance

Key = tuple[str, str, Fitter]
DAYS = (TODAY, date(2026, 5, 2), date(2025, 12, 31), date(2027, 1, 1), date(2030, 6, 1))
FITTERS: tuple[Fitter, ...] = ("shop", "home")


def serving(catalog: Catalog) -> Serving:
    return Serving.of(Release(id="r-drawn", catalog=catalog))


def answers(service: Serving, on: date) -> dict[Key, object]:
    """Every answer about bikes as they left the works: its row of an export, and what it rests on."""
    found: dict[Key, object] = {}
    for bike in (*service.catalog.bikes, *service.catalog.ambiguous):
        for part in service.catalog.parts.values():
            for fitter in FITTERS if part.slot else ():
                answer = service.fit(FitQuestion(bike=bike, part=part.id, on=on, fitter=fitter))
                row = FittingRow.from_domain(answer, service.catalog).model_dump_json()
                found[bike, part.id, fitter] = row, told_fit(answer)
    return found


def told_stale(old: Serving, new: Serving, before: date, on: date) -> Callable[[Key], bool]:
    told = {x.bike: x for x in Staleness(old.engine.tables, new.engine.tables, before, on).bikes()}

    def is_stale(key: Key) -> bool:
        found = told.get(key[0])
        return found is not None and (found.standing != "some_parts" or key[1] in found.parts)

    return is_stale


def missed(old: Serving, new: Serving, before: date, on: date) -> set[Key]:
    """Give the answers that are not the same, and of which nobody was told."""
    one, other = answers(old, before), answers(new, on)
    is_stale = told_stale(old, new, before, on)
    return {key for key in one.keys() | other.keys() if one.get(key) != other.get(key) and not is_stale(key)}


@cache
def small() -> tuple[Workshop, Any, Serving]:
    documents = read_documents(DIRECTORY)
    workshop = Workshop(documents)
    return workshop, all_sites(documents), serving(workshop.catalog)


@given(st.integers(0, 10**6), st.sampled_from(DAYS), st.sampled_from(DAYS))
@settings(max_examples=60)
def test_a_small_mistake_in_the_small_catalog_leaves_no_changed_answer_untold(
    seed: int, before: date, on: date
) -> None:
    workshop, sites, old = small()
    mutant = make(workshop.documents, sites, Random(seed))
    catalog = workshop.put_together({mutant.document: mutant.node}) if mutant else None
    if catalog is not None:
        assert missed(old, serving(catalog), before, on) == set()


def renamed(catalog: Catalog, random: Random) -> Catalog:
    """Change words alone: a name, a sentence, a source."""
    what = random.choice(("part", "source", "place", "rule", "bike"))
    held: dict[str, Any] = dict(getattr(catalog, {"source": "parts"}.get(what, f"{what}s")))
    name = random.choice(sorted(held))
    if what == "bike":
        bike = held[name]
        origins = {path: replace(x, source=_other(x.source)) for path, x in bike.origins.items()}
        held[name] = replace(bike, origins=origins)
    elif what == "source":
        held[name] = held[name].model_copy(update={"source": _other(held[name].source)})
    else:
        words = {"says": "Otherwise."} if what == "rule" else {"name": "Otherwise"}
        held[name] = held[name].model_copy(update=words)
    changed: dict[str, Any] = {"parts" if what == "source" else f"{what}s": held}
    return replace(catalog, **changed)


def _other(source: Any) -> Any:
    return source and source.model_copy(update={"ref": "another sheet"})


@pytest.mark.parametrize("seed", [*range(5), 67])
@pytest.mark.parametrize("change", [with_a_change, renamed], ids=["facts", "words"])
def test_a_change_of_a_drawn_catalog_leaves_no_changed_answer_untold(
    seed: int, change: Callable[[Catalog, Random], Catalog]
) -> None:
    instance = verdict_instance(seed)
    old, on = serving(instance.catalog), instance.question.on
    for draw in range(2):
        new = serving(change(instance.catalog, Random(f"{seed} {draw}")))
        assert missed(old, new, on, on) == set(), f"draw {draw}"


def test_what_nothing_can_reach_is_not_told() -> None:
    old = small()[2]
    assert not list(Staleness(old.engine.tables, old.engine.tables, TODAY, TODAY).bikes())
    part = old.catalog.parts["curlew-grille"].model_copy(update={"name": "Otherwise"})
    new = serving(replace(old.catalog, parts={**old.catalog.parts, part.id: part}))
    is_stale = told_stale(old, new, TODAY, TODAY)
    assert is_stale((next(iter(old.catalog.bikes)), part.id, "shop"))
    assert not all(map(is_stale, answers(old, TODAY)))
