"""HTTP as it comes off the socket: a parser in C, with a limit on heads and on how long one may take to arrive.

A request that has come whole, and whose answer is known, is answered here: no task is made for it, and it goes through no layers.
All else goes on to the application as the server has it.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING, Any, cast

from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware
from uvicorn.protocols.http.httptools_impl import STATUS_LINE, HttpToolsProtocol

from service.middleware import Scope
from service.problems import BAD_HTTP, MEDIA_TYPE, problem
from service.storefront.quick import STEMS
from service.storefront.reply import Reply
from service.storefront.turn import turn_of

if TYPE_CHECKING:
    from fastapi import FastAPI

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
    _body: list[bytes] | None = None
    """What has come of the body of a request that the application has not been told of yet."""
    _is_whole = False
    """That request has come whole, and is answered in its turn."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for a head."""
        super().connection_made(transport)
        self._turn = turn_of(self.loop)
        self._application = _application_in(self.config.loaded_app)
        self._known: Callable[[Scope, bytes], Reply | None] = self._application.state.known
        self._timer = self.loop.call_later(HEAD_SECONDS, self._give_up)

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        self._stop_waiting()
        self._body, self._is_whole = None, False
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Count what comes before a head is complete."""
        if self._in_head:
            self._head_bytes += len(data)
            if self._timer is None:
                self._timer = self.loop.call_later(HEAD_SECONDS, self._give_up)
        super().data_received(data)
        if not self._is_whole:
            self._pass_on()
        if self._in_head and self._head_bytes > HEAD_LIMIT_BYTES and not self.transport.is_closing():
            self.send_400_response("")

    def on_message_begin(self) -> None:
        """Hand on what is not answered yet: who asks several things at once has them answered one after another."""
        self._pass_on()
        super().on_message_begin()

    def on_headers_complete(self) -> None:
        """Stop waiting, and hand the request on, unless its answer may be known."""
        self._stop_waiting()
        self._in_head, self._head_bytes = False, 0
        if self.url.startswith(STEMS) and self._may_answer():
            self._body = []
        else:
            self._begin()

    def on_body(self, body: bytes) -> None:
        """Take a piece of a body."""
        if self._body is None:
            super().on_body(body)
        else:
            self._body.append(body)

    def on_message_complete(self) -> None:
        """Wait for the next head, if there is one."""
        if self._body is None:
            super().on_message_complete()
        else:
            self._is_whole = True
            self._turn.add(self)
        self._in_head = True

    def answer(self) -> bytes | None:
        """Give the answer to a request that has come whole, if it is known; else hand the request on."""
        if not self._is_whole:
            return None
        reply = None if self._is_stopping else self._reply(b"".join(self._body or ()))
        if reply is None:
            self._pass_on()
            return None
        self._body, self._is_whole = None, False
        self.on_response_complete()
        lines = [b"%b: %b\r\n" % header for header in (*self.server_state.default_headers, *reply.headers)]
        return b"".join((STATUS_LINE[reply.status], *lines, b"\r\n", reply.body(self.scope["method"])))

    def shutdown(self) -> None:
        """Answer what is being asked, and what is on its way, for the last time on this connection."""
        self._is_stopping = True
        if self._is_idle():
            self.loop.call_later(LINGER_S, self._hang_up)
        elif not self._is_whole:
            self.cycle.keep_alive = False

    def send_400_response(self, msg: str) -> None:  # noqa: ARG002 -- the server's own sentence, not ours
        """Say that this is no HTTP."""
        release = self._application.state.serving.name
        body = problem(BAD_HTTP, release).model_dump_json().encode()
        head = (
            f"HTTP/1.1 {BAD_HTTP.status} Bad Request\r\ncontent-type: {MEDIA_TYPE}\r\n"
            f"content-length: {len(body)}\r\nloomway-release: {release}\r\n"
            "cache-control: no-store\r\nconnection: close\r\n\r\n"
        )
        self.transport.write(head.encode() + body)
        self.transport.close()

    def _may_answer(self) -> bool:
        """Tell whether this connection may answer without the application, which sees to all that is unusual."""
        parser = self.parser
        return (
            self._is_idle()
            and not (
                self._is_stopping or self.flow.write_paused or self.expect_100_continue or self.root_path
            )
            and parser.get_http_version() == "1.1"
            and parser.should_keep_alive()
            and not parser.should_upgrade()
        )

    def _reply(self, body: bytes) -> Reply | None:
        if b"%" in self.url or b"#" in self.url or not self.url.isascii():
            return None
        path, _, query = self.url.partition(b"?")
        scope = cast("Scope", self.scope)
        scope["method"] = self.parser.get_method().decode("ascii")
        scope["path"], scope["query_string"] = path.decode("ascii"), query
        scope["app"] = self._application
        self._see_through_proxies(scope)
        try:
            return self._known(scope, body)
        except Exception:  # noqa: BLE001 -- it fails on its way through the layers again, where failures are answered for
            return None

    def _see_through_proxies(self, scope: Scope) -> None:
        """Name the client that a proxy speaks for, as the server's own layer does, which waits for nothing."""
        if self.config.proxy_headers and any(name.startswith(b"x-forwarded-") for name, _ in self.headers):
            trusted = self.config.forwarded_allow_ips
            layer = _proxies(trusted if isinstance(trusted, str) else ",".join(trusted))
            try:
                layer(scope, None, None).send(None)
            except StopIteration:
                return

    def _pass_on(self) -> None:
        """Tell the application of a request that it does not know of yet, with what has come of its body."""
        if self._body is None:
            return
        taken, is_whole = self._body, self._is_whole
        self._body, self._is_whole = None, False
        cast("Scope", self.scope).update(client=self.client, scheme=self.scheme)
        self._begin()
        for piece in taken:
            super().on_body(piece)
        if is_whole:
            super().on_message_complete()

    def _begin(self) -> None:
        super().on_headers_complete()
        if self._is_stopping:
            self.cycle.keep_alive = False

    def _is_idle(self) -> bool:
        # There is no exchange before the first head, whatever the server's types say.
        return self._body is None and bool(getattr(self.cycle, "response_complete", True))

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


def _application_in(app: object) -> FastAPI:
    """Find the application beneath the server's own layers."""
    while not hasattr(app, "state"):
        app = getattr(app, "app")  # noqa: B009 -- layers share no type
    return cast("FastAPI", app)


async def _nothing(*_: object) -> None:
    pass


@lru_cache(maxsize=8)
def _proxies(trusted: str) -> Callable[..., Any]:
    return ProxyHeadersMiddleware(_nothing, trusted)
