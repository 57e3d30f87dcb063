"""Which release answered."""

from __future__ import annotations

from typing import Self

from pydantic import Field

from service.serving import Serving
from service.shapes.base import Told


class ReleaseNamed(Told):
    """The release behind an answer. `name` joins the other two; pinned addresses use it."""

    name: str = Field(examples=["0f3a9c41d2b7.1"])
    id: str
    engine_revision: int

    @classmethod
    def from_domain(cls, serving: Serving) -> Self:
        """Name what is being served."""
        return cls(name=serving.name, id=serving.release.id, engine_revision=serving.engine_revision)
