"""The application over a small catalog, in this process, on a fixed day."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from tests.contract.small import small_app, small_key


@pytest.fixture(scope="session")
def app() -> FastAPI:
    return small_app()


@pytest.fixture(scope="session")
def client(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, raise_server_exceptions=False, headers=small_key()) as client:
        yield client
