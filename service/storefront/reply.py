"""An answer that was known, and the question as it came."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from service.middleware import MIN_RELEASE_HEADER, RELEASE_HEADER, Scope, Send

Heads = Mapping[bytes, bytes]
"""Headers of a request; of several with one name the first, as the framework reads them."""

_NOT_PLAIN = (RELEASE_HEADER.lower().encode(), MIN_RELEASE_HEADER.lower().encode())


class Reply(NamedTuple):
    """An answer, and what is noted of it.

    Attributes:
        status: Of HTTP.
        route: Template of the address; empty where the framework knows it.
        headers: Without what comes from outer layers.
        asked: The body of the question.
        release: Names what answered.
        tag: Of the content; empty if nobody has worked it out.
    """

    status: int
    route: str = ""
    headers: Sequence[tuple[bytes, bytes]] = ()
    content: bytes = b""
    asked: bytes = b""
    release: str = ""
    tag: bytes = b""

    def with_header(self, header: tuple[bytes, bytes]) -> Reply:
        """Give the same with another header."""
        status, route, headers, content, asked, release, tag = self
        return Reply(status, route, (*headers, header), content, asked, release, tag)

    def body(self, method: str) -> bytes:
        """Give what is sent of the content to a request with this method (RFC 9110, 9.3.2)."""
        return b"" if method == "HEAD" else self.content

    async def give(self, scope: Scope, send: Send) -> None:
        """Send it."""
        headers = list(self.headers)
        await send({"type": "http.response.start", "status": self.status, "headers": headers})
        await send({"type": "http.response.body", "body": self.body(scope["method"])})


def heads_of(scope: Scope) -> Heads:
    """Give the headers of a request by their names."""
    return dict(reversed(scope["headers"]))


def is_plain(heads: Heads) -> bool:
    """Tell whether a question is about what is served now."""
    return _NOT_PLAIN[0] not in heads and _NOT_PLAIN[1] not in heads
