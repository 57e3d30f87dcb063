"""A catalog's stored form says all that the catalog says, and nothing else is taken for one."""

from __future__ import annotations

import json

import pytest

from rules.catalog.catalog import Catalog
from rules.load import load_catalog
from rules.release import canonical
from rules.stored import StoredFormRefused, from_stored, to_stored
from service.settings import DEMO_CATALOG
from tests.contract.small import DIRECTORY


@pytest.fixture(scope="module", params=[DIRECTORY, DEMO_CATALOG], ids=["small", "demo"])
def catalog(request: pytest.FixtureRequest) -> Catalog:
    return load_catalog(request.param)


def test_what_is_read_back_is_equal_and_has_the_same_content(catalog: Catalog) -> None:
    read = from_stored(to_stored(catalog))
    assert read == catalog
    assert canonical(read) == canonical(catalog)


def test_numbers_words_and_truth_stay_apart_when_read_back(catalog: Catalog) -> None:
    read = from_stored(to_stored(catalog))
    assert _types(read.parts) == _types(catalog.parts)
    assert _types(read.rules) == _types(catalog.rules)


def _types(values: object) -> object:
    if isinstance(values, dict):
        return {key: _types(value) for key, value in values.items()}
    if isinstance(values, tuple):
        return type(values), [_types(value) for value in values]
    if hasattr(values, "model_fields_set"):
        return type(values), sorted(values.model_fields_set), _types(values.__dict__)
    return type(values)


def test_the_same_catalog_has_the_same_bytes(catalog: Catalog) -> None:
    assert to_stored(from_stored(to_stored(catalog))) == to_stored(catalog)


def test_a_copy_of_an_entry_read_back_can_be_changed(catalog: Catalog) -> None:
    part = next(iter(from_stored(to_stored(catalog)).parts.values()))
    assert part.model_copy(update={"name": "Other"}).name == "Other"


def changed(content: bytes, **members: object) -> bytes:
    return json.dumps({**json.loads(content), **members}).encode()


@pytest.mark.parametrize("content", [b"", b"{}", b"[]", b"\xff", b'{"form":1}', b"[" * 100_000])
def test_other_bytes_are_refused(content: bytes) -> None:
    with pytest.raises(StoredFormRefused):
        from_stored(content)


def test_bytes_of_another_revision_are_refused(catalog: Catalog) -> None:
    content = to_stored(catalog)
    runs = json.loads(content)["runs"]
    grown = [
        [[name, [*names, "another"] if names else names, given], rows] for (name, names, given), rows in runs
    ]
    for other in ({"form": 0}, {"runs": grown}, {"root": 0}, {"runs": runs[:-1]}):
        with pytest.raises(StoredFormRefused):
            from_stored(changed(content, **other))


def test_no_class_but_those_of_a_catalog_can_be_named(catalog: Catalog) -> None:
    content = to_stored(catalog)
    for name in ("Path", "object", "Engine", "os.system", "__class__"):
        runs = [[[name, [], []], [[]]], *json.loads(content)["runs"]]
        with pytest.raises(StoredFormRefused):
            from_stored(changed(content, runs=runs))
