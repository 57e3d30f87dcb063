"""docs/calculations.md is what the registry says."""

from __future__ import annotations

from pathlib import Path

from rules.calculations.__main__ import page

ROOT = Path(__file__).parents[2]


def test_the_page_is_up_to_date() -> None:
    printed = (ROOT / "docs" / "calculations.md").read_text(encoding="utf-8")
    assert printed == page(), "run: python -m rules.calculations > docs/calculations.md"
