"""Ways from one answer to the next: declared links between operations, and pinned addresses."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlencode

from rules.question import FitQuestion
from service.serving import Serving

Responses = dict[int | str, dict[str, Any]]


def link(operation: str, **parameters: str) -> Responses:
    """Declare that an answer leads on to another operation.

    Args:
        parameters: For each parameter of that operation, a JSON pointer into this answer (`#/bikes/0/id`),
            or a runtime expression of OpenAPI that begins with `$`.
    """
    expressions = {
        name: value if value.startswith("$") else f"$response.body{value}"
        for name, value in parameters.items()
    }
    return {200: {"links": {operation: {"operationId": operation, "parameters": expressions}}}}


def join(*groups: Responses) -> Responses:
    """Join declarations of responses; those of one status are merged."""
    joined: Responses = {}
    for group in groups:
        for status, entry in group.items():
            _merge(joined.setdefault(status, {}), entry)
    return joined


def _merge(into: dict[str, Any], entry: dict[str, Any]) -> None:
    for key, value in entry.items():
        if isinstance(value, dict):
            into[key] = {**into.get(key, {}), **value}
        else:
            into[key] = value


def pinned_address(question: FitQuestion, serving: Serving) -> str:
    """Give the address at which this question has this answer for ever."""
    path = "/".join(quote(step, safe="") for step in (question.bike, question.part, question.on.isoformat()))
    where = {"place": question.place} if question.place else {}
    query = urlencode({**where, "fitter": question.fitter})
    return f"{pinned_under(serving)}/{path}?{query}"


def pinned_under(serving: Serving) -> str:
    """Give what all pinned addresses of a release begin with."""
    return f"/v1/releases/{serving.name}/fitment"
