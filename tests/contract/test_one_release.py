"""A known answer is of one release, though another comes to be served while it is given."""

from __future__ import annotations

import asyncio
import json
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.serving import Serving
from service.storefront.thin import known_fit
from service.storefront.thin_carts import KnownCarts
from tests.contract.small import TODAY
from tests.contract.whole import small_whole_app

FIT = "fitment/bittern-2019-plain/curlew-grille"
CART = json.dumps(
    {"bike": "bittern-2019-plain", "parts": [{"part": "curlew-grille", "place": "fairing_pods"}]}
)


class Swapped:
    """What is served is another release at the second look."""

    def __init__(self, first: Serving) -> None:
        self.first = first
        self.looks = 0

    @property
    def serving(self) -> Serving:
        self.looks += 1
        return (
            self.first
            if self.looks == 1
            else replace(self.first, release=replace(self.first.release, id="r-later"))
        )

    def today(self) -> object:
        return TODAY


@pytest.fixture
def first() -> Serving:
    app = small_whole_app()
    client = TestClient(app)
    assert client.get(f"/v1/{FIT}").status_code == 200
    assert (
        client.post("/v1/cart-checks", content=CART, headers={"content-type": "application/json"}).status_code
        == 200
    )
    serving: Serving = app.state.serving
    return serving


def scope(first: Serving, path: str) -> dict[str, Any]:
    return {"path": path, "query_string": b"", "app": SimpleNamespace(state=Swapped(first))}


def test_a_known_cart_has_the_name_of_the_release_that_answers(first: Serving) -> None:
    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": CART.encode(), "more_body": False}

    reply, _ = asyncio.run(KnownCarts(10_000).answer(scope(first, "/v1/cart-checks"), receive))
    assert reply is not None
    assert (
        dict(reply.headers)[b"loomway-release"].decode()
        == json.loads(reply.content)["release"]["name"]
        == first.name
    )


@pytest.mark.parametrize("pinned", [False, True])
def test_a_known_fit_check_is_answered_by_the_release_that_it_asks(first: Serving, *, pinned: bool) -> None:
    path = f"/v1/releases/{first.name}/{FIT}/{TODAY}" if pinned else f"/v1/{FIT}"
    reply = known_fit(scope(first, path), {})
    assert reply is not None
    assert reply.release == json.loads(reply.content)["release"]["name"] == first.name
