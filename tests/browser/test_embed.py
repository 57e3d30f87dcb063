"""The custom element on a shop's page: another origin, a strict policy, a keyboard."""

from __future__ import annotations

import functools
import threading
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from service import story
from service.app import create_app
from service.settings import DEMO_CATALOG, Settings
from tests.browser.shop import axe_script, served
from tests.contract.whole import demo_release

pytestmark = pytest.mark.browser
WRITTEN = "http://127.0.0.1:8000"


class Quiet(SimpleHTTPRequestHandler):
    """Serves a directory, and says nothing about it."""

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture(scope="module")
def shop_page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of the demo's product page on an origin of its own; the service is on another."""
    folder = tmp_path_factory.mktemp("shop")
    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=str(folder)))
    origin = f"http://127.0.0.1:{server.server_port}"
    threading.Thread(target=server.serve_forever, daemon=True).start()
    settings = Settings().model_copy(update={"allowed_origins": (origin,)})
    with served(create_app(demo_release(), settings, today=lambda: story.TODAY)) as service:
        text = Path(DEMO_CATALOG, "shop_page.html").read_text().replace(WRITTEN, service)
        (folder / "index.html").write_text(text)
        yield f"{origin}/index.html"
    server.shutdown()
    server.server_close()


def strict(page: Page) -> None:
    page.on("console", lambda told: pytest.fail(told.text) if told.type == "error" else None)
    page.on("pageerror", lambda fault: pytest.fail(str(fault)))


def test_a_visitor_chooses_by_keyboard_and_reads_why_a_part_does_not_fit(
    shop_page: str, context: BrowserContext
) -> None:
    page = context.new_page()
    strict(page)
    page.goto(shop_page)
    answer = page.get_by_role("status")
    expect(answer).to_have_text("Choose your bike to see whether this part fits it.")
    before = answer.bounding_box()
    for label, choice in (
        ("Maker", "Skarvane"),
        ("Family", "gadwall"),
        ("Model year", "2018"),
        ("Trim", "grand"),
    ):
        # Locators look into the element's own tree, where the hands of the desk do not.
        page.get_by_label(label).focus()
        page.keyboard.type(choice)
        expect(page.get_by_label(label).locator("option:checked")).to_have_text(choice)
    expect(answer).to_contain_text("does not fit this bike.")
    assert len(answer.locator("p").all()) > 1, "with a reason"
    after = answer.bounding_box()
    assert before is not None
    assert after is not None
    assert (before["x"], before["y"]) == (after["x"], after["y"]), "nothing moved"

    page.evaluate(axe_script())
    found = page.evaluate("axe.run().then(result => result.violations.map(x => x.id))")
    assert found == []

    page.reload()
    expect(page.get_by_role("status")).to_contain_text("does not fit this bike.")
    page.locator("loomway-fit").evaluate("element => element.setAttribute('part', 'tern-52')")
    expect(page.get_by_role("status")).to_contain_text("fits this bike")
