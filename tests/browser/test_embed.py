"""The custom element on a shop's page: another origin, a strict policy, a keyboard."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.shop import axe_script, product_page

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def shop_page() -> Iterator[str]:
    with product_page() as address:
        yield address


DOTTEREL = (
    ("Maker", "Lummaro"),
    ("Family", "Dotterel"),
    ("Model year", "2019"),
    ("Trim", "Patrol for the authorities"),
)


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
        ("Family", "Gadwall"),
        ("Model year", "2018"),
        ("Trim", "Grand with top case"),
    ):
        # Locators look into the element's own tree, where the hands of the desk do not.
        page.get_by_label(label).focus()
        page.keyboard.type(choice.split()[0])
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


def test_what_nobody_has_measured_is_told_with_how_to_find_out(
    shop_page: str, context: BrowserContext
) -> None:
    page = context.new_page()
    strict(page)
    page.goto(shop_page)
    page.locator("loomway-fit").evaluate("element => element.setAttribute('place', 'fairing_pods')")
    page.locator("loomway-fit").evaluate("element => element.setAttribute('part', 'tern-52')")
    for label, choice in DOTTEREL:
        page.get_by_label(label).select_option(label=choice)
    answer = page.get_by_role("status")
    expect(answer).to_contain_text("is not verified.", timeout=60_000)
    expect(answer).to_contain_text("To find out: take the right pod off")
    expect(answer).not_to_contain_text("is deeper")


def test_a_narrow_screen_shows_the_whole_page(shop_page: str, context: BrowserContext) -> None:
    page = context.new_page()
    page.set_viewport_size({"width": 360, "height": 800})
    page.goto(shop_page)
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    answer = page.get_by_role("status")
    expect(answer).to_contain_text("Choose your bike")
    before = answer.bounding_box()
    for label, choice in DOTTEREL:
        page.get_by_label(label).select_option(label=choice)
    expect(answer).to_contain_text("this bike", timeout=60_000)
    after = answer.bounding_box()
    assert before is not None
    assert after is not None
    assert before["y"] == after["y"], "long names move nothing"
    assert page.evaluate("document.documentElement.scrollWidth") == 360
