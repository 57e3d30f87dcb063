"""`loomway calc channels`: the best channels for some zones, or why there are none."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rules.errors import MalformedQuestion
from service.cli import app
from service.terminal.mistakes import WrongCommand

QUESTION = """
sources:
  - name: amplifier
    caps: true
    outputs:
      - {id: pair1_left, rated: [{ohm: 4, watts: 60}, {ohm: 2, watts: 95}], min_ohm: 2}
      - {id: pair1_right, rated: [{ohm: 4, watts: 60}, {ohm: 2, watts: 95}], min_ohm: 2}
zones:
  - {name: fronts, impedance_ohm: 4, rms_w: 75}
  - {name: rears, impedance_ohm: 4, rms_w: 45}
"""


def ask(folder: Path, question: str, *more: str) -> str:
    file = folder / "question.yaml"
    file.write_text(question, encoding="utf-8")
    result = CliRunner().invoke(app, ["calc", "channels", str(file), *more])
    if result.exception is not None:
        raise result.exception
    return result.stdout


def test_zones_that_share_are_told_what_that_means(tmp_path: Path) -> None:
    text = ask(tmp_path, QUESTION)
    for words in ("fronts and rears", "one gain", "needs a preset that caps", "47.5 W", "Ignition off"):
        assert words in text


def test_json_is_what_the_api_answers_without_the_release(tmp_path: Path) -> None:
    told = json.loads(ask(tmp_path, QUESTION, "--json"))
    assert told["outcome"] == "allocation"
    assert told["shared"] == [["fronts", "rears"]]
    assert told["cautions"]


def test_refusal_says_what_would_help(tmp_path: Path) -> None:
    text = ask(tmp_path, QUESTION.replace("min_ohm: 2", "min_ohm: 4"))
    assert "no way to feed fronts and rears together" in text
    assert "lower impedance" in text


def test_faults_of_the_file_are_named(tmp_path: Path) -> None:
    with pytest.raises(WrongCommand, match=r"zones\.0\.impedance_ohm"):
        ask(tmp_path, QUESTION.replace("impedance_ohm: 4, rms_w: 75", "impedance_ohm: 0, rms_w: 75"))


def test_two_powers_at_one_impedance_are_refused(tmp_path: Path) -> None:
    with pytest.raises(MalformedQuestion):
        ask(tmp_path, QUESTION.replace("{ohm: 2, watts: 95}", "{ohm: 4, watts: 95}"))


@pytest.mark.parametrize("words", [[], ["one.yaml", "two.yaml"], ["--power"]])
def test_one_file_is_asked_for(words: list[str]) -> None:
    result = CliRunner().invoke(app, ["calc", "channels", *words])
    assert isinstance(result.exception, WrongCommand)
