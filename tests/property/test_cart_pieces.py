"""A cart that is put together from pieces is answered as the engine answers it, whatever was asked before."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from random import Random

import pytest
from hypothesis import given, settings

from rules.answer import CartAnswer
from rules.bench import Bench
from rules.cart import check_by_pieces, check_cart, check_surely
from rules.cart_pieces import Pieces
from rules.catalog.catalog import Catalog
from rules.desk import Desk
from rules.engine import Engine
from rules.errors import MalformedQuestion
from rules.kept import NotKept
from rules.load import load_catalog
from rules.question import CartLines, CartQuestion, Want
from rules.tables import Tables
from tests.benchmarks.catalogs import Size, draw_catalog, write_catalog
from tests.contract.whole import demo_release
from tests.property.strategies import fit_instance, seeds

Told = CartAnswer | str


def carts(catalog: Catalog, random: Random, days: tuple[date, ...], most: int) -> Iterator[CartQuestion]:
    """Draw carts without end: with places and without, some twice, some with what is on the bike already."""
    goods = [x for x in catalog.parts.values() if x.slot or x.members or x.preset]
    while True:
        bike = random.choice(sorted(catalog.bikes))
        wants = [
            Want(parts=(part.id,), place=_place(catalog, bike, part.slot, random))
            for part in random.choices(goods, k=random.randint(1, most))
        ]
        wants += random.choices(wants, k=random.choice((0, 0, 0, 1)))
        yield CartQuestion(
            bike=bike,
            wants=tuple(wants),
            on=random.choice(days),
            fitter=random.choice(("shop", "home")),
        )


def _place(catalog: Catalog, bike: str, slot: str | None, random: Random) -> str | None:
    places = [x for x in catalog.bikes[bike].has.places if slot in catalog.places[x].slots]
    return random.choice(places) if places and random.random() < 0.8 else None


def answered(ask: object) -> Told:
    """Give an answer, or the words of a mistake."""
    assert callable(ask)
    try:
        told = ask()
    except MalformedQuestion as error:
        return str(error)
    assert isinstance(told, CartAnswer)
    return told


def check_all(catalog: Catalog, asked: list[CartQuestion]) -> None:
    """Ask of new desks by the engine, and of kept pieces: when nothing is known, when some is, and again when all is."""
    tables, kept = Tables(catalog), dict[str, Pieces]()
    plain = Engine(catalog)
    for question in asked:
        if question.bike not in kept:
            kept[question.bike] = Pieces(Desk.for_bench(Bench(tables, catalog.bikes[question.bike])))
        pieces = kept[question.bike]
        if not pieces.is_plain:
            continue
        expected = answered(lambda question=question: check_cart(plain.desk(question.bike), question))
        for learns in (True, False):
            found = answered(
                lambda question=question, pieces=pieces, learns=learns: check_by_pieces(
                    pieces, question, learns=learns
                )
            )
            assert found == expected, question
        if isinstance(expected, CartAnswer):
            check_aside(pieces, question, expected)


def check_aside(pieces: Pieces, question: CartQuestion, expected: CartAnswer) -> None:
    """See that what is left aside of lines, and what is not, is together what the engine finds, each once."""
    known = check_surely(pieces, CartLines.of(question, pieces.bench.tables.ranks))
    if known is None:
        return
    if known.refused is None:
        assert known.judged.told_as(CartAnswer, bike=question.bike, placed=expected.placed) == expected
        return
    apart = set(known.refused.apart)
    aside = [
        passage
        for about in known.asked
        if about not in apart
        for passage in (about.alone.needs if known.refused.is_need else about.alone.limits)
    ]
    found = Counter(x for passage in (*known.refused.passages, *aside) for x in passage.findings)
    assert (known.judged.verdict, found) == (expected.verdict, Counter(expected.findings)), question


@given(seeds)
@settings(max_examples=30)
def test_on_small_drawn_catalogs(seed):
    instance = fit_instance(seed)
    random = Random(seed)
    drawn = carts(instance.catalog, random, (instance.question.on,), most=5)
    check_all(instance.catalog, [next(drawn) for _ in range(12)])


def test_on_a_drawn_shop(tmp_path):
    write_catalog(tmp_path, draw_catalog(Size(families=2, parts=300, rules=60, seed=4)))
    days = (date(2026, 5, 4), date(2025, 5, 4), date(2027, 1, 4))
    drawn = carts(load_catalog(tmp_path), Random(3), days, most=12)
    check_all(load_catalog(tmp_path), [next(drawn) for _ in range(60)])


def test_on_the_demo():
    catalog = demo_release().catalog
    drawn = carts(catalog, Random(11), (date(2026, 5, 4),), most=4)
    check_all(catalog, [next(drawn) for _ in range(25)])


def test_what_is_not_kept_is_not_worked_out_in_passing():
    catalog = demo_release().catalog
    question = next(carts(catalog, Random(1), (date(2026, 5, 4),), most=2))
    pieces = Pieces(Engine(catalog).desk(question.bike))
    with pytest.raises(NotKept):
        check_by_pieces(pieces, question, learns=False)


def test_what_is_kept_is_bounded(monkeypatch):
    monkeypatch.setattr("rules.kept.KEPT", 60)
    catalog = demo_release().catalog
    kept, plain = Engine(catalog), Engine(catalog)
    drawn = carts(catalog, Random(5), (date(2026, 5, 4),), most=3)
    rooms = [kept._store]
    for question in [next(drawn) for _ in range(8)]:
        assert kept.cart(question) == plain.cart(question)
        rooms.append(kept._store)
    assert any(room is not rooms[0] for room in rooms)
