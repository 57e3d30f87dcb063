"""Fixtures: one empty database after another, of each kind that Loomway keeps its state in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from service.store.database import Database
from service.store.migrating import migrate
from tests.postgres import Server, postgresql


@pytest.fixture(scope="session")
def servers() -> Iterator[ExitStack]:
    with ExitStack() as stack:
        yield stack


@pytest.fixture(scope="session")
def server(servers: ExitStack) -> Server:
    """Started when a test asks for it first."""
    return servers.enter_context(postgresql())


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a database that has no tables yet."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/loomway.db"
    server: Server = request.getfixturevalue("server")
    return server.new_database()


@pytest.fixture
def database(address: str) -> Iterator[Database]:
    """A database with the newest tables."""
    database = Database(address)
    migrate(database)
    yield database
    database.close()
