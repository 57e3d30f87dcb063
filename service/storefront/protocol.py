"""HTTP as it comes off the socket: a parser in C, with a limit on heads and on how long one may take to arrive."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from weakref import WeakKeyDictionary

from uvicorn.protocols.http.httptools_impl import STATUS_LINE, HttpToolsProtocol, RequestResponseCycle

from service.middleware import Send
from service.problems import BAD_HTTP, MEDIA_TYPE, problem

HEAD_LIMIT_BYTES = 64_000
"""Longest request line with all headers [bytes]."""

HEAD_SECONDS = 10.0
"""How long a head may take to arrive, and how long a new connection may say nothing [s]."""

LINGER_S = 0.5
"""How long one may still ask on an idle connection once the server is told to stop [s]: a question may be on its way, and who has
sent it could not know whether it was begun (RFC 9112, 9.3.1)."""


class Protocol(HttpToolsProtocol):
    """One connection. What is no HTTP is answered with a problem document, like everything else."""

    _head_bytes = 0
    _in_head = True
    _is_stopping = False
    _timer: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for a head."""
        super().connection_made(transport)
        self._leaving = _LEAVING.setdefault(self.loop, [])
        self._timer = self.loop.call_later(HEAD_SECONDS, self._give_up)

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        self._stop_waiting()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Count what comes before a head is complete."""
        if self._in_head:
            self._head_bytes += len(data)
            if self._timer is None:
                self._timer = self.loop.call_later(HEAD_SECONDS, self._give_up)
        super().data_received(data)
        if self._in_head and self._head_bytes > HEAD_LIMIT_BYTES and not self.transport.is_closing():
            self.send_400_response("")

    def on_headers_complete(self) -> None:
        """Stop waiting, and hand the request on."""
        self._stop_waiting()
        self._in_head, self._head_bytes = False, 0
        super().on_headers_complete()
        if self._is_stopping:
            self.cycle.keep_alive = False

    def on_message_complete(self) -> None:
        """Wait for the next head, if there is one."""
        super().on_message_complete()
        self._in_head = True

    def shutdown(self) -> None:
        """Answer what is being asked, and what is on its way, for the last time on this connection."""
        self._is_stopping = True
        if self._is_idle():
            self.loop.call_later(LINGER_S, self._hang_up)
        else:
            self.cycle.keep_alive = False

    def send_400_response(self, msg: str) -> None:  # noqa: ARG002 -- the server's own sentence, not ours
        """Say that this is no HTTP."""
        release = _release_of(self.config.loaded_app)
        body = problem(BAD_HTTP, release).model_dump_json().encode()
        head = (
            f"HTTP/1.1 {BAD_HTTP.status} Bad Request\r\ncontent-type: {MEDIA_TYPE}\r\n"
            f"content-length: {len(body)}\r\nloomway-release: {release}\r\n"
            "cache-control: no-store\r\nconnection: close\r\n\r\n"
        )
        self.transport.write(head.encode() + body)
        self.transport.close()

    def leave(self, answer: bytes) -> None:
        """Send an answer once what came in together is answered."""
        # What is asked next on a connection is looked at in a later turn, so answers never overtake one another.
        if not self._leaving:
            self.loop.call_soon(_leave, self._leaving)
        self._leaving.append((self.transport, answer))

    def _is_idle(self) -> bool:
        # There is no exchange before the first head, whatever the server's types say.
        return bool(getattr(self.cycle, "response_complete", True))

    def _hang_up(self) -> None:
        # A head that has begun to arrive has its own time.
        if self._is_idle() and not self._head_bytes:
            self.transport.close()

    def _give_up(self) -> None:
        self._timer = None
        if not self.transport.is_closing():
            self.transport.close()

    def _stop_waiting(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None


def _release_of(app: object) -> str:
    """Find what is served beneath the server's own layers."""
    while not hasattr(app, "state"):
        app = getattr(app, "app")  # noqa: B009 -- layers share no type
    return str(app.state.serving.name)


Header = tuple[bytes, bytes]

_LEAVING: WeakKeyDictionary[asyncio.AbstractEventLoop, list[tuple[asyncio.Transport, bytes]]] = (
    WeakKeyDictionary()
)
"""Answers of a loop that leave at the end of its turn, when what came in together is answered.

Each sending wakes a client, and takes the memory near at hand from what the next answer is put together from.
"""


def exchange_of(send: Send) -> tuple[Protocol, RequestResponseCycle] | None:
    """Give the connection and the exchange that a `send` belongs to; None where a layer or another server has made it."""
    exchange = getattr(send, "__self__", None)
    if type(exchange) is not RequestResponseCycle:
        return None
    # What it calls when it is over, is a method of its connection.
    connection = getattr(exchange.on_response, "__self__", None)
    return (connection, exchange) if type(connection) is Protocol else None


async def give_whole(
    connection: Protocol,
    exchange: RequestResponseCycle,
    status: int,
    headers: Iterable[Header],
    content: bytes,
) -> None:
    """Send an answer in one piece, without looking at each header again as the server does for headers that it does not know.

    Args:
        headers: Ours, of which one gives the length of the content if there may be any. No value is from a request.
    """
    if exchange.flow.write_paused and not exchange.disconnected:
        await exchange.flow.drain()
    if exchange.disconnected:
        return
    lines = [b"%b: %b\r\n" % header for header in (*exchange.default_headers, *headers)]
    if not exchange.keep_alive:
        lines.append(b"connection: close\r\n")
    answer = b"".join((STATUS_LINE[status], *lines, b"\r\n", content))
    if exchange.keep_alive:
        connection.leave(answer)
    else:
        exchange.transport.write(answer)
        exchange.transport.close()
    exchange.response_started = exchange.response_complete = True
    exchange.waiting_for_100_continue = False
    exchange.message_event.set()
    exchange.on_response()


def _leave(leaving: list[tuple[asyncio.Transport, bytes]]) -> None:
    answers = leaving[:]
    leaving.clear()
    for transport, answer in answers:
        # Who has hung up meanwhile must not keep the others from their answers.
        if not transport.is_closing():
            transport.write(answer)
