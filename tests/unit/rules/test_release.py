"""A release is named by its content, and by nothing else."""

from __future__ import annotations

import random
import re
import tempfile
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.load import load_catalog
from rules.release import Release, canonical
from tests.diagnostics.base import FILES, write


def release_of(files: dict[str, str]) -> Release:
    with tempfile.TemporaryDirectory() as directory:
        return Release.of(load_catalog(write(Path(directory), files)))


ORIGINAL = release_of(dict(FILES))
FOLDERS = ("bikes", "parts", "rules", "prices", "cases")
LISTS = ("places", "connector_types", "contact_maps", "parts", "rules", "cases", "entries")


class _Quoting(yaml.SafeDumper):
    """Quotes all text, so that nothing is read as anything else."""


def _quote(dumper: yaml.SafeDumper, text: str) -> yaml.ScalarNode:
    word = text == "absent" or re.fullmatch(r"\d{4}-\d{4}", text)
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=None if word else '"')


_Quoting.add_representer(str, _quote)


class _Texts(yaml.SafeLoader):
    """Leaves days as text."""


_Texts.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if not tag.endswith("timestamp")]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def shuffled(value: object, source: random.Random, key: str = "") -> object:
    """The same content with its keys, and the lists whose order means nothing, in another order."""
    if isinstance(value, dict):
        pairs = [(name, shuffled(member, source, name)) for name, member in value.items()]
        source.shuffle(pairs)
        return dict(pairs)
    if isinstance(value, list):
        members = [shuffled(member, source) for member in value]
        if key in LISTS:
            source.shuffle(members)
        return members
    return value


def rewritten(text: str, source: random.Random) -> str:
    content = shuffled(yaml.load(text, _Texts), source)  # noqa: S506 - a subclass of the safe loader.
    flow = source.choice([True, False, None])
    body = yaml.dump(
        content,
        Dumper=_Quoting,
        sort_keys=False,
        default_flow_style=flow,
        allow_unicode=True,
        width=source.choice([40, 200]),
        indent=source.choice([2, 4, 7]),
    )
    return f"# note {source.random()}\n\n{body}\n# end\n"


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_order_and_formatting_never_change_the_id(seed):
    source = random.Random(seed)
    files = {}
    for name, text in FILES.items():
        folder, slash, _ = name.partition("/")
        moved = f"{folder}/{source.randrange(10**9)}.yaml" if slash and folder in FOLDERS else name
        files[moved] = rewritten(text, source)
    release = release_of(files)
    assert canonical(release.catalog) == canonical(ORIGINAL.catalog)
    assert release.id == ORIGINAL.id


def test_the_order_of_formatting_does_not_reach_the_catalog_in_memory():
    source = random.Random(7)
    release = release_of({name: rewritten(text, source) for name, text in FILES.items()})
    assert repr(release.catalog.parts) == repr(ORIGINAL.catalog.parts)
    assert repr(release.catalog.rules) == repr(ORIGINAL.catalog.rules)
    assert [repr(bike.has) for bike in release.catalog.bikes.values()] == [
        repr(bike.has) for bike in ORIGINAL.catalog.bikes.values()
    ]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("bikes/heron.yaml", "depth_mm: 62.0", "depth_mm: 62.5"),
        ("bikes/heron.yaml", "ref: sheet 4", "ref: sheet 40"),
        ("parts/tern.yaml", "Tern spacer ring", "Tern ring"),
        ("rules/fit.yaml", "margin: 2.0", "margin: 2.5"),
        ("rules/fit.yaml", "topic: fit", "topic: fits"),
        ("prices/2025.yaml", "tern_pod: 19900", "tern_pod: 19901"),
        ("cases/fronts.yaml", "total: 80000", "total: 80001"),
        ("shop.yaml", "tax_percent: 20", "tax_percent: 21"),
    ],
)
def test_a_change_of_content_changes_the_id(file, old, new):
    assert FILES[file].count(old) == 1
    assert release_of(dict(FILES) | {file: FILES[file].replace(old, new)}).id != ORIGINAL.id


def test_an_id_is_short_and_safe_in_an_address():
    assert re.fullmatch(r"r-[0-9a-f]{16}", ORIGINAL.id)
