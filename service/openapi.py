"""The OpenAPI document: what FastAPI derives, with problems under their own media type, and examples.

The examples are real answers of the demo catalog; `python -m tests.contract.examples` writes them anew.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from service.problems import MEDIA_TYPE, RELEASE_BEHIND, TOO_BUSY, TOO_LONG, TOO_MANY

TITLE = "Loomway"
VERSION = "1"
PATH = "/v1/openapi.json"
EXAMPLES = Path(__file__).parent / "examples"
_LIMITS = {"429": (TOO_MANY,), "503": (TOO_BUSY, TOO_LONG, RELEASE_BEHIND)}
DESCRIPTION = """What fits a touring motorcycle's sound system, and which way an upgrade can go.

Every answer names the release that it comes from, in `release` and in the header `Loomway-Release`.
"Does not fit" and "no path" are answers with status 200; errors are problem documents (RFC 9457).
Money is in minor units of `currency`, tax included. A key's ending names its unit."""


def install_document(app: FastAPI) -> None:
    """Make an application give this document, built once."""

    def document() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = _document(app)
        return app.openapi_schema

    app.openapi = document  # type: ignore[method-assign]


def _document(app: FastAPI) -> dict[str, Any]:
    document = get_openapi(title=TITLE, version=VERSION, description=DESCRIPTION, routes=app.routes)
    examples = _examples()
    for path in document["paths"].values():
        for operation in path.values():
            _declare_limits(operation["responses"])
            _as_problems(operation["responses"])
            if operation["operationId"] in examples:
                _add_example(operation, examples[operation["operationId"]])
    return document


def _examples() -> dict[str, Any]:
    """Read the examples by operation: a file for each, and one for all calculations."""
    read = {
        file.stem: json.loads(file.read_text(encoding="utf-8")) for file in sorted(EXAMPLES.glob("*.json"))
    }
    return {**read, **read.pop("calculations", {})}


def _declare_limits(responses: dict[str, Any]) -> None:
    """Declare what the layers around every route may answer, beside what the route itself does."""
    told = {"application/json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for status, kinds in _LIMITS.items():
        codes = ", ".join(f"`{kind.code}`" for kind in kinds)
        declared = responses.setdefault(status, {"description": "", "content": told})
        declared["description"] = ", ".join(filter(None, (declared["description"], codes)))


def _as_problems(responses: dict[str, Any]) -> None:
    # FastAPI declares every model under the media type of the route's own answer.
    for status, response in responses.items():
        if status >= "400" and "application/json" in response.get("content", {}):
            response["content"] = {MEDIA_TYPE: response["content"]["application/json"]}


def _add_example(operation: dict[str, Any], example: dict[str, Any]) -> None:
    operation["responses"]["200"]["content"]["application/json"]["example"] = example["response"]
    body = operation.get("requestBody", {}).get("content", {})
    if "application/json" in body:
        body["application/json"]["example"] = example["request"]
    for parameter in operation.get("parameters", []):
        if parameter["name"] in example["parameters"]:
            parameter["example"] = example["parameters"][parameter["name"]]
