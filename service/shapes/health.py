"""Whether the process runs, and whether it can answer."""

from __future__ import annotations

from typing import Literal, Self

from service.serving import Serving
from service.shapes.base import Told
from service.shapes.release import ReleaseNamed


class HealthTold(Told):
    """`alive`: the process runs. `ready`: it answers from this release."""

    status: Literal["alive", "ready"]
    release: ReleaseNamed

    @classmethod
    def from_domain(cls, status: Literal["alive", "ready"], serving: Serving) -> Self:
        """Write it."""
        return cls(status=status, release=ReleaseNamed.from_domain(serving))
