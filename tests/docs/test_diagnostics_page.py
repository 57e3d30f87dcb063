"""docs/diagnostics.md is what the codes say."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from rules.registry import CHAPTERS, CODES

ROOT = Path(__file__).parents[2]


def test_the_page_is_up_to_date():
    printed = subprocess.run(
        [sys.executable, "-m", "rules.diagnostics"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    page = (ROOT / "docs" / "diagnostics.md").read_text(encoding="utf-8")
    assert page == printed.stdout, "run: python -m rules.diagnostics > docs/diagnostics.md"


def test_each_code_is_declared_once():
    assert len(CODES) == sum(len(codes) for codes in CHAPTERS.values())


def test_each_code_is_in_kebab_case_and_says_what_why_and_what_to_do():
    for code in CODES.values():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code.name)
        assert code.about.endswith(".")
        assert code.example
        for sentence in (code.why, code.hint):
            assert sentence, code.name
            assert not sentence.endswith("."), code.name
