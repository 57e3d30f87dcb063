"""The API against its own OpenAPI document: every operation, and the links between operations."""

from __future__ import annotations

from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import seed, settings
from openapi_schema_validator import OAS31Validator
from openapi_spec_validator import validate

from service.shapes.base import Asked
from tests.contract.keeping import (
    CALCULATION,
    PLANS,
    QUIET,
    follow_links,
    leave_out_boundaries,
    validate_response,
)
from tests.contract.small import small_app, small_key

WHOLE = schemathesis.openapi.from_asgi("/v1/openapi.json", small_app())
WHOLE.config.update(headers=small_key())
SCHEMA = WHOLE.exclude(path_regex=f"{CALCULATION}|{PLANS}")
leave_out_boundaries(SCHEMA)


@SCHEMA.parametrize()
@seed(20_260_501)
@settings(max_examples=4, deadline=None, database=None, suppress_health_check=QUIET)
def test_every_operation_keeps_its_contract(case: Any) -> None:
    validate_response(case, case.call())


def test_following_the_declared_links_keeps_the_contract() -> None:
    follow_links(SCHEMA, examples=5, steps=6)


@pytest.fixture(scope="module")
def document(app: FastAPI) -> dict[str, Any]:
    return app.openapi()


def operations(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [operation for path in document["paths"].values() for operation in path.values()]


def test_the_document_is_valid_openapi(document: dict[str, Any]) -> None:
    validate(document)


def test_every_shape_has_a_name_of_its_own_that_generators_can_use(document: dict[str, Any]) -> None:
    titles = [shape.get("title", name) for name, shape in document["components"]["schemas"].items()]
    assert len(set(titles)) == len(titles)
    assert not [name for name in document["components"]["schemas"] if "__" in name]


def test_operation_ids_are_set_by_hand_and_differ(document: dict[str, Any]) -> None:
    ids = [operation["operationId"] for operation in operations(document)]
    assert len(set(ids)) == len(ids)
    assert not [name for name in ids if name.endswith(("_get", "_post"))]


def test_every_operation_says_what_it_is_for(document: dict[str, Any]) -> None:
    for operation in operations(document):
        assert operation["tags"]
        assert operation["summary"]
        assert operation["description"]


def test_every_declared_error_is_a_problem_document(document: dict[str, Any]) -> None:
    for operation in operations(document):
        for status, response in operation["responses"].items():
            if status >= "400":
                assert list(response["content"]) == ["application/problem+json"], operation["operationId"]


def test_every_link_leads_to_an_operation(document: dict[str, Any]) -> None:
    ids = {operation["operationId"] for operation in operations(document)}
    links = [
        link["operationId"]
        for operation in operations(document)
        for response in operation["responses"].values()
        for link in response.get("links", {}).values()
    ]
    assert links
    assert set(links) <= ids


def test_no_request_model_takes_keys_that_it_does_not_know() -> None:
    models = list(Asked.__subclasses__())
    while models:
        model = models.pop()
        models += model.__subclasses__()
        assert model.model_config["extra"] == "forbid"


def test_every_list_and_text_of_a_request_is_bounded(document: dict[str, Any]) -> None:
    unbounded = []
    for name, model in document["components"]["schemas"].items():
        if name.endswith("Asked"):
            for field, schema in model["properties"].items():
                unbounded += [f"{name}.{field}" for part in _parts(schema) if _is_unbounded(part)]
    assert unbounded == []


def _parts(schema: dict[str, Any]) -> list[dict[str, Any]]:
    below = [*schema.get("anyOf", []), *([schema["items"]] if "items" in schema else [])]
    return [schema, *(part for inner in below for part in _parts(inner))]


def _is_unbounded(schema: dict[str, Any]) -> bool:
    if schema.get("type") == "array":
        return "maxItems" not in schema
    return schema.get("type") == "string" and not {"maxLength", "format", "enum", "const"} & set(schema)


def test_every_operation_shows_an_example_that_its_schema_allows(document: dict[str, Any]) -> None:
    for operation in operations(document):
        content = operation["responses"]["200"]["content"]["application/json"]
        assert "example" in content, f"run python -m tests.contract.examples for {operation['operationId']}"
        schema = {**content["schema"], "components": document["components"]}
        assert list(OAS31Validator(schema).iter_errors(content["example"])) == []
