"""What `loomway check --sarif` prints is a SARIF log.

Source: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, OASIS Standard, 27 March 2020. The schema
below is our own short form of what its sections ask of the properties that we write; section numbers stand beside them.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from service.terminal.check import check_directory
from tests.diagnostics.base import FILES, write
from tests.diagnostics.fault import check

TEXT = {"type": "string", "minLength": 1}
SENTENCE = {
    "type": "object",
    "required": ["text"],
    "properties": {"text": TEXT},
    "additionalProperties": False,
}
LEVEL = {"enum": ["none", "note", "warning", "error"]}  # 3.27.10
RULE = {  # 3.49 reportingDescriptor
    "type": "object",
    "required": ["id"],
    "properties": {
        "id": TEXT,
        "shortDescription": SENTENCE,
        "fullDescription": SENTENCE,
        "help": SENTENCE,
        "defaultConfiguration": {
            "type": "object",
            "properties": {"level": LEVEL},
            "additionalProperties": False,
        },
    },
    "additionalProperties": False,
}
REGION = {  # 3.30
    "type": "object",
    "properties": {
        "startLine": {"type": "integer", "minimum": 1},
        "startColumn": {"type": "integer", "minimum": 1},
        "endColumn": {"type": "integer", "minimum": 1},
    },
    "additionalProperties": False,
}
LOCATION = {  # 3.28, 3.29, 3.4
    "type": "object",
    "properties": {
        "physicalLocation": {
            "type": "object",
            "anyOf": [{"required": ["artifactLocation"]}, {"required": ["address"]}],
            "properties": {
                "artifactLocation": {
                    "type": "object",
                    "properties": {
                        "uri": {"type": "string", "format": "uri-reference", "pattern": r"^[^ <>\\]*$"}
                    },
                    "additionalProperties": False,
                },
                "region": REGION,
            },
            "additionalProperties": False,
        }
    },
    "additionalProperties": False,
}
RESULT = {  # 3.27
    "type": "object",
    "required": ["message"],
    "properties": {
        "ruleId": TEXT,
        "ruleIndex": {"type": "integer", "minimum": -1},
        "level": LEVEL,
        "message": SENTENCE,
        "locations": {"type": "array", "items": LOCATION},
    },
    "additionalProperties": False,
}
DRIVER = {  # 3.19 toolComponent
    "type": "object",
    "required": ["name"],
    "properties": {
        "name": TEXT,
        "version": TEXT,
        "rules": {"type": "array", "uniqueItems": True, "items": RULE},
    },
    "additionalProperties": False,
}
LOG = {  # 3.13
    "type": "object",
    "required": ["version", "runs"],
    "properties": {
        "$schema": {"type": "string", "format": "uri"},
        "version": {"const": "2.1.0"},
        "runs": {
            "type": "array",
            "items": {  # 3.14
                "type": "object",
                "required": ["tool"],
                "properties": {
                    "tool": {
                        "type": "object",
                        "required": ["driver"],
                        "properties": {"driver": DRIVER},
                        "additionalProperties": False,
                    },
                    "columnKind": {"enum": ["utf16CodeUnits", "unicodeCodePoints"]},
                    "results": {"type": "array", "items": RESULT},
                },
                "additionalProperties": False,
            },
        },
    },
    "additionalProperties": False,
}
DAY = date(2026, 6, 1)


def log_of(directory: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    check_directory(directory, survey_on=DAY, form="sarif")
    told = json.loads(capsys.readouterr().out)
    Draft202012Validator(LOG).validate(told)
    return told


def test_a_sound_catalog_gives_a_log_without_results(tmp_path, capsys):
    (run,) = log_of(write(tmp_path), capsys)["runs"]
    assert run["results"] == []


def test_each_diagnostic_is_a_result_at_its_place(tmp_path, capsys):
    text = FILES["rules/fit.yaml"].replace("in: [2018, 2019]", "in: [2031]")
    catalog = write(tmp_path / "my shop", dict(FILES) | {"rules/fit.yaml": text})
    (run,) = log_of(catalog, capsys)["runs"]
    told = [
        (result["ruleId"], result["level"], result["locations"][0]["physicalLocation"]["region"]["startLine"])
        for result in run["results"]
    ]
    found = check(catalog, DAY)
    assert told == [(each.code, each.severity, each.span.line) for each in found]
    assert [each.code for each in found] == ["never-fires"]


def test_a_result_points_at_its_rule_and_its_file_by_a_uri(tmp_path, capsys):
    text = FILES["parts/tern.yaml"].replace("mass_kg", "mas_kg").replace("slot: harness", "slot: harnes")
    catalog = write(tmp_path / "my shop", dict(FILES) | {"parts/tern.yaml": text})
    (run,) = log_of(catalog, capsys)["runs"]
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert rules == sorted({"unknown-key", "unknown-slot"})
    for result in run["results"]:
        assert rules[result["ruleIndex"]] == result["ruleId"]
        uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert uri.endswith("my%20shop/parts/tern.yaml")
