"""From what a rider tells to systems side by side."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pytest
from fastapi.testclient import TestClient

from rules.answer import Plan
from rules.build import STOCK
from rules.catalog.facts import Unknown
from rules.engine import Engine
from rules.proposals import Brief, Proposal, Proposals, Reason, System
from rules.question import PathQuestion, Stage
from service import story
from service.desk.asked import Fields
from service.desk.brief import question_of
from service.desk.proposing import read_brief, tell_proposals, told_in_words
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
    fields = Fields.of_query(
        f"bike={story.BIKE}&on=2026-05-18&fitter=shop&budget=&whole=&since=tern-65%40fairing_pods"
        "&since=saltwort-round-blades%40fairing_pods&since=&unknown_work=rear_pods&want=fulmar-4%40fairing_tray&by=0"
    )
    question = question_of(fields, shop.app.state.serving, story.TODAY)  # type: ignore[attr-defined]
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


def _question(shop: TestClient, query: str) -> PathQuestion:
    fields = Fields.of_query(f"bike={story.BIKE}&on=2026-05-18&want=tern-65%40fairing_pods&by=0&{query}")
    return question_of(fields, shop.app.state.serving, story.TODAY)  # type: ignore[attr-defined]


OWN = "own=tern-52%40rear_pods&own_name=Eider+pair&own_ohm={ohm}&own_watts=40&own_depth=48"


def test_a_riders_own_part_is_described_by_the_plugs_of_one_that_is_known(shop: TestClient) -> None:
    found = _question(shop, OWN.format(ohm=4)).found
    own = found.own_parts[0]
    assert (own.name, own.kind, own.slot, own.at) == ("Eider pair", "speaker", "speaker", ("rear_pods",))
    assert (own.speaker.impedance_ohm, own.speaker.rms_w) == (4.0, 40.0)  # type: ignore[union-attr]
    assert own.spec["depth_mm"] == 48.0
    assert isinstance(own.spec["basket_mm"], Unknown)
    assert own.connectors["terminals"].map == "blades"
    assert [str(x.placement) for x in found.fitted] == [f"{own.id}@rear_pods"]
    assert [x.part for x in found.removed] == ["skarvane-rear-128"]


def test_what_nobody_can_read_off_a_riders_own_part_leaves_the_answer_open(shop: TestClient) -> None:
    page = shop.get(
        f"/desk/plan?bike={story.BIKE}&on=2026-05-18&fitter=shop&want=tern-65%40fairing_pods&by=0"
        "&since=saltwort-round-blades%40rear_pods&" + OWN.format(ohm="")
    ).text
    assert "Nobody can say yet: something is not known." in page
    assert "measure the resistance of one of them" in page


def test_a_riders_own_amplifier_that_was_set_up_keeps_its_preset(shop: TestClient) -> None:
    own = "own=fulmar-4%40fairing_tray&own_name=Turnstone+4&own_ohm=4&own_watts=35&own_depth="
    question = _question(shop, own + "&preset_in_force=fairing_tray")
    (part,) = question.found.own_parts
    assert {x.min_ohm for x in part.channels} == {4.0}
    assert {str(x.watts) for x in part.channels} == {"{'4': 35.0}"}
    assert all(not x.bridges for x in part.channels)
    assert isinstance(part.supply.fuse_a, Unknown)  # type: ignore[union-attr]
    assert question.found.presets == (part.id,)
    assert _question(shop, own).found.presets == ()


def test_what_is_known_of_parts_that_were_fitted_since_goes_into_the_question(shop: TestClient) -> None:
    found = _question(
        shop,
        "since=&since_paid=&since=tern-52%40rear_pods&since_paid=119&when:rear_pods=2024-06-01&who:rear_pods=home",
    ).found
    (entry,) = found.fitted
    assert (entry.paid, entry.fitted_on, entry.fitter) == (11_900, date(2024, 6, 1), "home")


def test_what_was_measured_on_this_bike_counts_instead_of_the_record(shop: TestClient) -> None:
    query = (
        "measured=places.rear_pods.geometry.depth_mm&measured_value=52,5&measured_on=2026-05-03"
        "&measured=places.lids.geometry.lid_shape&measured_value=%3F&measured_on="
        "&measured=facts.factory_rears&measured_value=no&measured_on=&measured=&measured_value=&measured_on="
    )
    depth, shape, rears = _question(shop, query).found.measured
    assert (depth.path, depth.value, depth.on) == (
        "places.rear_pods.geometry.depth_mm",
        52.5,
        date(2026, 5, 3),
    )
    assert isinstance(shape.value, Unknown)
    assert rears.value is False
    (age,) = _question(shop, "measured=facts.battery_age_years&measured_value=3").found.measured
    assert age.value == 3
    page = shop.get(f"/desk/brief?bike={story.BIKE}&{query}").text
    assert (
        '<option value="places.rear_pods.geometry.depth_mm" selected>depth (mm), rear pods · 54</option>'
        in page
    )
    assert 'value="52,5"' in page


@pytest.mark.parametrize(
    "query",
    [
        "own=nothing%40rear_pods",
        "own=tern-52%40rear_pods&own_ohm=four",
        "own=tern-52%40rear_pods&own_ohm=-4",
        "own=tern-52%40rear_pods&own_ohm=inf",
        "own=tern-52%40nowhere",
        "own=tern-52%40rear_pods&own_name=" + "x" * 500,
        "own=tern-52%40rear_pods&own=tern-52%40rear_pods",
        "measured=loom.connectors.main.presence&measured_value=no",
        "measured=places.rear_pods.geometry.depth_mm&measured_value=deep",
        "measured=places.rear_pods.geometry.depth_mm&measured_value=1e999",
        "measured=places.rear_pods.geometry.depth_mm&measured_value=5&measured_on=yesterday",
        "when:rear_pods=never&since=tern-52%40rear_pods",
        "since=tern-52%40rear_pods&since_paid=much",
        "year:2026=much",
        "function=to-fly",
    ],
)
@pytest.mark.parametrize("page", ["plan", "proposals"])
def test_what_cannot_be_so_is_answered_with_a_page(shop: TestClient, page: str, query: str) -> None:
    rider = "rides=town&passenger=never&listens=music&want=tern-65%40fairing_pods&by=0"
    answer = shop.get(f"/desk/{page}?bike={story.BIKE}&on=2026-05-18&{rider}&{query}")
    assert answer.status_code in {200, 404, 422}, answer.text
    if "x" * 500 not in query:
        assert answer.status_code != 200


def test_functions_and_years_go_into_the_brief(shop: TestClient) -> None:
    fields = Fields.of_query(
        f"bike={story.BIKE}&on=2026-05-18&rides=town&function=phone-projection&year:2026=500&year:2027="
    )
    brief = read_brief(fields, shop.app.state.serving, story.TODAY)  # type: ignore[attr-defined]
    assert (brief.functions, dict(brief.year_budgets)) == (("phone-projection",), {2026: 50_000})
    assert "wants phone projection" in told_in_words(brief)
    page = shop.get(f"/desk/brief?bike={story.BIKE}&function=phone-projection&year:2026=500").text
    assert 'name="function" value="phone-projection" checked' in page
    assert 'name="year:2026" inputmode="decimal" value="500"' in page
    assert _question(shop, "function=phone-projection").wants[-1].functions == ("phone-projection",)
