"""Answers put together as bytes; the models of `service.shapes.fitment` define them, and a test keeps the two equal."""

from __future__ import annotations

import time
from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from typing import get_args
from urllib.parse import quote, quote_plus

from pydantic_core import to_json

from rules.answer import CartAnswer, FitAnswer
from rules.build import STOCK
from rules.cart import SureCart
from rules.question import CartLines, FitQuestion, Fitter
from rules.verdict import Verdict
from service.links import pinned_under
from service.representation import etag_of
from service.serving import Serving
from service.shapes.fitment import FittingRow, FitTold
from service.shapes.judged import JudgedTold
from service.shapes.page import Page
from service.shapes.release import ReleaseNamed
from service.storefront.table import Recipe, joined

_JUDGED = tuple(JudgedTold.model_fields)
_FITTERS = {name: name.encode() for name in get_args(Fitter)}
_ABOUT = ("bike", "part", "name", "place")
_LAST = ("alternatives", "places")


def fit_recipe(question: FitQuestion, serving: Serving) -> Recipe:
    """Give the recipe of a question: the one kept, or a new one. A rider's own bike is not asked about twice.

    Raises: `UnknownBike`, `UnknownPart`, `UnknownPlace`, `MalformedQuestion`.
    """
    if question.found != STOCK:
        return serving.table.tallied(recipe_of(serving.engine.fit(question), question, serving))
    kept = serving.table.find(question.bike, question.part, question.place, question.fitter, question.on)
    if kept is not None:
        return kept
    begun = time.perf_counter()
    answer = serving.engine.fit(question)
    took_s = time.perf_counter() - begun
    return serving.table.keep(question, recipe_of(answer, question, serving), took_s)


def fit_row(question: FitQuestion, serving: Serving) -> tuple[Verdict, bytes]:
    """Give the verdict of a question and its row, as `FittingRow` has it."""
    recipe = fit_recipe(question, serving)
    return recipe.verdict, recipe.row


def fit_told(recipe: Recipe, question: FitQuestion, serving: Serving) -> bytes:
    """Put an answer together, as `FitTold` has it."""
    return b"".join((b"{", *_fit_pieces(recipe, question.on, question.fitter, serving), b"}"))


def fit_response(
    recipe: Recipe, on: date, serving: Serving, fitter: Fitter = "shop", place: str | None = None
) -> bytes:
    """Put a whole response together, as `FitResponse` has it."""
    return b"".join(
        (
            serving.pieces.get("pinned") or _pinned(serving),
            recipe.path,
            b"/",
            day_piece(on),
            b"?place=%b&fitter=" % quote_plus(place).encode() if place else b"?fitter=",
            _FITTERS[fitter],
            b'","answer":{',
            *_fit_pieces(recipe, on, fitter, serving),
            b"}}",
        )
    )


def _fit_pieces(recipe: Recipe, on: date, fitter: Fitter, serving: Serving) -> Iterable[bytes]:
    recipe.asked += 1
    recipe.tally.count += 1
    return (
        *recipe.before,
        b'"on":"',
        day_piece(on),
        b'","fitter":"',
        _FITTERS[fitter],
        b'",',
        serving.pieces.get("currency") or currency_piece(serving),
        recipe.after,
    )


def fit_tag(recipe: Recipe, on: date, content: bytes) -> bytes:
    """Give the tag of a response; digesting it takes as long as putting it together, so that is done once a day."""
    day, tag = recipe.tagged
    if day != on:
        tag = etag_of(content).encode()
        recipe.tagged = on, tag
    return tag


@lru_cache(maxsize=1_024)
def day_piece(on: date) -> bytes:
    """Write a day."""
    return on.isoformat().encode()


def cart_told(answer: CartAnswer | SureCart, cart: CartLines, serving: Serving) -> bytes:
    """Put an answer to a cart together, as `CartTold` has it."""
    return serving.carts.told(answer, cart, release_piece(serving), currency_piece(serving))


def checks_told(results: Iterable[bytes], serving: Serving) -> bytes:
    """Put answers to many questions together, as `FitChecksTold` has them."""
    return b'{%b,"results":[%b]}' % (release_piece(serving), b",".join(results))


def check_told(told: bytes) -> bytes:
    """Put one answer of many together, as `FitCheckTold` has it."""
    return b'{"status":200,"answer":%b,"problem":null}' % told


def page_told(page: Page[bytes], on: date, serving: Serving) -> bytes:
    """Put a page of rows together, as `FittingTold` has it."""
    after = to_json(page.next)
    state = b'"complete":%b,"next":%b,"on":"%b"' % (to_json(page.complete), after, on.isoformat().encode())
    rows = b",".join(page.rows)
    return b'{%b,%b,%b"rows":[%b]}' % (release_piece(serving), state, currency_piece(serving), rows)


def export_head(on: date, serving: Serving) -> bytes:
    """Put the first line of an export together: what all its rows have in common."""
    middle = b'"on":"%b",%b' % (on.isoformat().encode(), currency_piece(serving)[:-1])
    return b"{%b,%b}\n" % (release_piece(serving), middle)


def export_ends(rows: int) -> bytes:
    """Put the last line of an export together: without it something is missing."""
    return b'{"complete":true,"rows":%d}\n' % rows


def release_piece(serving: Serving) -> bytes:
    """Name the release, as `ReleaseNamed` does."""
    return serving.pieces.get("release") or _kept(
        serving, "release", b'"release":%b' % ReleaseNamed.from_domain(serving).model_dump_json().encode()
    )


def _pinned(serving: Serving) -> bytes:
    under = pinned_under(serving).encode()
    return _kept(serving, "pinned", b'{%b,"pinned":"%b/' % (release_piece(serving), under))


def currency_piece(serving: Serving) -> bytes:
    """Name the currency of all money in an answer."""
    return serving.pieces.get("currency") or _kept(
        serving, "currency", b'"currency":%b,' % to_json(serving.catalog.shop.currency)
    )


def _kept(serving: Serving, name: str, piece: bytes) -> bytes:
    return serving.pieces.setdefault(name, piece)


def recipe_of(answer: FitAnswer, question: FitQuestion, serving: Serving) -> Recipe:
    """Make the recipe of an answer."""
    told = FitTold.from_domain(answer, question, serving)
    catalog = serving.catalog_of(question.found)
    return Recipe(
        verdict=answer.verdict,
        path=f"{quote(question.bike, safe='')}/{quote(question.part, safe='')}".encode(),
        before=joined(_fields(told, name) for name in (*_JUDGED, *_ABOUT)),
        after=b"".join(_fields(told, name) for name in _LAST)[:-1],
        row=FittingRow.from_domain(answer, catalog).model_dump_json().encode(),
        rules=tuple(finding.rule for finding in answer.findings),
    )


def _fields(told: FitTold, name: str) -> bytes:
    return told.model_dump_json(include={name}).encode()[1:-1] + b","
