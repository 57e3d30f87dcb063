"""The quick way of carts says what the framework's way says, byte for byte, and what the models define."""

from __future__ import annotations

import json
from collections.abc import Iterator
from random import Random
from typing import Any

import pytest
from fastapi.testclient import TestClient

from rules.cart import SureCart
from rules.catalog.catalog import Catalog
from rules.question import CartLines
from service.serving import Serving
from service.shapes.carts import CartAsked, CartTold
from service.storefront.answers import cart_told
from tests.contract.small import TODAY, small_release
from tests.contract.test_storefront import NoQuickWay, told
from tests.contract.whole import small_whole_app

PATH = "/v1/cart-checks"
BIKE = "bittern-2019-plain"
CART: dict[str, Any] = {"bike": BIKE, "parts": [{"part": "curlew-grille", "place": "fairing_pods"}]}


@pytest.fixture(scope="module")
def framework() -> TestClient:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("service.observing.wiring.Quick", NoQuickWay)
        return TestClient(small_whole_app(), raise_server_exceptions=False)


@pytest.fixture(scope="module")
def thin() -> TestClient:
    return TestClient(small_whole_app(), raise_server_exceptions=False)


def drawn_carts(catalog: Catalog, count: int) -> Iterator[dict[str, Any]]:
    random = Random(7)
    parts = [x.id for x in catalog.parts.values()]
    for _ in range(count):
        lines = [
            {
                "part": x,
                **random.choice(({}, {}, {"place": None}, {"place": random.choice([*catalog.places])})),
            }
            for x in random.choices(parts, k=random.choice((1, 2, 3, 6)))
        ]
        bike = random.choice([*catalog.bikes, *catalog.ambiguous])
        more = random.choice(({}, {"fitter": "home"}, {"on": "2026-07-01"}, {"on": None}))
        yield {"bike": bike, "parts": lines, **more}


def test_every_cart_has_the_same_bytes_and_headers_by_both_ways(
    thin: TestClient, framework: TestClient
) -> None:
    for cart in drawn_carts(small_release().catalog, 150):
        first, again = thin.post(PATH, json=cart), thin.post(PATH, json=cart)
        assert told(first) == told(again) == told(framework.post(PATH, json=cart)), cart


def test_what_is_put_together_is_what_the_models_define() -> None:
    serving = Serving.of(small_release())
    client = TestClient(small_whole_app())
    for cart in drawn_carts(small_release().catalog, 80):
        answer = client.post(PATH, json=cart)
        if answer.status_code == 200:
            question = CartAsked.model_validate(cart).to_domain(TODAY)
            defined = CartTold.from_domain(serving.engine.cart(question), question, serving)
            assert answer.content == defined.model_dump_json().encode(), cart


def test_a_known_cart_does_not_reach_the_framework(reached: list[str]) -> None:
    client = TestClient(small_whole_app())
    answers = {client.post(PATH, json=CART).content for _ in range(3)}
    assert (len(answers), reached) == (1, [PATH])


def test_a_cart_of_known_pieces_is_known_though_nobody_asked_for_it() -> None:
    app = small_whole_app()
    client = TestClient(app)
    one, other = CART["parts"][0], {"part": "bench-pod", "place": "fairing_pods"}
    for parts in ([one], [other]):
        assert client.post(PATH, json={**CART, "parts": parts}).status_code == 200
    question = CartAsked.model_validate({**CART, "parts": [one, other]}).to_domain(TODAY)
    serving: Serving = app.state.serving
    cart = CartLines.of(question, serving.carts.ranks)
    known = serving.engine.known_cart(cart)
    assert isinstance(known, SureCart)
    unknown = Serving.of(small_release()).engine.cart(question)
    defined = CartTold.from_domain(unknown, question, serving)
    assert cart_told(known, cart, serving) == defined.model_dump_json().encode()


def _body(**fields: Any) -> bytes:
    return json.dumps({**CART, **fields}).encode()


@pytest.mark.parametrize(
    "body",
    [
        _body(bike="no-such-bike"),
        _body(bike=""),
        _body(bike="x" * 81),
        _body(bike=5),
        _body(fitter="nobody"),
        _body(fitter=["shop"]),
        _body(on="2026-02-30"),
        _body(on="20260501"),
        _body(on=20260501),
        _body(colour="red"),
        _body(found={}),
        _body(found={"presets": []}),
        _body(parts=[]),
        _body(parts={}),
        _body(parts=[{"part": "no-such-part"}]),
        _body(parts=[{"part": "curlew-slim", "place": "nowhere"}]),
        _body(parts=[{"part": "curlew-slim", "place": ""}]),
        _body(parts=[{"part": "curlew-slim", "pieces": 2}]),
        _body(parts=[{"part": ["curlew-slim"]}]),
        _body(parts=["curlew-slim"]),
        _body(parts=[{"part": "curlew-slim"}] * 101),
        _body(parts=[{"part": "curlew-slim"}] * 100),
        _body(bike="a]b"),
        _body(bike="a[b"),
        _body(parts=[{"part": "a}b"}]),
        _body(parts=[[{"part": "curlew-slim"}]]),
        _body().replace(b"}]", b"},]"),
        _body().replace(b"}]", b"}, {}]"),
        _body().replace(b"[{", b"[,{"),
        _body().replace(b"[{", b"[\x0b{"),
        _body()[:-1] + b', "parts": [{"part": "curlew-slim"}]}',
        json.dumps(CART, indent=2).encode(),
        json.dumps(CART, separators=(",", ":")).encode(),
        b"",
        b"[]",
        b"{",
        b"[" * 5_000,
        b"\xff\xfe",
        b"\xef\xbb\xbf" + _body(),
        json.dumps(CART).encode("utf-16"),
        b'{"bike": "\\ud800", "parts": [{"part": "curlew-slim"}]}',
        _body(parts=[{"part": "curlew-slim", "place": "x" * 20_000}]),
        b" " * 2_000_000 + _body(),
    ],
)
def test_what_is_not_plain_is_answered_alike(thin: TestClient, framework: TestClient, body: bytes) -> None:
    headers = {"content-type": "application/json"}
    assert told(thin.post(PATH, content=body, headers=headers)) == told(
        framework.post(PATH, content=body, headers=headers)
    )


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"content-type": "text/plain"},
        {"content-type": "application/json; charset=utf-8"},
        {"content-type": "Application/JSON"},
        {"content-type": "application/json", "loomway-release": "r-other.1"},
        {"content-type": "application/json", "loomway-min-release": "0"},
        {"content-type": "application/json", "content-length": "5"},
        {"content-type": "application/json", "transfer-encoding": "chunked"},
    ],
)
@pytest.mark.parametrize("method", ["POST", "PUT", "GET", "HEAD"])
def test_heads_that_are_not_plain_are_answered_alike(
    thin: TestClient, framework: TestClient, headers: dict[str, str], method: str
) -> None:
    for client in (thin, framework):
        assert client.post(PATH, json=CART).status_code == 200
    one, other = (
        client.request(method, PATH, content=_body(), headers=headers) for client in (thin, framework)
    )
    assert told(one) == told(other)


def test_a_body_in_several_pieces_is_read_whole(thin: TestClient) -> None:
    body = _body()
    headers = {"content-type": "application/json", "content-length": str(len(body))}
    whole = thin.post(PATH, content=body, headers=headers)
    pieces = thin.post(PATH, content=iter([body[:20], body[20:]]), headers=headers)
    assert told(whole) == told(pieces)
