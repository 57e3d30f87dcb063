"""What is told of releases and keys that are kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

Role = Literal["sales", "catalog"]
ROLES: tuple[Role, ...] = get_args(Role)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRelease:
    """What is known of a kept release besides its content. `counts` says how many bikes, parts and so on it holds."""

    id: str
    counts: Mapping[str, int]
    kept_at: datetime
    kept_by: str
    cases: CasesAsked | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CasesAsked:
    """How often the cases of a release came out as they should, under one revision of the engine."""

    engine_revision: int
    passed: int
    failed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptKey:
    """What is known of a key: all but its secret."""

    id: str
    name: str
    role: Role
    added_at: datetime
    revoked_at: datetime | None
