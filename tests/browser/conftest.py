from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext

from tests.browser.shop import browser, served
from tests.contract.whole import demo_app


@pytest.fixture(scope="module")
def desk() -> Iterator[str]:
    """The address of the desk of a demo shop that keeps plans."""
    with served(demo_app()) as address:
        yield f"{address}/desk"


@pytest.fixture(scope="module")
def started() -> Iterator[Browser]:
    with browser() as one:
        yield one


@pytest.fixture
def context(started: Browser) -> Iterator[BrowserContext]:
    made = started.new_context()
    yield made
    made.close()
