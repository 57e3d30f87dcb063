"""The application over a small catalog, in this process, on a fixed day."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.middleware import Application, Receive, Scope, Send
from tests.contract.small import small_app, small_key


@pytest.fixture(scope="session")
def app() -> FastAPI:
    return small_app()


@pytest.fixture(scope="session")
def client(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, raise_server_exceptions=False, headers=small_key()) as client:
        yield client


@pytest.fixture
def reached(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Give the addresses that come as far as the framework, of an application made while this is used."""
    paths: list[str] = []

    def noting(app: Application) -> Application:
        async def noted(scope: Scope, receive: Receive, send: Send) -> None:
            paths.append(scope["path"])
            await app(scope, receive, send)

        return noted

    monkeypatch.setattr("service.observing.wiring.HeadAsGet", noting)
    return paths
