"""Examples in docstrings and on the pages about calculations run, and give what they say."""

from __future__ import annotations

import doctest
import re
from importlib import import_module
from pathlib import Path

import pytest

from rules.calculations.registry import CALCULATIONS

ROOT = Path(__file__).parents[2]
MODULES = [
    ".".join(file.relative_to(ROOT).with_suffix("").parts)
    for file in sorted((ROOT / "rules").rglob("*.py"))
    if ">>>" in file.read_text(encoding="utf-8")
]
PAGES = [page for page in sorted((ROOT / "docs").glob("*.md")) if ">>>" in page.read_text(encoding="utf-8")]
ELECTRICAL = {
    "amplifiers",
    "batteries",
    "charging",
    "conductors",
    "connectors",
    "loads",
    "mechanics",
    "protection",
}


@pytest.mark.parametrize("module", MODULES)
def test_the_examples_of_a_module_run(module):
    assert doctest.testmod(import_module(module)).failed == 0


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_the_examples_of_a_page_run(page):
    # A fence is no part of what the line above it prints.
    text = re.sub(r"^```\w*$", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE)
    examples = doctest.DocTestParser().get_doctest(text, {}, page.name, str(page), 0)
    assert doctest.DocTestRunner().run(examples).failed == 0


def test_the_page_about_electrical_calculations_names_each_of_them():
    page = (ROOT / "docs" / "electrical.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`(\w+)`", page))
    assert {x.id for x in CALCULATIONS.values() if x.topic in ELECTRICAL} <= named
