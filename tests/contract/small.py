"""The service over the small catalog with canned answers, on a fixed day."""

from __future__ import annotations

import re
from datetime import date
from functools import cache
from pathlib import Path

from fastapi import FastAPI

from rules.engine import Engine
from rules.load import load_catalog
from rules.release import Release
from service.app import create_app
from service.serving import Serving
from service.settings import Settings
from tests.contract.canned import CannedEngine
from tests.contract.keeping import PLANS
from tests.contract.office import header, office_for

TODAY = date(2026, 5, 1)
DIRECTORY = Path(__file__).parent / "small_catalog"


@cache
def small_release() -> Release:
    return Release(id="r-small", catalog=load_catalog(DIRECTORY))


def small_app(engine: type[Engine] = CannedEngine, settings: Settings | None = None) -> FastAPI:
    def serve(release: Release) -> Serving:
        return Serving(release=release, engine=engine(release.catalog))

    office = office_for(small_release(), DIRECTORY)
    return create_app(
        small_release(), settings or Settings(), serve=serve, today=lambda: TODAY, office=office
    )


def small_key(role: str = "catalog") -> dict[str, str]:
    """A header with a key that every small application knows."""
    return header(small_release(), DIRECTORY, role)


def key_for(path: str) -> dict[str, str]:
    """The header with the key that an address needs."""
    return small_key("sales" if re.match(PLANS, path) else "catalog")
