"""Answers as bytes: the same answer is the same bytes, and who has them is not sent them again."""

from __future__ import annotations

import xxhash
from fastapi import Request, Response
from pydantic import BaseModel

from service.links import Responses
from service.middleware import RELEASE_HEADER

REVALIDATE = "public, no-cache"
"""Keep it, but ask before each use: the answer changes with the release and the date."""

UNCHANGED: Responses = {304: {"description": "The client has this answer already (If-None-Match)."}}

IMMUTABLE = "public, max-age=31536000, immutable"
"""Release, engine revision and date are in the address: the answer never changes."""


def reply(answer: BaseModel | bytes, status: int = 200) -> Response:
    """Send an answer to a question that came in a body or with a key; nothing between here and the client may keep it."""
    return Response(
        _bytes(answer), status, media_type="application/json", headers={"Cache-Control": "no-store"}
    )


def represent(request: Request, answer: BaseModel | bytes, cache_control: str = REVALIDATE) -> Response:
    """Send what stands at an address, or 304 to a client that has these bytes already (RFC 9110, 13.1.2)."""
    content = _bytes(answer)
    etag = etag_of(content)
    headers = {"ETag": etag, "Cache-Control": cache_control, "Vary": RELEASE_HEADER}
    if has(request.headers.get("if-none-match", ""), etag):
        return Response(status_code=304, headers=headers)
    return Response(content, media_type="application/json", headers=headers)


def etag_of(content: bytes) -> str:
    """Give the tag of an answer: it changes exactly when a byte does."""
    return f'"{digest_of(content)}"'


def digest_of(content: bytes) -> str:
    """Give 128 bits that stand for an answer (XXH3).

    They tell any two answers apart that differ by chance. Whoever could write answers at will could make two alike; nobody can.
    """
    return xxhash.xxh3_128_hexdigest(content)


def _bytes(answer: BaseModel | bytes) -> bytes:
    return answer if isinstance(answer, bytes) else answer.model_dump_json().encode()


def has(if_none_match: str, etag: str) -> bool:
    """Tell whether a client has this answer already; `If-None-Match` compares weakly, and our tags hold no comma."""
    return any(tag.strip().removeprefix("W/") in ("*", etag) for tag in if_none_match.split(","))
