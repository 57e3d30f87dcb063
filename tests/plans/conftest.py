"""Databases of both kinds, and the demo to plan on."""

from __future__ import annotations

import pytest

from service.plans.keeper import PlanKeeper
from service.serving import Serving
from service.store.database import Database
from tests.databases import address, database, server, servers
from tests.plans.desk import AT, demo

__all__ = ["address", "database", "keeper", "server", "servers", "serving"]


@pytest.fixture(scope="session")
def serving() -> Serving:
    return demo()


@pytest.fixture
def keeper(database: Database) -> PlanKeeper:
    return PlanKeeper(database=database, by="Solveig, sales", now=lambda: AT)
