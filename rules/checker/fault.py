"""What is wrong with a plan: the visit, the clause of the definitions that is broken, and about what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum


class Clause(StrEnum):
    """One clause of docs/definitions.md, with the section that it stands in."""

    # 1. Things
    PLACEMENT = "1 placement"
    NO_SUCH_PLUG = "1 no such plug"
    MATE = "1 mate"
    ACCEPTS = "1 accepts"
    NEEDED = "1 needed"
    FEED = "1 feed"
    USELESS_MATE = "1 useless mate"
    PRESENT_WIRING = "1 present wiring"
    MAY_NOT_BE_THERE = "1 may not be there"
    # 2. Validity
    SLOT = "2 slot"
    CARRIER = "2 carrier"
    HOST = "2 host"
    CLEARANCE = "2 clearance"
    REQUIRES = "2 requires"
    FLASH_NEEDED = "2 flash_needed"
    EXCLUDES = "2 excludes"
    MEASURED_EXCEPTION = "2 measured_exception"
    MASS = "2 mass"
    HOLD = "2 hold"
    UNKNOWN_WORK = "2 unknown work"
    LOWEST_IMPEDANCE = "2 lowest_impedance"
    BRIDGE = "2 bridge"
    SPEAKER_POWER = "2 speaker_power"
    PRESET = "2 preset"
    FUSE = "2 fuse"
    AMPACITY = "2 ampacity"
    VOLTAGE_DROP = "2 voltage_drop"
    CHARGING = "2 charging"
    # 3. Changes
    CHANGES_TOLD = "3 changes told"
    FEEDS_TOLD = "3 feeds told"
    LOAD_TOLD = "3 load told"
    REWIRED_PART = "3 rewired part"
    REWIRED_SIDE = "3 rewired side"
    # 5. Money
    FOR_SALE = "5 for sale"
    PURCHASES = "5 purchases"
    LABOUR = "5 labour"
    HOME_LABOUR = "5 labour (home)"
    PRESET_LINES = "5 presets"
    FREIGHT = "5 freight"
    RESALE = "5 resale"
    # 6. Paths
    STAGES = "6 stages"
    BUILD = "6 build"
    STAYS_TOLD = "6 stays told"
    WANTED = "6 wanted"
    LEAST_POWER = "6 least power"
    STRIPPED = "6 stripped"
    RETURNED = "6 returned"
    EXCLUDED_PART = "6 excluded"
    LOCKED = "6 locked"
    COLOUR = "6 colour"
    ADDED_MASS = "6 added mass"
    STAGE_BUDGET = "6 stage budget"
    YEAR_BUDGET = "6 year budget"
    PATH_BUDGET = "6 path budget"
    TOTAL = "6 total"
    WASTE = "6 waste"
    LEDGER = "6 ledger"

    @property
    def section(self) -> int:
        """Give the section of the definitions."""
        return int(self.value[0])


Broken = tuple[Clause, str]
"""A clause that is broken, and about what; in which visit, the caller knows."""

Breaks = Iterator[Broken]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One clause that a plan breaks.

    `visit` counts from 1; 0 is the bike as it is now, None the plan as a whole. `about` names placements, plugs, rules, lines.
    """

    visit: int | None
    clause: Clause
    about: str

    def __str__(self) -> str:
        where = "the plan" if self.visit is None else f"visit {self.visit}"
        return f"{where}: {self.clause}: {self.about}"
