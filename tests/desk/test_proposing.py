"""From what a rider tells to systems side by side."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from rules.answer import Plan
from rules.build import STOCK
from rules.engine import Engine
from rules.proposals import Brief, Proposal, Proposals, Reason, System
from rules.question import Stage
from service import story
from service.desk.proposing import tell_proposals, told_in_words
from tests.contract.whole import demo_app, demo_release


@pytest.fixture(scope="module")
def shop() -> Iterator[TestClient]:
    with TestClient(demo_app()) as client:
        yield client


def test_what_nobody_has_asked_yet_is_asked_first(shop: TestClient) -> None:
    page = shop.get(f"/desk/proposals?bike={story.BIKE}&rides=town&on=2026-05-18&fitter=shop&budget=300").text
    assert "How often does somebody ride with you?" in page
    assert "What do you listen to" in page


def test_a_proposal_says_what_it_is_what_it_comes_to_and_what_each_reason_rests_on() -> None:
    catalog = demo_release().catalog
    plan = Engine(catalog).path(story.PATH)
    assert isinstance(plan, Plan)
    reasons = (
        Reason(says="The fronts face you"),
        Reason(
            says="It makes more than it needs",
            basis="calculation",
            cites="charging_balance",
            source="balance",
        ),
        Reason(says="A later head unit voids the preset.", basis="rule", cites="later_change_voids_preset"),
    )
    system = System(zones=("fronts",), amplified=True)
    proposal = Proposal(
        name=system.name,
        system=system,
        question=story.PATH,
        plan=plan,
        stays=plan.visits[0].stays,
        reasons=reasons,
        cautions=(),
    )
    told = tell_proposals(Proposals(proposals=(proposal,)), catalog).proposals[0]
    assert (told.name, told.total) == ("Fronts on an amplifier", "1\u202f626.35 EUR")
    assert told.first == "201.60 EUR on 4 May 2026"
    assert "Tern 6.5 in, two-way, 4 ohm (fairing pods)" in told.stays
    assert [x.rests_on for x in told.reasons] == [
        "common practice, no source",
        "worked out; balance",
        "the workshop's own rule",
    ]
    assert told.take.startswith("/desk/plan?q=")


def test_what_the_rider_told_is_read_back_in_one_line() -> None:
    brief = Brief(
        bike=story.BIKE,
        found=STOCK,
        stages=(Stage(on=story.TODAY),),
        rides="fast",
        passenger="often",
        listens=frozenset({"music", "speech"}),
        annoys=frozenset({"wind"}),
    )
    assert told_in_words(brief) == (
        "Rides on motorways, or otherwise fast; with a passenger often; listens to voices and announcements"
        " and music; what annoys: it is lost in the wind."
    )


def test_what_was_fitted_since_goes_into_the_question(shop: TestClient) -> None:
    from service.desk.asked import Fields
    from service.desk.brief import question_of

    fields = Fields.of_query(
        f"bike={story.BIKE}&on=2026-05-18&fitter=shop&budget=&whole=&since=tern-65%40fairing_pods"
        "&since=saltwort-round-blades%40fairing_pods&since=&unknown_work=rear_pods&want=fulmar-4%40fairing_tray&by=0"
    )
    question = question_of(fields, shop.app.state.serving)  # type: ignore[attr-defined]
    assert {str(x.placement) for x in question.found.fitted} == {
        "tern-65@fairing_pods",
        "saltwort-round-blades@fairing_pods",
    }
    assert [x.place for x in question.found.removed] == ["fairing_pods"]
    assert question.found.unknown_work == {"rear_pods"}
    page = shop.get(f"/desk/brief?bike={story.BIKE}&since=tern-65%40fairing_pods").text
    assert '<option value="tern-65@fairing_pods" selected>' in page


def test_a_part_for_which_there_is_no_room_is_refused(shop: TestClient) -> None:
    answer = shop.get(
        f"/desk/plan?bike={story.BIKE}&on=2026-05-18&since=fulmar-4%40battery&want=tern-65%40fairing_pods"
    )
    assert answer.status_code == 422
    assert "no room for it" in answer.text
