"""What was found out about the wirings of builds. It depends on plugs and parts alone, so like bikes share it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from rules.build import Build


@dataclass(frozen=True, slots=True, weakref_slot=True, eq=False)
class Judged:
    """Judgements by what was judged: loads and power kits, what a channel is too strong for, all feeds together, and builds.

    `builds` holds what `rules.electrics` finds of each.
    """

    troubles: dict[object, tuple[Any, ...]] = field(default_factory=dict)
    strong: dict[object, tuple[Any, ...]] = field(default_factory=dict)
    carried: dict[object, Any] = field(default_factory=dict)
    builds: dict[Build, Any] = field(default_factory=dict)
