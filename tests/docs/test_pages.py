"""Pages for people name only files, modules and pages that exist."""

from __future__ import annotations

import re
from importlib.util import find_spec
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGES = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    ROOT / "docs" / "architecture.md",
    ROOT / "docs" / "glossary.md",
    ROOT / "docs" / "changelog.md",
    *sorted((ROOT / "docs" / "decisions").glob("*.md")),
]
TOP = r"rules|service|catalog_demo|tests|docs|\.ci"
PATH = re.compile(rf"(?<![\w/.\-])((?:{TOP})/[\w./\-]*|[A-Z]+\.md|pyproject\.toml)(?![\w*])")
LINK = re.compile(r"\]\((?!https?:|#)([^)#]+)")
MODULE = re.compile(r"python -m ((?:rules|service|tests)[\w.]*)")


def by_name(page: Path) -> str:
    return page.name


@pytest.mark.parametrize("page", PAGES, ids=by_name)
def test_every_file_that_a_page_names_exists(page):
    # A link is looked for beside its page, in the next test.
    text = LINK.sub("](", page.read_text(encoding="utf-8"))
    named = {name.rstrip(".") for name in PATH.findall(text)}
    assert {name for name in named if not (ROOT / name).exists()} == set()


@pytest.mark.parametrize("page", PAGES, ids=by_name)
def test_every_link_of_a_page_leads_somewhere(page):
    links = LINK.findall(page.read_text(encoding="utf-8"))
    assert [link for link in links if not (page.parent / link).exists()] == []


@pytest.mark.parametrize("page", PAGES, ids=by_name)
def test_every_module_that_a_page_runs_exists(page):
    modules = MODULE.findall(page.read_text(encoding="utf-8"))
    assert [name for name in modules if find_spec(name) is None] == []


def test_no_two_decisions_share_a_number():
    numbers = [page.name[:4] for page in PAGES if page.parent.name == "decisions"]
    assert numbers == [f"{number:04}" for number in range(1, len(numbers) + 1)]
