"""Pictures of every page and paper, for a person to look at: `python -m tests.browser.pictures OUT_DIR`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pypdfium2
from playwright.sync_api import Browser, Page, expect

from service import story
from service.settings import DEMO_CATALOG
from tests.browser.shop import PATIENCE_MS, STORY, SYSTEMS, TOLD, browser, product_page, served
from tests.contract.office import template
from tests.contract.whole import demo_app, demo_release

PAGES = {
    "start": "/desk",
    "brief": f"/desk/brief?bike={story.BIKE}",
    "brief-told": f"/desk/brief?bike={story.BIKE}&{TOLD}",
    "plan": f"/desk/plan?{STORY}",
    "why": f"/desk/why?{STORY}",
    "ways": f"/desk/ways?{STORY}",
}
PAPERS = ("quote", "picks", "fitting", "at-home", "test", "warranty")
LOOKS: dict[str, dict[str, Any]] = {
    "wide": {"viewport": {"width": 1200, "height": 900}},
    "narrow": {"viewport": {"width": 360, "height": 800}},
    "dark": {"viewport": {"width": 1200, "height": 900}, "color_scheme": "dark"},
}


GADWALL = ("Skarvane", "gadwall", "2018", "grand")
EMBED: dict[str, tuple[tuple[str, ...], str, str | None]] = {
    "choose": ((), "tern-65", "rear_pods"),
    "fits": (GADWALL, "campion-lids-hard-primer", None),
    "fits-with": (GADWALL, "tern-52", "rear_pods"),
    "not-verified": (("Lummaro", "dotterel", "2019", "patrol"), "tern-52", None),
    "does-not-fit": (GADWALL, "tern-65", "rear_pods"),
}
"""On the product page: the bike that a visitor chooses, and the part that the page sells, at a place."""


def take(into: Path) -> None:
    """Take all pictures."""
    into.mkdir(parents=True, exist_ok=True)
    take_embed(into)
    with served(demo_app()) as address, browser() as started:
        for look, options in LOOKS.items():
            for name, path in PAGES.items():
                with_page(started, options, address + path, partial(shot, into / f"{name}-{look}.png"))
        with_page(started, {}, address + PAGES["plan"], partial(printed, into / "plan-print.pdf"))
        draw_pdf(into / "plan-print.pdf")
        take_kept(started, address, into)
        context = started.new_context()
        for name in PAPERS:
            visit = "" if name == "quote" else "&visit=2"
            at = into / f"{name}.pdf"
            at.write_bytes(context.request.get(f"{address}/desk/papers/{name}?{STORY}{visit}&as=pdf").body())
            draw_pdf(at)
        with_page(started, LOOKS["wide"], address + SYSTEMS, partial(shot, into / "proposals-wide.png"))


def take_embed(into: Path) -> None:
    """Take pictures of the product page with each kind of answer."""
    with product_page() as address, browser() as started:
        for look, options in LOOKS.items():
            for name, (bike, part, place) in EMBED.items():
                use = partial(
                    _choose, bike=bike, part=part, place=place, at=into / f"embed-{name}-{look}.png"
                )
                with_page(started, options, address, use)


def _choose(page: Page, *, bike: tuple[str, ...], part: str, place: str | None, at: Path) -> None:
    element = page.locator("loomway-fit")
    element.evaluate("(element, part) => element.setAttribute('part', part)", part)
    if place is None:
        element.evaluate("element => element.removeAttribute('place')")
    answer = page.get_by_role("status")
    expect(answer).to_contain_text("Choose your bike", timeout=PATIENCE_MS)
    for label, choice in zip(("Maker", "Family", "Model year", "Trim"), bike, strict=False):
        page.get_by_label(label).select_option(choice)
    if bike:
        expect(answer).to_contain_text("this bike", timeout=PATIENCE_MS)
        expect(answer).not_to_contain_text("Choose your bike", timeout=PATIENCE_MS)
    shot(at, page)


def take_kept(started: Browser, address: str, into: Path) -> None:
    """Take pictures of a plan from when it is kept until something has failed."""
    context = started.new_context(**LOOKS["wide"])
    page = context.new_page()
    page.goto(f"{address}/desk/key")
    page.get_by_label("key for sales").fill(template(demo_release().id, DEMO_CATALOG).keys["sales"])
    page.get_by_role("button", name="Go on").click()
    page.goto(address + PAGES["plan"])
    page.get_by_label("rider").fill("Imke")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_role("link", name="Write down the visit").click()
    shot(into / "done-wide.png", page)
    page.get_by_label("by", exact=True).fill("Jorun")
    page.get_by_role("button", name="Write it down").click()
    page.get_by_role("link", name="Fill in the test sheet").click()
    shot(into / "test-sheet-wide.png", page)
    page.go_back()
    shot(into / "saved-wide.png", page)
    page.get_by_role("link", name="Correct what was written down").click()
    shot(into / "correction-wide.png", page)
    page.go_back()
    page.get_by_role("link", name="If something has failed").click()
    shot(into / "claim-wide.png", page)
    page.goto(f"{address}/desk/plans")
    shot(into / "plans-wide.png", page)
    context.close()


def with_page(started: Browser, options: dict[str, Any], address: str, use: Callable[[Page], object]) -> None:
    context = started.new_context(**options)
    page = context.new_page()
    page.goto(address, timeout=PATIENCE_MS)
    use(page)
    context.close()


def shot(at: Path, page: Page) -> None:
    page.screenshot(path=at, full_page=True)


def printed(at: Path, page: Page) -> None:
    page.pdf(path=at, format="A4")


def draw_pdf(at: Path) -> None:
    """Draw each page of a PDF."""
    for number, drawn in enumerate(_drawn(at), 1):
        drawn.save(at.with_name(f"{at.stem}-page-{number}.png"))


def _drawn(at: Path) -> Iterator[Any]:
    document = pypdfium2.PdfDocument(at)
    for page in document:
        yield page.render(scale=1.4).to_pil()
    document.close()


if __name__ == "__main__":
    take(Path(sys.argv[1]))
