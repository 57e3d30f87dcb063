from __future__ import annotations

import pypdfium2
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from rules.release import Release
from service import story
from service.settings import DEMO_CATALOG
from tests.browser.hands import Hands
from tests.browser.shop import PATIENCE_MS, STORY, SYSTEMS, TOLD, axe_script
from tests.contract.office import template
from tests.contract.whole import demo_release

pytestmark = pytest.mark.browser


def _key(release: Release) -> str:
    return template(release.id, DEMO_CATALOG).keys["sales"]


def _no_faults(page: Page) -> None:
    """Fail on what a page says in its console: a refused style or script among it."""
    page.on("console", lambda told: pytest.fail(told.text) if told.type == "error" else None)
    page.on("pageerror", lambda fault: pytest.fail(str(fault)))


def test_the_whole_conversation_goes_by_keyboard(desk: str, context: BrowserContext) -> None:
    page = context.new_page()
    _no_faults(page)
    hands = Hands(page)
    page.goto(f"{desk}/key")
    hands.write("key for sales", _key(demo_release()))
    hands.press("button", "Go on")

    page.goto(desk)
    hands.choose("Bike", "Gadwall Grand with top case, 2018")
    hands.press("button", "Go on")
    hands.tick("mostly in town")
    hands.tick("never")
    hands.tick("voices and announcements")
    hands.write("Visit 1: at most", "400")
    hands.write("Visit 2: at most", "1500")
    hands.press("button", "Propose systems")
    expect(page.get_by_role("article")).to_have_count(3)
    expect(page.get_by_role("heading", level=2).last).to_have_text("Fronts and rears on an amplifier")
    for _ in range(2):
        hands.reach("a", "Look at this plan")
    hands.press("a", "Look at this plan")
    expect(page.get_by_role("heading", level=1)).to_have_text(
        "Plan for Skarvane Gadwall Grand with top case, 2018"
    )
    hands.write("Visit 2: at most", "1400")
    page.keyboard.press("Tab")
    expect(page.locator("#working")).to_have_text("The plan is worked out anew.")
    expect(page.locator("#visits + p")).to_have_text("There is no cheaper way.")

    hands.write("rider", "Imke")
    hands.press("button", "Keep it")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Imke")
    hands.press("a", "Write down the visit of 18 May 2026")
    hands.write("by", "Jorun")
    hands.press("button", "Write it down")
    expect(page.locator("section", has=page.locator("#done"))).to_contain_text("Tern 5.25 in")
    hands.press("a", "Fill in the test sheet")
    for name, volts in (("at rest", "12.7"), ("idling", "12.9"), ("raised, everything", "14.1")):
        hands.write(name, volts)
    hands.write("tested by", "Jorun")
    hands.write("signed by", "Sunniva")
    hands.press("button", "Keep the test sheet")
    expect(page.locator("main")).to_contain_text("signed by Sunniva")

    hands.press("a", "Correct what was written down")
    hands.write("by", "Torfinn")
    hands.write("what was wrong", "another hand did it")
    hands.press("button", "Put it right")
    expect(page.get_by_role("heading", level=3).first).to_contain_text("by Torfinn")

    hands.write("Visit 1: at most", "1450")
    page.keyboard.press("Tab")
    expect(page.locator("#trying")).to_be_visible()
    hands.press("button", "Keep this instead")
    expect(page.locator("footer")).to_contain_text("revision 5")


def test_a_changed_amount_is_worked_out_at_once_and_back_again(desk: str, context: BrowserContext) -> None:
    page = context.new_page()
    _no_faults(page)
    hands = Hands(page)
    page.goto(f"{desk}/brief?bike={story.BIKE}")
    hands.write("Visit 1: at most", "300")
    hands.write("Visit 2: at most", "1600")
    hands.choose("Fronts (fairing pods)", "Tern 6.5 in, two")
    hands.choose("Fronts: by which visit", "the first visit")
    hands.choose("Amplifier (amplifier tray in the fairing)", "Fulmar 4, four")
    hands.choose("Rears (rear pods)", "Tern 5.25 in, two")
    hands.press("button", "Work out the plan")
    expect(page.locator("#visits + p")).to_have_text("There is no cheaper way.")
    hands.write("Visit 2: at most", "100")
    page.keyboard.press("Tab")
    expect(page.locator("#plan")).to_contain_text("There is no way to have all of this at once")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Control+A")
    page.keyboard.type("1700")
    page.keyboard.press("Tab")
    expect(page.locator("#visits + p")).to_have_text("There is no cheaper way.")


def test_what_is_no_part_of_the_model_is_told_by_keyboard(desk: str, context: BrowserContext) -> None:
    page = context.new_page()
    _no_faults(page)
    hands = Hands(page)
    page.goto(f"{desk}/brief?bike={story.BIKE}")
    hands.open("something was fitted at the rear pods")
    hands.choose("Rear pods: fitted since, 1", "Tern 5.25 in, two")
    hands.choose("Rear pods: fitted since, 2", "Saltwort adapter, Skarvane round")
    hands.open("A part of the rider’s own")
    hands.choose("Own part 1: where it is", "speaker with Skarvane pod plug, round")
    hands.write("Own part 1: its name", "Eider pair")
    hands.write("Own part 1: ohm", "4")
    hands.write("Own part 1: watts", "40")
    hands.open("Measured on this bike")
    hands.choose("Measured 1: what", "battery age")
    hands.write("Measured 1: is", "3")
    hands.choose("Lids (side-case lids)", "Tern 5.25 in, two")
    hands.press("button", "Work out the plan")
    told = page.locator("main")
    expect(told).to_contain_text("Measured on this bike: battery age (years): 3")
    expect(page.locator("section", has=page.locator("#visits"))).not_to_contain_text(
        "That does not go together"
    )
    hands.press("a", "Change the answers")
    for name, value in (
        ("Own part 1: its name", "Eider pair"),
        ("Rear pods: fitted since, 1", "tern-52@rear_pods"),
        ("Measured 1: is", "3"),
        ("Lids (side-case lids)", "tern-52@lids"),
    ):
        expect(page.get_by_label(name)).to_have_value(value)


def test_without_javascript_a_plan_reads_and_prints(desk: str, started: Browser) -> None:
    context = started.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{desk}/plan?{STORY}")
    told = page.locator("main").inner_text()
    for words in ("4 May 2026", "Tern 6.5 in, two-way, 4 ohm", "1\u202f651.35", "Fulmar 4", "What stays"):
        assert words in told
    page.get_by_label("Visit 2: at most").fill("1700")
    page.get_by_role("button", name="Work it out anew").click()
    assert "There is no cheaper way." in page.locator("main").inner_text()
    page.get_by_text("Why each part, and why then").click()
    page.get_by_role("link", name="Show the reasons").click()
    assert "needed by" in page.locator("main").inner_text().lower()
    page.goto(f"{desk}/plan?{STORY}")
    printed = _words(page.pdf())
    for words in ("4 May 2026", "Every plug in words", "Skarvane pod plug, round, 2 contacts"):
        assert words in printed
    for words in ("Work it out anew", "cheaper way"):
        assert words not in printed
    context.close()


def _words(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    found = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    return " ".join(found.split())


PAGES = {
    "start": "",
    "brief": f"/brief?bike={story.BIKE}",
    "brief as told": f"/brief?bike={story.BIKE}&{TOLD}",
    "plan": f"/plan?{STORY}",
    "why": f"/why?{STORY}",
    "ways": f"/ways?{STORY}",
    "systems": SYSTEMS.removeprefix("/desk"),
    "quote": f"/papers/quote?{STORY}",
    "picks": f"/papers/picks?{STORY}&visit=2",
    "at home": f"/papers/at-home?{STORY}&visit=2",
    "warranty": f"/papers/warranty?{STORY}&visit=2",
    "fitting": f"/papers/fitting?{STORY}&visit=2",
    "test": f"/papers/test?{STORY}&visit=2",
    "key": "/key",
}


def _faults(page: Page, *, colours_only: bool = False) -> list[tuple[str, list[str]]]:
    """Ask the script that knows what shuts people out."""
    page.evaluate(axe_script())
    asked = {"runOnly": ["color-contrast"]} if colours_only else {}
    found = page.evaluate("async asked => (await axe.run(asked)).violations", asked)
    return [(x["id"], [y["html"][:90] for y in x["nodes"]][:3]) for x in found]


def test_nothing_shuts_anybody_out(desk: str, started: Browser) -> None:
    context = started.new_context(color_scheme="light", bypass_csp=True)
    page = context.new_page()
    found = {}
    for name, path in PAGES.items():
        page.emulate_media(color_scheme="light")
        page.goto(desk + path, timeout=PATIENCE_MS)
        found[name] = _faults(page)
        page.emulate_media(color_scheme="dark")
        # Nothing else differs in the dark.
        found[f"{name}, dark"] = _faults(page, colours_only=True)
    context.close()
    assert {name: x for name, x in found.items() if x} == {}


def test_nothing_shuts_anybody_out_of_a_saved_plan(desk: str, started: Browser) -> None:
    context = started.new_context(bypass_csp=True)
    page = context.new_page()
    page.goto(f"{desk}/key")
    page.get_by_label("key for sales").fill(_key(demo_release()))
    page.get_by_role("button", name="Go on").click()
    page.goto(f"{desk}/plan?{STORY}")
    page.get_by_role("button", name="Keep it").click()
    found = {"kept": _faults(page)}
    kept = page.url
    page.get_by_role("link", name="Write down the visit").click()
    found["done"] = _faults(page)
    page.get_by_label("by", exact=True).fill("Jorun")
    page.get_by_role("button", name="Write it down").click()
    found["under way"] = _faults(page)
    for name, path in (
        ("test sheet", "/done/1/test"),
        ("claim", "/claim"),
        ("second visit", "/visits/2/done"),
        ("correction", "/done/1/correct"),
    ):
        page.goto(kept + path)
        found[name] = _faults(page)
    page.goto(f"{desk}/plans")
    found["list"] = _faults(page)
    context.close()
    assert {name: x for name, x in found.items() if x} == {}


def test_a_search_that_takes_longer_than_a_moment_shows_that_it_goes_on(
    desk: str, context: BrowserContext
) -> None:
    page = context.new_page()
    page.goto(f"{desk}/plan?{STORY}")
    waiting: list[Route] = []

    def hold(route: Route) -> None:
        waiting.append(route)

    page.route("**/desk/plan?*", hold)
    page.get_by_label("Visit 2: at most").fill("1700")
    page.keyboard.press("Tab")
    expect(page.get_by_role("progressbar")).to_be_visible()
    expect(page.locator("#plan")).to_have_attribute("aria-busy", "true")
    waiting[0].continue_()
    expect(page.locator("#working")).to_have_text("The plan is worked out anew.")
    expect(page.get_by_role("progressbar")).to_have_count(0)


def test_a_narrow_window_never_scrolls_sideways(desk: str, started: Browser) -> None:
    context = started.new_context(viewport={"width": 360, "height": 800})
    page = context.new_page()
    for path in PAGES.values():
        page.goto(desk + path, timeout=PATIENCE_MS)
        wide = page.evaluate("() => document.documentElement.scrollWidth")
        assert wide <= 360, path
    context.close()
