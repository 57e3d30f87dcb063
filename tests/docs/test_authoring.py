"""The examples of docs/authoring.md are one catalog without a fault."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

from rules.catalog.rule import Rule
from rules.diagnostics import full
from rules.load import check_catalog
from tests.diagnostics.base import write

PAGE = (Path(__file__).parents[2] / "docs" / "authoring.md").read_text(encoding="utf-8")
EXAMPLES = dict(re.findall(r"^```yaml\n# file: (\S+)\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL))


def test_every_yaml_example_names_its_file():
    assert len(EXAMPLES) == PAGE.count("```yaml")


def test_the_examples_are_a_catalog_without_a_fault(tmp_path):
    catalog, found = check_catalog(write(tmp_path, EXAMPLES))
    assert catalog is not None, "\n".join(map(full, found))
    assert found == ()


def test_every_rule_kind_is_in_the_table():
    members = get_args(get_args(Rule)[0])
    kinds = {get_args(get_args(member)[0].model_fields["kind"].annotation)[0] for member in members}
    assert {kind for kind in kinds if f"`{kind}`" not in PAGE} == set()
