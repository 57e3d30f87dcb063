"""The service with the real engine: over the demo catalog, and over the small one."""

from __future__ import annotations

from functools import cache

from fastapi import FastAPI

from rules.engine import Engine
from rules.load import load_catalog
from rules.release import Release
from service import story
from service.app import create_app
from service.serving import Serving
from service.settings import DEMO_CATALOG, Settings
from tests.contract.office import header, office_for
from tests.contract.small import small_app


@cache
def demo_release() -> Release:
    return Release.of(load_catalog(DEMO_CATALOG))


def demo_app() -> FastAPI:
    """A new engine each time: it remembers nothing of other tests."""
    office = office_for(demo_release(), DEMO_CATALOG)
    return create_app(demo_release(), Settings(), serve=Serving.of, today=lambda: story.TODAY, office=office)


def demo_key(role: str = "catalog") -> dict[str, str]:
    """A header with a key that every application over the demo knows."""
    return header(demo_release(), DEMO_CATALOG, role)


def small_whole_app() -> FastAPI:
    return small_app(Engine)
