"""On a real socket: whatever arrives is answered with a problem document, and the service goes on."""

from __future__ import annotations

import http.client
import json
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

import pytest
import uvicorn

from rules.engine import Engine
from service.observing.layer import Observed
from service.settings import Settings
from service.terminal.serving import configure
from tests.contract.small import small_app

BIKE = "bittern-2019-plain"
PATH = {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": [{"any_of": ["curlew-slim"]}]}
POSTS = ("/v1/fitment-checks", "/v1/cart-checks", "/v1/paths", "/v1/carry-overs")


class Answer(NamedTuple):
    status: int
    headers: dict[str, str]
    body: bytes


@contextmanager
def running(**changed: object) -> Iterator[tuple[uvicorn.Server, int]]:
    """Serve on a port until told to stop, or until the end, with other settings than usual."""
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(configure(small_app(Engine, Settings().model_copy(update=changed))))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield server, int(listening.getsockname()[1])
    finally:
        server.should_exit = True
        thread.join(timeout=10)
        listening.close()


@pytest.fixture(scope="module")
def port() -> Iterator[int]:
    with running() as (_, port):
        yield port


def ask(
    port: int,
    method: str,
    path: str,
    body: bytes | None = None,
    kind: str | None = "application/json",
    heads: dict[str, str] | None = None,
) -> Answer:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    try:
        connection.request(method, path, body, {**({"Content-Type": kind} if kind else {}), **(heads or {})})
        response = connection.getresponse()
        return Answer(
            response.status,
            {name.lower(): value for name, value in response.getheaders()},
            response.read(),
        )
    finally:
        connection.close()


def assert_problem(answer: Answer, status: int, code: str) -> None:
    assert answer.headers["content-type"] == "application/problem+json"
    problem = json.loads(answer.body)
    assert (answer.status, problem["status"], problem["code"]) == (status, status, code)
    assert answer.headers["loomway-release"] == problem["release"]


def with_value(value: bytes) -> bytes:
    return json.dumps({**PATH, "budget_minor": "HERE"}).encode().replace(b'"HERE"', value)


def with_bike(text: bytes) -> bytes:
    return json.dumps({**PATH, "bike": "HERE"}).encode().replace(b"HERE", text)


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        pytest.param(b"", 422, "malformed-request", id="nothing"),
        pytest.param(b"[" * 10_000 + b"]" * 10_000, 400, "malformed-json", id="lists nested 10,000 deep"),
        pytest.param(
            b'{"found":' * 10_000 + b"1" + b"}" * 10_000, 400, "malformed-json", id="objects nested so"
        ),
        pytest.param(with_value(b"NaN"), 422, "malformed-request", id="NaN"),
        pytest.param(with_value(b"-Infinity"), 422, "malformed-request", id="infinite"),
        pytest.param(with_value(b"1e999"), 422, "malformed-request", id="1e999"),
        pytest.param(with_value(b"-1e999"), 422, "malformed-request", id="-1e999"),
        pytest.param(with_value(b"9" * 4_000), 422, "malformed-request", id="4,000 digits"),
        pytest.param(with_value(b"9" * 5_000), 400, "malformed-json", id="5,000 digits"),
        pytest.param(with_bike(b"\xff\xfe"), 400, "malformed-json", id="not UTF-8"),
        pytest.param(with_bike(b"\xed\xa0\x80"), 400, "malformed-json", id="a surrogate in UTF-8"),
        pytest.param(with_bike(rb"\ud800"), 422, "malformed-request", id="half a pair"),
        pytest.param(with_bike(rb"bittern\u0000"), 404, "unknown-bike", id="NUL in an id"),
        pytest.param(with_bike(b"bittern\x00"), 400, "malformed-json", id="a bare NUL"),
        pytest.param(with_bike(b"x" * 81), 422, "malformed-request", id="a long id"),
        pytest.param(with_bike(b"x" * 1_000_000), 422, "malformed-request", id="a very long id"),
        pytest.param(json.dumps(PATH).encode("utf-16"), 400, "malformed-json", id="UTF-16"),
        pytest.param(b'{"bike": "a", "bike": "b"}', 422, "malformed-request", id="a key twice"),
    ],
)
def test_a_bad_body_is_a_problem(port: int, body: bytes, status: int, code: str) -> None:
    assert_problem(ask(port, "POST", "/v1/paths", body), status, code)


@pytest.mark.parametrize("path", POSTS)
def test_a_body_of_ten_megabytes_is_refused(port: int, path: str) -> None:
    assert_problem(ask(port, "POST", path, b" " * 10_000_000), 413, "body-too-large")


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize(
    "kind", ["text/plain", "application/xml", "multipart/form-data; boundary=x", "application", ";", None]
)
def test_a_body_of_another_kind_is_refused(port: int, path: str, kind: str | None) -> None:
    assert_problem(ask(port, "POST", path, json.dumps(PATH).encode(), kind), 415, "not-json")


@pytest.mark.parametrize("kind", ["application/json", "Application/JSON; charset=utf-8"])
def test_json_is_json_however_it_is_written(port: int, kind: str) -> None:
    assert ask(port, "POST", "/v1/paths", json.dumps(PATH).encode(), kind).status == 200


@pytest.mark.parametrize("path", ["/v1/bikes", f"/v1/fitment/{BIKE}/curlew-slim", *POSTS])
@pytest.mark.parametrize("method", ["OPTIONS", "PUT", "DELETE", "PATCH", "TRACE"])
def test_another_method_is_refused_with_those_that_are_taken(port: int, path: str, method: str) -> None:
    answer = ask(port, method, path, b"{}")
    assert_problem(answer, 405, "wrong-method")
    assert set(answer.headers["allow"].split(", ")) & {"GET", "POST"}


@pytest.mark.parametrize(
    "sent",
    [
        b"BREW /v1/bikes HTTP/1.1\r\nHost: x\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01",
        b"GET /v1/bikes HTTP/1.1\r\nHost: x\r\nContent-Length: x\r\n\r\n",
        b"GET /v1/bikes HTTP/1.1\r\nHost: x\r\nX: " + b"x" * 100_000,
        b"GET /v1/bikes HTTP/1.1\r\nHost: x\r\n" + b"X-Many: headers\r\n" * 10_000,
    ],
    ids=["a method that nobody knows", "another protocol", "no length", "an endless header", "many headers"],
)
def test_what_is_no_http_is_a_problem_too(port: int, sent: bytes) -> None:
    with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
        connection.sendall(sent)
        response = http.client.HTTPResponse(connection)
        response.begin()
        headers = {name.lower(): value for name, value in response.getheaders()}
        assert_problem(Answer(response.status, headers, response.read()), 400, "bad-http")


def test_a_head_that_does_not_arrive_is_not_waited_for(port: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.storefront.protocol.HEAD_SECONDS", 0.2)
    for sent in (b"", b"GET /v1/bikes HTTP/1.1\r\nHost"):
        with socket.create_connection(("127.0.0.1", port), timeout=10) as connection:
            connection.sendall(sent)
            assert connection.recv(1) == b""


@pytest.mark.parametrize(
    ("path", "status"),
    [("/v1/bikes", 200), ("/v1/bikes/bittern-2019-plain", 200), ("/v1/bikes/x", 404), ("/v1/paths", 405)],
)
def test_head_is_answered_as_get_without_its_body(port: int, path: str, status: int) -> None:
    head, whole = ask(port, "HEAD", path, kind=None), ask(port, "GET", path, kind=None)
    assert (head.status, whole.status, head.body) == (status, status, b"")
    same = {*head.headers} - {"date", "loomway-request-id"}
    assert {name: head.headers[name] for name in same} == {name: whole.headers[name] for name in same}


@pytest.mark.parametrize(
    "path",
    ["/v1/bikes/%00", "/v1/bikes/" + "x" * 20_000, "/v1/parts/%ff%fe", "/v1/parts/%ED%A0%80", "/v1/bikes/%2e%2e"],
)  # fmt: skip
def test_an_odd_address_is_a_problem(port: int, path: str) -> None:
    answer = ask(port, "GET", path)
    assert_problem(answer, answer.status, json.loads(answer.body)["code"])
    assert answer.status in (404, 422)


KNOWN = f"/v1/fitment/{BIKE}/curlew-grille"


def spoken(port: int, *requests: str) -> bytes:
    """Send requests in one go, and give all that comes back until the server closes."""
    with socket.create_connection(("127.0.0.1", port), timeout=30) as client:
        client.sendall("".join(requests).encode())
        return b"".join(iter(lambda: client.recv(65_536), b""))


def test_a_known_answer_has_the_headers_and_bytes_of_the_first_asking(port: int) -> None:
    cart = json.dumps({"bike": BIKE, "parts": [{"part": "curlew-grille", "place": "fairing_pods"}]}).encode()
    for method, path, body in (
        ("GET", KNOWN, None),
        ("HEAD", KNOWN, None),
        ("POST", "/v1/cart-checks", cart),
    ):
        first, again = ask(port, method, path, body), ask(port, method, path, body)
        for answer in (first, again):
            assert answer.headers.pop("loomway-request-id")
            assert answer.headers.pop("date")
        assert first == again


CART = json.dumps({"bike": BIKE, "parts": [{"part": "curlew-grille", "place": "fairing_pods"}]}).encode()
ASKED = (("GET", KNOWN, None), ("HEAD", KNOWN, None), ("POST", "/v1/cart-checks", CART))


@pytest.fixture
def passed_on(port: int, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What goes through the layers from now on, when the answers are known."""
    for question in ASKED:
        ask(port, *question)
    paths: list[str] = []
    through = Observed.__call__

    async def noted(layer: Observed, scope: Any, receive: Any, send: Any) -> None:
        paths.append(scope["path"])
        await through(layer, scope, receive, send)

    monkeypatch.setattr(Observed, "__call__", noted)
    return paths


def posted(*heads: str) -> bytes:
    """The cart, with more heads than it needs."""
    lines = ("Host: here", "Content-Type: application/json", f"Content-Length: {len(CART)}", *heads)
    return "\r\n".join(("POST /v1/cart-checks HTTP/1.1", *lines, "", "")).encode() + CART


def ask_in_one_piece(port: int, method: str, path: str, body: bytes | None, *heads: str) -> Answer:
    """Ask with head and body together, which other clients send one after the other."""
    kind = ("Content-Type: application/json", f"Content-Length: {len(body)}") if body else ()
    head = "\r\n".join((f"{method} {path} HTTP/1.1", "Host: here", *kind, *heads, "", ""))
    with socket.create_connection(("127.0.0.1", port), timeout=30) as client:
        client.sendall(head.encode() + (body or b""))
        response = http.client.HTTPResponse(client, method=method)
        response.begin()
        told = {name.lower(): value for name, value in response.getheaders()}
        return Answer(response.status, told, response.read())


@pytest.mark.parametrize(("method", "path", "body"), ASKED)
def test_a_known_answer_goes_through_no_layers(
    port: int, passed_on: list[str], method: str, path: str, body: bytes | None
) -> None:
    assert ask_in_one_piece(port, method, path, body).status == 200
    assert not passed_on


def test_what_is_not_known_goes_through_the_layers(port: int, passed_on: list[str]) -> None:
    assert ask(port, "GET", f"/v1/fitment/{BIKE}/no-such-part").status == 404
    assert ask(port, "POST", "/v1/cart-checks", b"[]").status == 422
    assert len(passed_on) == 2


@pytest.mark.parametrize(("method", "path", "body"), ASKED)
def test_a_known_answer_is_the_same_by_both_ways(
    port: int, passed_on: list[str], method: str, path: str, body: bytes | None
) -> None:
    # The layers see to whatever ends a connection.
    answers = [ask_in_one_piece(port, method, path, body, *x) for x in ((), ("Connection: close",))]
    assert passed_on == [path]
    assert answers[1].headers.pop("connection") == "close"
    for answer in answers:
        assert answer.headers.pop("loomway-request-id")
        assert answer.headers.pop("date")
    assert answers[0] == answers[1]


def test_a_question_that_comes_in_pieces_is_answered(port: int, passed_on: list[str]) -> None:
    with socket.create_connection(("127.0.0.1", port), timeout=30) as client:
        client.sendall(posted()[:-30])
        while not passed_on:
            time.sleep(0.01)
        client.sendall(posted()[-30:])
        assert read_whole(client).status == 200
    assert passed_on == ["/v1/cart-checks"]


def test_a_question_that_waits_for_leave_to_send_its_body_is_answered(port: int) -> None:
    head, _, body = posted("Expect: 100-continue").partition(b"\r\n\r\n")
    with socket.create_connection(("127.0.0.1", port), timeout=30) as client:
        client.sendall(head + b"\r\n\r\n")
        assert client.recv(100).startswith(b"HTTP/1.1 100 Continue")
        client.sendall(body)
        assert read_whole(client).status == 200


def test_several_questions_at_once_are_answered_in_their_order(port: int, passed_on: list[str]) -> None:
    fit = f"GET {KNOWN} HTTP/1.1\r\nHost: here\r\n"
    unknown = "GET /v1/fitment/no-such-bike/no-such-part HTTP/1.1\r\nHost: here\r\n\r\n"
    said = spoken(port, f"{fit}\r\n", unknown, posted().decode(), f"{fit}Connection: close\r\n\r\n")
    answers = said.split(b"HTTP/1.1 ")[1:]
    assert [x[:3] for x in answers] == [b"200", b"404", b"200", b"200"]
    assert [b'"cart":' in x for x in answers] == [False, False, True, False]
    assert passed_on[0] == KNOWN


def test_who_hangs_up_keeps_nobody_from_an_answer(port: int, passed_on: list[str]) -> None:
    for _ in range(20):
        with socket.create_connection(("127.0.0.1", port), timeout=30) as client:
            client.sendall(posted())
        assert ask(port, "GET", KNOWN).status == 200
    assert not passed_on


def test_each_client_that_a_proxy_speaks_for_is_counted_once_for_each_question() -> None:
    with running(requests_per_minute=3) as (_, port):
        for client in ("192.0.2.1", "192.0.2.2"):
            heads = {"X-Forwarded-For": client}
            assert [ask(port, "GET", KNOWN, heads=heads).status for _ in range(4)] == [200, 200, 200, 429]


def test_pages_of_other_origins_are_let_in_by_the_layer_that_lets_them(passed_on: list[str]) -> None:
    origin = "https://shop.example"
    with running(allowed_origins=[origin]) as (_, port):
        for _ in range(2):
            answer = ask(port, "GET", KNOWN, heads={"Origin": origin})
            assert answer.headers["access-control-allow-origin"] == origin
    assert passed_on == [KNOWN] * 2


def test_what_fails_at_once_is_answered_for_by_the_layers(
    port: int, passed_on: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("secret")

    monkeypatch.setattr("service.storefront.quick.known_fit", broken)
    answer = ask(port, "GET", KNOWN)
    assert answer.status == 500
    assert b"secret" not in answer.body
    assert passed_on == [KNOWN]


def test_known_answers_come_one_after_another_on_one_connection(port: int) -> None:
    ask(port, "GET", KNOWN)
    request = f"GET {KNOWN} HTTP/1.1\r\nHost: here\r\n"
    said = spoken(port, f"{request}\r\n" * 3, f"{request}Connection: close\r\n\r\n")
    assert said.count(b"HTTP/1.1 200 OK\r\n") == 4
    assert said.count(b"connection: close\r\n") == 1


def test_a_known_answer_to_an_old_client_ends_the_connection(port: int) -> None:
    ask(port, "GET", KNOWN)
    head, _, body = spoken(port, f"GET {KNOWN} HTTP/1.0\r\n\r\n").partition(b"\r\n\r\n")
    assert b"connection: close" in head
    assert json.loads(body)["answer"]["bike"] == BIKE


def test_the_service_goes_on(port: int) -> None:
    assert ask(port, "GET", "/health/ready").status == 200


def stop(server: uvicorn.Server) -> None:
    """Tell it to stop, and wait until it has told its connections."""
    server.should_exit = True
    while any(listener.is_serving() for listener in server.servers):
        time.sleep(0.01)


def read_whole(client: socket.socket) -> http.client.HTTPResponse:
    """Read one answer to its end, however many pieces it comes in."""
    response = http.client.HTTPResponse(client)
    response.begin()
    response.read()
    return response


LINGER = "service.storefront.protocol.LINGER_S"


@pytest.mark.parametrize("before", [0, 1], ids=["has just connected", "has asked before"])
@pytest.mark.parametrize("sent", ["", "GET /v1/bik"], ids=["nothing", "half a head"])
def test_who_was_about_to_ask_when_told_to_stop_is_answered_for_the_last_time(
    before: int, sent: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(LINGER, 5.0)
    request = "GET /v1/bikes HTTP/1.1\r\nHost: here\r\n\r\n"
    with running() as (server, port), socket.create_connection(("127.0.0.1", port), timeout=30) as client:
        for _ in range(before):
            client.sendall(request.encode())
            assert read_whole(client).status == 200
        client.sendall(sent.encode())
        time.sleep(0.1)
        stop(server)
        client.sendall(request.removeprefix(sent).encode())
        said = b"".join(iter(lambda: client.recv(65_536), b""))
    assert said.startswith(b"HTTP/1.1 200 OK")
    assert b"connection: close\r\n" in said


def test_who_has_nothing_to_ask_does_not_hold_up_a_stop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(LINGER, 0.1)
    with running() as (server, port), socket.create_connection(("127.0.0.1", port), timeout=5) as client:
        time.sleep(0.1)
        stop(server)
        assert client.recv(1) == b""
