"""The script with the custom element for product pages."""

from __future__ import annotations

from pathlib import Path

from fastapi import APIRouter, Request, Response

from service.representation import etag_of, has

router = APIRouter(include_in_schema=False)
SCRIPT = (Path(__file__).parent.parent / "embed" / "loomway-fit.js").read_bytes()
TAG = etag_of(SCRIPT)
HEADERS = {
    "ETag": TAG,
    # A shop's pages should not wait for a script that changes with releases of the program alone.
    "Cache-Control": "public, max-age=3600",
    # A module may only be taken from another origin if it says so; it holds nothing of anybody's.
    "Access-Control-Allow-Origin": "*",
    "Cross-Origin-Resource-Policy": "cross-origin",
    "X-Content-Type-Options": "nosniff",
}


@router.get("/embed/loomway-fit.js")
async def embed_script(request: Request) -> Response:
    """Give the script, or 304 to whoever has it."""
    if has(request.headers.get("if-none-match", ""), TAG):
        return Response(status_code=304, headers=HEADERS)
    return Response(SCRIPT, media_type="text/javascript; charset=utf-8", headers=HEADERS)
