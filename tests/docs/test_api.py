"""docs/api.md and the README name all that the API and the command have."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from service.cli import app as command
from service.faults import SENTENCES
from service.problems import KINDS, Kind
from service.settings import PREFIX, Settings
from service.shapes.found import FoundAsked
from service.shapes.next_bikes import NextBikeAsked
from service.shapes.paths import PathAsked
from service.terminal.question import read_path_question, read_question
from tests.contract.small import small_app

ROOT = Path(__file__).parents[2]
PAGE = "\n".join((ROOT / "docs" / page).read_text(encoding="utf-8") for page in ("api.md", "calculations.md"))
ROUTES = [
    f"`{method.upper()} {path}`"
    for path, methods in small_app().openapi()["paths"].items()
    for method in methods
]
COMMANDS = sorted(
    [str(entry.name or entry.callback.__name__) for entry in command.registered_commands if entry.callback]
    + [str(group.name) for group in command.registered_groups]
)


@pytest.mark.parametrize("route", ROUTES)
def test_every_route_is_documented(route: str) -> None:
    assert f"| {route} |" in PAGE


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.code)
def test_every_problem_is_documented_with_its_status(kind: Kind) -> None:
    assert f"| `{kind.code}` | {kind.status} |" in PAGE


@pytest.mark.parametrize("code", SENTENCES)
def test_every_fault_is_documented(code: str) -> None:
    assert f"`{code}`" in PAGE


@pytest.mark.parametrize("name", Settings.model_fields)
def test_every_setting_is_documented(name: str) -> None:
    assert f"| `{PREFIX}{name.upper()}` |" in PAGE


@pytest.mark.parametrize("name", FoundAsked.model_fields)
def test_everything_that_can_be_known_of_a_bike_is_documented(name: str) -> None:
    assert f"| `{name}` |" in PAGE


@pytest.mark.parametrize("name", PathAsked.model_fields)
def test_everything_that_a_path_can_be_asked_with_is_documented(name: str) -> None:
    assert f"| `{name}` |" in PAGE


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_documented(name: str) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"| `loomway {name}" in PAGE
    assert re.search(rf"^\| `{name}` \|", readme, re.MULTILINE)


def test_nothing_is_documented_that_does_not_exist() -> None:
    documented = re.findall(r"^\| (`(?:GET|POST) [^`]+`) \|", PAGE, re.MULTILINE)
    assert sorted(documented) == sorted(ROUTES)


def test_the_example_question_can_be_read(tmp_path: Path) -> None:
    example = re.search(r"```yaml\n(.*?)```", PAGE, re.DOTALL)
    assert example
    file = tmp_path / "question.yaml"
    file.write_text(example[1], encoding="utf-8")
    assert read_path_question(file).to_domain().stages[1].fitter == "home"
    assert yaml.safe_load(example[1])["bike"] == "gadwall-2018-grand"


def test_the_example_question_about_the_next_bike_can_be_read(tmp_path: Path) -> None:
    *_, example = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)
    file = tmp_path / "question.yaml"
    file.write_text(example, encoding="utf-8")
    question = read_question(file, NextBikeAsked).to_domain()
    assert (question.next_bike, len(question.found.fitted)) == ("whimbrel-2022-coast", 2)
