"""Schemas take every file that is right, and refuse faults that one file shows by itself."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft7Validator, FormatChecker

from rules.schema import FILES, schema_of
from service.authoring.schemas import MODELINE, mark_files, schema_text, write_schemas
from tests.diagnostics.base import FILES as BASE
from tests.diagnostics.base import write
from tests.diagnostics.fault import Fault, check, unmarked
from tests.diagnostics.faults import FAULTS

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "catalog_demo"
DEMO_FILES = sorted(DEMO.rglob("*.yaml"))
VALIDATORS = {
    kind: Draft7Validator(schema_of(kind), format_checker=FormatChecker(["date"])) for kind in FILES
}

SHOWN_BY_ONE_FILE = {
    "assumed-source",
    "bad-contact",
    "bad-currency",
    "bad-date",
    "bad-fact-name",
    "bad-id",
    "bad-impedance",
    "bad-link",
    "bad-measured",
    "bad-stock",
    "bad-years",
    "empty-selector",
    "excludes-always",
    "half-operation",
    "list-length",
    "missing-detail",
    "missing-key",
    "missing-slot",
    "missing-source",
    "missing-unit",
    "no-expectation",
    "one-operator",
    "out-of-range",
    "stray-detail",
    "text-length",
    "unknown-key",
    "unknown-kind",
    "unknown-word",
    "wrong-type",
}
"""Codes of faults that an editor can show while a file is written."""

BEYOND_A_SCHEMA = {
    # It may be the rest of a plug that is inherited.
    "an inherited plug without gender",
    # Figures are not compared with one another, nor plugs with another file's contact maps.
    "a visit that is not asked for",
    "a speaker that sends",
}


class _AsEditorsRead(yaml.SafeLoader):
    """YAML 1.2, as editors read it: a day is text."""


_AsEditorsRead.yaml_implicit_resolvers = {
    letter: [(tag, pattern) for tag, pattern in found if not tag.endswith(":timestamp")]
    for letter, found in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def read(text: str) -> Any:
    return yaml.load(text, _AsEditorsRead)  # noqa: S506 - a subclass of SafeLoader


def kind_of(name: str) -> str:
    return name.partition("/")[0].removesuffix(".yaml")


@pytest.mark.parametrize("path", DEMO_FILES, ids=lambda path: path.relative_to(DEMO).as_posix())
def test_a_demo_file_meets_its_schema(path):
    name = path.relative_to(DEMO).as_posix()
    VALIDATORS[kind_of(name)].validate(read(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("path", DEMO_FILES, ids=lambda path: path.relative_to(DEMO).as_posix())
def test_a_demo_file_names_its_schema_in_its_first_line(path):
    first = path.read_text(encoding="utf-8").partition("\n")[0]
    assert first.startswith(MODELINE)
    schema = path.parent / first.removeprefix(MODELINE)
    kind = kind_of(path.relative_to(DEMO).as_posix())
    assert schema.read_text(encoding="utf-8") == schema_text(kind), (
        "run: loomway schema --into catalog_demo/.schema"
    )


@pytest.mark.parametrize("name", BASE)
def test_a_sound_file_meets_its_schema(name):
    VALIDATORS[kind_of(name)].validate(read(BASE[name]))


def in_one_file() -> list[Fault]:
    return [fault for fault in FAULTS if fault.code in SHOWN_BY_ONE_FILE and len(fault.edits) == 1]


@pytest.mark.parametrize("fault", in_one_file(), ids=lambda fault: f"{fault.code}: {fault.title}")
def test_a_fault_that_one_file_shows_is_refused(fault):
    ((file, old, new),) = fault.edits
    text = unmarked(BASE[file].replace(old, new))
    assert list(VALIDATORS[kind_of(file)].iter_errors(read(text))) or fault.title in BEYOND_A_SCHEMA


@pytest.mark.parametrize("kind", FILES)
def test_a_schema_is_itself_sound_and_always_the_same(kind):
    schema = schema_of(kind)
    Draft7Validator.check_schema(schema)
    assert json.dumps(schema) == json.dumps(schema_of(kind))


def test_marking_a_catalog_leaves_the_rest_of_each_file_and_does_so_once(tmp_path):
    catalog, schemas = write(tmp_path / "catalog"), tmp_path / "catalog" / ".schema"
    write_schemas(schemas)
    assert len(mark_files(catalog, schemas)) == len(BASE)
    for name, text in BASE.items():
        marked = (catalog / name).read_text(encoding="utf-8")
        line, _, rest = marked.partition("\n")
        assert rest == text
        assert (catalog / name).parent.joinpath(line.removeprefix(MODELINE)).is_file()
    assert mark_files(catalog, schemas) == ()
    assert check(catalog) == ()
