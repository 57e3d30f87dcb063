"""Saved plans at the desk, over the forms that a browser sends."""

from __future__ import annotations

import re
from collections.abc import Iterator
from json import dumps
from urllib.parse import urlencode

import httpx2
import pytest
from fastapi.testclient import TestClient

from service import story
from service.plans.form import question_asked
from service.settings import DEMO_CATALOG
from tests.contract.office import template
from tests.contract.whole import demo_app, demo_release

SENT = {"Sec-Fetch-Site": "same-origin", "Content-Type": "application/x-www-form-urlencoded"}


@pytest.fixture(scope="module")
def shop() -> Iterator[TestClient]:
    with TestClient(demo_app()) as client:
        send(client, "/desk/key", [("key", template(demo_release().id, DEMO_CATALOG).keys["sales"])])
        yield client


def send(shop: TestClient, path: str, pairs: list[tuple[str, str]]) -> httpx2.Response:
    return shop.post(path, content=urlencode(pairs), headers=SENT)


@pytest.fixture
def plan(shop: TestClient) -> str:
    """The address of a plan that was just kept."""
    asked = [("q", dumps(question_asked(story.PATH))), ("rider", "Imke")]
    return str(send(shop, "/desk/plans", asked).url.path)


def revision(shop: TestClient, plan: str) -> tuple[str, str]:
    found = re.search(r'name="revision" value="(\d+)"', shop.get(plan).text)
    assert found
    return "revision", found[1]


def test_a_form_that_is_sent_twice_keeps_one_plan(shop: TestClient) -> None:
    asked = [("q", dumps(question_asked(story.PATH))), ("word", "only once")]
    first, second = (send(shop, "/desk/plans", asked).url.path for _ in range(2))
    assert first == second


def write_down(shop: TestClient, plan: str) -> str:
    """Write the first visit down, two days late, and for a little less than planned."""
    off = re.search(r'name="removed" value="([^"]+)"', shop.get(f"{plan}/visits/1/done").text)
    assert off
    done = [
        ("on", "2026-05-06"),
        ("fitter", "shop"),
        ("by", "Jorun"),
        ("fitted", "tern-65@fairing_pods"),
        ("paid:tern-65@fairing_pods", "140"),
        ("fitted", "saltwort-round-blades@fairing_pods"),
        ("removed", off[1]),
        ("others", "41,60"),
    ]
    return send(shop, f"{plan}/visits/1/done", [revision(shop, plan), *done]).text


def test_a_visit_is_written_down_as_it_was_done(shop: TestClient, plan: str) -> None:
    page = write_down(shop, plan)
    assert "6 May 2026, fitted in the workshop by Jorun" in page
    assert "181.60" in page
    claim = shop.get(f"{plan}/claim").text
    assert "In term: inspect it." in claim
    assert "6 May 2028" in claim


def test_what_was_done_is_not_offered_again(shop: TestClient, plan: str) -> None:
    write_down(shop, plan)
    assert '<input type="hidden" name="visit" value="2">' in shop.get(plan).text
    quote = shop.get(f"{plan}/papers/quote?visit=2").text
    assert "Visit of 5 April 2027" in quote
    assert "Imke" in quote
    assert "Later visits" not in quote


def test_a_test_sheet_is_held_against_its_limits(shop: TestClient, plan: str) -> None:
    write_down(shop, plan)
    sheet = [
        ("on", "2026-05-06"),
        ("by", "Jorun"),
        ("rest_v", "12,7"),
        ("raised_v", "12.9"),
        ("compare", "fronts, left against right"),
        ("heard:fronts, left against right", "turned"),
        ("steers_freely", "yes"),
    ]
    kept = send(shop, f"{plan}/done/1/test", [revision(shop, plan), *sheet])
    assert "Tested 6 May 2026 by Jorun" in kept.text
    page = shop.get(f"{plan}/done/1/test").text
    told = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    for words in (
        "Battery at rest as it should be: 12.7 V at least 12.4 V",
        "Battery, raised not as it should be: 12.9 V at least 13.2 V",
        "The bike does not charge: find out why before it leaves.",
        "Fronts, left against right not as it should be",
        "Sign-off not written down",
    ):
        assert words in told
    again = re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"([^>]*)', page.split("<form")[1])
    given = {(name, value) for name, value, more in again if "type" not in more or "checked" in more}
    for field in (("rest_v", "12.7"), ("by", "Jorun"), ("on", "2026-05-06"), ("steers_freely", "yes")):
        assert field in given
    assert 'name="heard:fronts, left against right" value="turned" checked' in page


def test_what_if_keeps_nothing_until_somebody_says_so(shop: TestClient, plan: str) -> None:
    other = [("on", "2026-05-04"), ("on", "2027-04-05"), ("budget", "300"), ("budget", "1600")]
    tried = shop.get(f"{plan}/try?{urlencode([*other, ('part', 'drop:fulmar-4')])}").text
    assert "Tried out, not kept" in tried
    assert "Fulmar 4" not in re.sub(r"(?s)<form.*?</form>|<p class=.under.*?</p>", "", tried)
    assert "Fulmar 4" in shop.get(plan).text
    kept = send(shop, f"{plan}/anew", [revision(shop, plan), *other, ("part", "drop:fulmar-4")])
    assert kept.url.path == plan
    assert "revision 2" in kept.text


@pytest.mark.parametrize("revision", ["", "\u00b2", "9" * 40, "-1"])
def test_a_revision_that_is_none_changes_nothing(shop: TestClient, plan: str, revision: str) -> None:
    assert send(shop, f"{plan}/away", [("revision", revision), ("away", "yes")]).status_code == 409


def test_who_was_overtaken_changes_nothing(shop: TestClient, plan: str) -> None:
    seen = revision(shop, plan)
    assert send(shop, f"{plan}/away", [seen, ("away", "yes")]).status_code == 200
    answer = send(shop, f"{plan}/rider", [seen, ("rider", "Somebody else")])
    assert answer.status_code == 409
    assert "Somebody else" not in shop.get(plan).text


def test_a_rider_reads_by_the_link_and_does_nothing_else(shop: TestClient, plan: str) -> None:
    page = send(shop, f"{plan}/link", []).text
    link = re.search(r"/desk/shared/[\w-]+", page)
    assert link
    with TestClient(shop.app) as rider:
        told = rider.get(link[0]).text
        assert "Your plan for Skarvane Gadwall" in told
        assert "<form" not in told
        assert "cheaper way" not in told
        assert "Imke" not in told
        assert rider.get(plan).url.path == "/desk/key"


def test_a_copy_is_a_plan_of_its_own(shop: TestClient, plan: str) -> None:
    copy = send(shop, f"{plan}/copy", [])
    assert copy.url.path != plan
    assert "nothing is done yet" in copy.text


def test_what_the_rider_has_goes_into_the_plan_for_the_next_bike(shop: TestClient, plan: str) -> None:
    write_down(shop, plan)
    moved = send(shop, f"{plan}/next-bike", [revision(shop, plan), ("bike", "gadwall-2017-grand")])
    assert moved.status_code == 200
    assert "Gadwall Grand with top case, 2017" in moved.text
    assert "Imke" in moved.text
    assert "put away" in shop.get(plan).text


def test_a_visit_that_was_written_down_wrongly_is_put_right_at_the_desk(shop: TestClient, plan: str) -> None:
    write_down(shop, plan)
    form = shop.get(f"{plan}/done/1/correct").text
    assert 'value="Jorun"' in form
    assert 'name="fitted" value="tern-65@fairing_pods" checked' in form
    assert 'value="140"' in form
    right = [
        ("on", "2026-05-07"),
        ("fitter", "home"),
        ("by", "Sunniva"),
        ("fitted", "saltwort-round-blades@fairing_pods"),
        ("besides", "tern-65-paper@fairing_pods"),
        ("besides_paid", "99"),
        ("besides_serial", "TP-1"),
        ("removed", "skarvane-pod-155@fairing_pods"),
        ("others", "0"),
        ("why", "another pair was in the box"),
    ]
    page = send(shop, f"{plan}/done/1/correct", [revision(shop, plan), *right]).text
    assert "7 May 2026, fitted at home by Sunniva" in page
    assert "TP-1" in page
    assert "Not quite as it was planned." in page
    claim = shop.get(f"{plan}/claim").text
    assert "corrected" in claim
    assert "another pair was in the box" in claim


def test_a_visit_that_never_took_place_is_taken_back_at_the_desk(shop: TestClient, plan: str) -> None:
    write_down(shop, plan)
    never = [("on", "2026-05-06"), ("by", "Jorun"), ("never_done", "yes"), ("why", "another bike")]
    page = send(shop, f"{plan}/done/1/correct", [revision(shop, plan), *never]).text
    assert "nothing is done yet" in page
    assert "What is done" not in page


def test_what_was_fitted_and_came_off_besides_the_plan_is_written_down(shop: TestClient, plan: str) -> None:
    done = [
        ("on", "2026-05-06"),
        ("fitter", "shop"),
        ("by", "Jorun"),
        ("besides", "tern-52@rear_pods"),
        ("besides_paid", "119"),
        ("besides", ""),
        ("besides_paid", ""),
        ("removed", "skarvane-rear-128@rear_pods"),
        ("fetched:skarvane-rear-128@rear_pods", "9"),
        ("others", "0"),
    ]
    page = send(shop, f"{plan}/visits/1/done", [revision(shop, plan), *done]).text
    assert "Tern 5.25 in, two-way, 4 ohm" in page
    assert "rear pods" in page


def test_a_part_that_was_to_come_off_may_be_asked_to_stay(shop: TestClient, plan: str) -> None:
    other = [("on", "2026-05-04"), ("on", "2027-04-05"), ("part", "keep:skarvane-rear-128@rear_pods")]
    tried = shop.get(f"{plan}/try?{urlencode(other)}").text
    assert "There is no way to have all of this at once" in tried
    assert "What must stay" in tried


def test_what_a_year_may_cost_is_a_limit_of_its_own(shop: TestClient, plan: str) -> None:
    days = [("on", "2026-05-04"), ("on", "2027-04-05")]
    assert 'name="year:2027"' in shop.get(plan).text
    tried = shop.get(f"{plan}/try?{urlencode([*days, ('year:2026', '100'), ('year:2027', '100')])}").text
    assert "There is no way to have all of this at once" in tried
    assert "The money of the year 2026" in tried
    wide = [*days, ("year:2027", "5000")]
    kept = send(shop, f"{plan}/anew", [revision(shop, plan), *wide])
    assert 'name="year:2027" inputmode="decimal" value="5000"' in kept.text


def test_who_measured_is_kept_with_the_plan_and_stands_in_no_address(shop: TestClient) -> None:
    path = "places.rear_pods.geometry.depth_mm"
    found = {"measured": [{"path": path, "value": 52.0, "on": "2026-05-03"}]}
    asked = {**question_asked(story.PATH), "found": found}
    page = shop.get(f"/desk/plan?{urlencode({'q': dumps(asked)})}").text
    assert "Measured on this bike on 3 May 2026: depth (mm), rear pods: 52" in page
    assert f'name="photo:{path}"' in page
    told = [("q", dumps(asked)), ("measured_by", "Jorun"), (f"photo:{path}", "2026-118-4")]
    kept = send(shop, "/desk/plans", told)
    assert "by Jorun: depth (mm), rear pods: 52, photo 2026-118-4" in kept.text
    assert "Jorun" not in "".join(re.findall(r'href="([^"]*)"', kept.text))


def test_a_rider_who_is_back_is_found_by_name_and_the_name_stands_in_no_address(
    shop: TestClient, plan: str
) -> None:
    send(shop, f"{plan}/rider", [revision(shop, plan), ("rider", "Torfinn Bakke"), ("contact", "")])
    found = send(shop, "/desk/plans/find", [("text", "bakke")])
    assert found.url.path == "/desk/plans/find"
    assert f'href="{plan}"' in found.text
    assert found.text.count("<tr>") == 2
    assert "Bakke" not in "".join(re.findall(r'href="([^"]*)"', found.text))
    assert "No plan of such a rider is kept." in send(shop, "/desk/plans/find", [("text", "nobody")]).text


def test_a_link_is_ended_at_once(shop: TestClient, plan: str) -> None:
    link = re.search(r"/desk/shared/[\w-]+", send(shop, f"{plan}/link", []).text)
    assert link
    share = re.search(r'name="share" value="([^"]+)"', shop.get(plan).text)
    assert share
    page = send(shop, f"{plan}/link/end", [("share", share[1])])
    assert "works until" not in page.text
    assert shop.get(link[0]).status_code == 404
