"""What the answers about one part and about a whole cart have in common."""

from __future__ import annotations

from typing import Any

from rules.answer import Judgement
from rules.catalog.catalog import Catalog
from rules.verdict import Verdict
from service.shapes.base import Told
from service.shapes.finding import CauseTold, FindingTold, causes_told, findings_told
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.work import (
    ChangeTold,
    FeedTold,
    LineTold,
    PresetTold,
    changes_told,
    feeds_told,
    lines_told,
    presets_told,
)


class JudgedTold(Told):
    """A verdict, why, and what it takes.

    `extras` and `presets` are needed besides; `displaced` has to go; `missing` are the facts to measure; `ask` what a
    person must be asked first. `total_minor` is what it comes to with all that, null where it cannot be had. `rewires` tells
    whether something laid or fed earlier is cut, pulled out or moved for it.
    """

    verdict: Verdict
    total_minor: int | None
    lines: tuple[LineTold, ...]
    extras: tuple[PlacementTold, ...]
    presets: tuple[PresetTold, ...]
    displaced: tuple[PlacementTold, ...]
    findings: tuple[FindingTold, ...]
    missing: tuple[CauseTold, ...]
    ask: str
    advice: tuple[FindingTold, ...]
    changes: tuple[ChangeTold, ...]
    feeds: tuple[FeedTold, ...]
    rewires: bool


def judged(answer: Judgement, catalog: Catalog) -> dict[str, Any]:
    """Write what is shared, by field."""
    return {
        "verdict": answer.verdict,
        "total_minor": answer.total,
        "lines": lines_told(answer.lines, catalog),
        "extras": placements_told(answer.extras, catalog),
        "presets": presets_told(answer.presets, catalog),
        "displaced": placements_told(answer.displaced, catalog),
        "findings": findings_told(answer.findings, catalog),
        "missing": causes_told(answer.missing),
        "ask": answer.ask,
        "advice": findings_told(answer.advice, catalog),
        "changes": changes_told(answer.changes),
        "feeds": feeds_told(answer.feeds, catalog),
        "rewires": answer.rewires,
    }
