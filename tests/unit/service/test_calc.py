"""`loomway calc`: lists, explains, answers, and says plainly what is wrong with an option."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

from rules.calculations.registry import CALCULATIONS
from service.cli import app
from service.terminal.mistakes import WrongCommand

RUN = CliRunner()


def ask(*words: str) -> str:
    result = RUN.invoke(app, ["calc", *words])
    if result.exception is not None:
        raise result.exception
    return result.stdout


def refused(*words: str) -> str:
    with pytest.raises(WrongCommand) as error:
        ask(*words)
    return str(error.value)


def test_every_calculation_is_listed_with_units() -> None:
    text = ask()
    assert [x for x in CALCULATIONS if x not in text] == []
    assert "--speed-kmh [km/h]" in text


def test_list_in_json_is_the_registry() -> None:
    listed = json.loads(ask("--json"))["calculations"]
    assert [x["id"] for x in listed] == list(CALCULATIONS)


def test_gain_is_twenty_volts_for_a_hundred_watts_into_four_ohms() -> None:
    told = json.loads(ask("gain", "--power", "100", "--impedance", "4", "--json"))
    assert (told["result"], told["unit"]) == (20.0, "V")
    assert {"estimate", "tone"} <= {x["id"] for x in told["cautions"]}
    assert all(x["text"] for x in told["cautions"])


def test_unit_may_be_left_off_an_option_and_values_joined_to_it() -> None:
    short = ask("listening_time", "--speed", "100", "--music=85", "--json")
    assert short == ask("listening_time", "--speed-kmh", "100", "--music-dba", "85", "--json")


def test_several_numbers_are_written_with_commas() -> None:
    told = json.loads(ask("parallel_impedance", "--impedances", "4,4,8", "--json"))
    assert told["result"] == pytest.approx(1.6)


def test_answer_for_a_person_shows_result_grounds_and_cautions() -> None:
    text = ask("gain", "--power", "100", "--impedance", "4")
    for words in ("20 V", "Equation:", "Source:", "Take care", "speakers disconnected"):
        assert words in text


def test_help_of_a_calculation_lists_its_options() -> None:
    text = ask("gain", "--help")
    assert "--speaker-powers" in text
    assert "must be given" in text


@pytest.mark.parametrize("words", [["--help"], ["-h"]])
def test_help_without_a_calculation_is_the_commands_own(words: list[str]) -> None:
    assert "Usage" in ask(*words)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["gain", "--power", "100"], "--impedance is missing"),
        (["gain", "--powr", "100"], "did you mean --power?"),
        (["gain", "--power", "100", "--power", "1", "--impedance", "4"], "--power comes twice"),
        (["gain", "--power"], "--power has no value"),
        (["gain", "--power", "much", "--impedance", "4"], "--power is not a number"),
        (["gain", "--power", "-5", "--impedance", "4"], "--power is out of range"),
        (["gain", "100"], "takes nothing but options"),
        (["gain", "--power", "nan", "--impedance", "4"], "--power is not a finite number"),
        (["parallel_impedance", "--impedances", "4,,4"], "--impedances-ohm is not a number"),
        (["efficiency", "--amplifier-class", "Z"], "one of"),
    ],
)
def test_a_wrong_option_is_named_with_its_cure(words: list[str], says: str) -> None:
    assert says in refused(*words)


def test_options_without_a_calculation_are_refused() -> None:
    assert "name a calculation" in refused("--power", "100")
