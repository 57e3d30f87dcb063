"""Pictures of every page and paper, for a person to look at: `python -m tests.browser.pictures OUT_DIR`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pypdfium2
from playwright.sync_api import Browser, Page

from service import story
from service.app import create_app
from service.settings import Settings
from tests.browser.shop import STORY, browser, served
from tests.contract.whole import demo_release

PAGES = {
    "start": "/desk",
    "brief": f"/desk/brief?bike={story.BIKE}",
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


def take(into: Path) -> None:
    """Take all pictures."""
    into.mkdir(parents=True, exist_ok=True)
    app = create_app(demo_release(), Settings(), today=lambda: story.TODAY)
    with served(app) as address, browser() as started:
        for look, options in LOOKS.items():
            for name, path in PAGES.items():
                with_page(started, options, address + path, partial(shot, into / f"{name}-{look}.png"))
        with_page(started, {}, address + PAGES["plan"], partial(printed, into / "plan-print.pdf"))
        draw_pdf(into / "plan-print.pdf")
        context = started.new_context()
        for name in PAPERS:
            visit = "" if name == "quote" else "&visit=2"
            at = into / f"{name}.pdf"
            at.write_bytes(context.request.get(f"{address}/desk/papers/{name}?{STORY}{visit}&as=pdf").body())
            draw_pdf(at)


def with_page(started: Browser, options: dict[str, Any], address: str, use: Callable[[Page], object]) -> None:
    context = started.new_context(**options)
    page = context.new_page()
    page.goto(address)
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
