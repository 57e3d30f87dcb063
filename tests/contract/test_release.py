"""An answer comes from one release from its first byte to its last, whatever is swapped meanwhile."""

from __future__ import annotations

from fastapi.testclient import TestClient

from rules.answer import FitAnswer
from rules.question import FitQuestion
from rules.release import ENGINE_REVISION, Release
from service.serving import Serving
from tests.contract.canned import CannedEngine
from tests.contract.keeping import query_of
from tests.contract.small import key_for, small_app, small_key, small_release

NAME, LATER = (f"{name}.{ENGINE_REVISION}" for name in ("r-small", "r-later"))
QUESTIONS = {"questions": [{"bike": "bittern-2019-plain", "part": "curlew-slim"}] * 3}


def test_a_release_swapped_while_answering_is_not_mixed_in() -> None:
    app = small_app()
    later = Release(id="r-later", catalog=small_release().catalog)

    class Swapping(CannedEngine):
        def fit(self, question: FitQuestion) -> FitAnswer:
            app.state.serving = Serving(release=later, engine=CannedEngine(later.catalog))
            return super().fit(question)

    with TestClient(app) as client:
        app.state.serving = Serving(release=small_release(), engine=Swapping(small_release().catalog))
        first = client.post("/v1/fitment-checks", json=QUESTIONS)
        second = client.post("/v1/fitment-checks", json=QUESTIONS)
    assert (first.headers["loomway-release"], first.json()["release"]["name"]) == (NAME, NAME)
    assert (second.headers["loomway-release"], second.json()["release"]["name"]) == (LATER, LATER)


def saved(client: TestClient) -> dict[str, str]:
    """Save a plan, share it, and give what addresses it."""
    visits, wants = [{"on": "2026-05-01"}], [{"any_of": ["curlew-slim"]}]
    body = {"bike": "bittern-2019-plain", "visits": visits, "wants": wants, "rider": {"name": "Ingunn"}}
    headers = {**key_for("/v1/plans"), "Idempotency-Key": "first"}
    plan = client.post("/v1/plans", json=body, headers=headers).json()["saved"]
    shared = client.post(f"/v1/plans/{plan['id']}/shares", json={}, headers=headers).json()
    return {
        "plan": plan["id"],
        "rider": plan["rider"]["id"],
        "number": "1",
        "secret": shared["secret"],
    }


def test_every_answer_names_its_release_in_header_and_body() -> None:
    app = small_app()
    known = {"bike": "bittern-2019-plain", "part": "curlew-slim", "on": "2026-05-01", "release": NAME}
    with TestClient(app, headers=small_key()) as client:
        known |= saved(client)
        for path, methods in app.openapi()["paths"].items():
            if "get" in methods:
                address, query = path.format(**known), query_of(methods["get"])
                query |= {"since": NAME} if path == "/v1/changes" else {}
                answer = client.get(address, params=query, headers=key_for(path))
                assert answer.status_code == 200
                assert answer.headers["loomway-release"] == answer.json()["release"]["name"] == NAME
