"""The command answers like the API, and tells a person plainly what they mistook."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from rules.engine import Engine
from service.cli import main
from tests.contract.canned import CannedEngine
from tests.contract.small import DIRECTORY

QUESTION = """
bike: bittern-2019-plain
visits:
  - on: 2026-05-01
  - on: 2027-05-01
wants:
  - any_of: [curlew-slim]
    place: fairing_pods
"""


class Said(NamedTuple):
    code: int
    out: str
    err: str


Run = Callable[..., Said]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.setattr("service.serving.Engine", CannedEngine)

    def run(*words: str) -> Said:
        monkeypatch.setattr(sys, "argv", ["loomway", *words])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        return Said(int(left.value.code or 0), out, err)

    return run


@pytest.fixture
def ask(run: Run) -> Run:
    return lambda *words: run(*words, "--catalog", str(DIRECTORY))


@pytest.fixture
def question(tmp_path: Path) -> Path:
    file = tmp_path / "question.yaml"
    file.write_text(QUESTION, encoding="utf-8")
    return file


def test_check_prints_counts_and_diagnostics(run: Run) -> None:
    said = run("check", str(DIRECTORY), "--json")
    assert said.code == 0
    assert json.loads(said.out) == {
        "counts": {
            "makers": 1,
            "families": 1,
            "variants": 7,
            "parts": 5,
            "connector_types": 2,
            "rules": 5,
            "cases": 1,
        },
        "diagnostics": [],
    }


def test_check_tells_each_fault_and_fails(run: Run, tmp_path: Path) -> None:
    said = run("check", str(tmp_path))
    assert said.code == 1
    assert said.out.startswith("Not sound: ")
    assert "error[missing-file]" in said.err
    assert json.loads(run("check", str(tmp_path), "--json").out)["counts"] is None


def test_fit_tells_the_verdict_and_what_it_takes(ask: Run) -> None:
    said = ask("fit", "bittern-2019-plain", "curlew-slim", "--on", "2026-05-01")
    assert said.code == 0
    assert said.out.startswith(
        "Curlew slim, 4 ohm fits the 2019 Hollowmere Bittern Plain (fairing pods), together"
    )
    for words in ("Curlew grilles", "stock pod speakers", "130.25 EUR", "25 min", "last list"):
        assert words in said.out
    assert "speaker_too_deep" not in said.out
    assert said.err == ""


def test_fit_shows_the_rules_and_sources_when_asked_why(ask: Run) -> None:
    said = ask("fit", "bittern-2019-plain", "curlew-slim", "--why")
    for words in ("rule speaker_too_deep", "Rushholm data sheet C", "model years 2019-2021", "limit 40 mm"):
        assert words in said.out


def test_fit_answers_in_json_as_the_api_does(ask: Run) -> None:
    said = ask("fit", "bittern-2019-plain", "curlew-slim", "--json", "--on", "2026-05-01", "--fitter", "home")
    answer = json.loads(said.out)
    assert answer["answer"]["verdict"] == "fits_with"
    assert answer["answer"]["fitter"] == "home"
    assert answer["pinned"].endswith("/bittern-2019-plain/curlew-slim/2026-05-01?fitter=home")


def test_plan_tells_visits_money_and_how_sure_it_is(ask: Run, question: Path) -> None:
    said = ask("plan", str(question))
    assert said.code == 0
    for words in (
        "Visit of 2026-05-01",
        "stays",
        "130.25 EUR",
        "There is no cheaper way.",
        "is gone at the end",
    ):
        assert words in said.out
    assert "2027-05-01, fitted" not in said.out


OWN_PART = """
found:
  fitted:
    - {part: eider, place: fairing_pods, paid_minor: 9900, fitted_on: 2020-04-01, fitter: home}
  removed:
    - {part: bench-pod, place: fairing_pods}
  own_parts:
    - id: eider
      name: Eider pair
      kind: speaker
      slot: speaker
      spec: {depth_mm: 40}
      connectors:
        terminals: {map: blades, gender: socket, mirrored: true, paired: true, needed: true}
      speaker: {impedance_ohm: 4, rms_w: 40}
      source: {kind: measured, ref: at the shop, date: 2026-04-30}
"""


def test_plan_tells_what_stays_and_what_was_paid_for_it(
    ask: Run, question: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.serving.Engine", Engine)
    question.write_text(QUESTION + OWN_PART, encoding="utf-8")
    said = ask("plan", str(question))
    assert said.code == 0, said.err
    ledger = said.out.partition("What stays, and what you sell on")[2]
    for words in ("Eider pair", "2020-04-01, at home", "99.00 EUR", "Curlew slim", "stays"):
        assert words in ledger


def test_a_fault_of_an_own_part_is_told_with_its_place(
    ask: Run, question: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.serving.Engine", Engine)
    question.write_text(QUESTION + OWN_PART.replace("map: blades", "map: blads"), encoding="utf-8")
    said = ask("plan", str(question))
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("found.own_parts.0.connectors.map: ")


def test_plan_answers_in_json_as_the_api_does(ask: Run, question: Path) -> None:
    answer = json.loads(ask("plan", str(question), "--json").out)
    assert answer["outcome"] == "path"
    assert answer["plan"]["total_minor"] == 12_525


def test_plan_tells_what_stands_in_the_way(ask: Run, question: Path) -> None:
    question.write_text(QUESTION + "budget_minor: 0\n", encoding="utf-8")
    said = ask("plan", str(question))
    assert said.code == 0
    assert said.out.startswith("There is no way to have all of this:")
    assert "the money for everything" in said.out


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("bike: [", "this is not YAML in UTF-8"),
        ("- 1", "the question: this value has the wrong type"),
        (QUESTION + "budjet_minor: 1\n", "there is a key here that is not known; did you mean budget_minor?"),
        (QUESTION.replace("2026-05-01", "May"), "visits.0.on: a day is written 2027-03-31"),
        (QUESTION.replace("curlew-slim", "true"), "wants.0.any_of.0: this value has the wrong type"),
    ],
)
def test_a_faulty_question_file_is_told_field_by_field(
    ask: Run, question: Path, text: str, told: str
) -> None:
    question.write_text(text, encoding="utf-8")
    said = ask("plan", str(question))
    assert (said.code, said.out) == (2, "")
    assert told in said.err


def test_a_question_file_that_is_not_there_is_told(ask: Run, tmp_path: Path) -> None:
    said = ask("plan", str(tmp_path / "gone.yaml"))
    assert said.code == 2
    assert "cannot be read" in said.err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("fit", "bitern-2019-plain", "curlew-slim"), "no such bike; did you mean bittern-2019-plain"),
        (("fit", "bittern-2019-plain", "x"), "no such part; `loomway explain parts` lists them"),
        (("fit", "bittern-2019-plain", "curlew-slim", "--place", "pods"), "no such place"),
        (("fit", "bittern-2019-plain", "curlew-slim", "--on", "2026-02-30"), "--on takes a day"),
        (("explain", "speaker_to_deep"), "did you mean speaker_too_deep?"),
        (("explain", "bittern-2019-plain", "places.rear_pod.geometry.depth_mm"), "did you mean places."),
    ],
)
def test_a_mistake_is_told_with_what_to_do(ask: Run, words: tuple[str, ...], told: str) -> None:
    said = ask(*words)
    assert (said.code, said.out) == (2, "")
    assert told in said.err


def test_a_broken_catalog_cannot_be_asked(run: Run, tmp_path: Path) -> None:
    said = run("fit", "a", "b", "--catalog", str(tmp_path))
    assert (said.code, said.out) == (3, "")
    assert "`loomway check DIR`" in said.err


def test_a_misspelt_setting_stops_the_start(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOOMWAY_PROT", "1")
    said = run("serve", "--catalog", str(DIRECTORY))
    assert said.code == 2
    assert "did you mean LOOMWAY_PORT?" in said.err


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("fits_with", "a verdict"),
        ("clearance", "rules of this kind: speaker_too_deep"),
        ("speaker_too_deep", "The speaker is too deep for the pod."),
        ("missing-file", "a fault of a catalog (error)"),
        ("malformed-json", "a problem that the API answers with"),
        ("curlew-slim", "speaker by Rushholm, line curlew"),
        ("bittern-2020-plain", "a name of several bikes"),
        ("bittern-2019-plain", "stock.dash.head_unit: bench-radio (measured: two bikes on our lift"),
        ("parts", "curlew-grille"),
    ],
)
def test_explain_knows_every_word(ask: Run, word: str, told: str) -> None:
    assert told in ask("explain", word).out
    assert json.loads(ask("explain", word, "--json").out)["word"] == word


def test_explain_tells_where_a_fact_comes_from(ask: Run) -> None:
    said = ask("explain", "bittern-2019-plain", "places.rear_pods.geometry.depth_mm")
    assert "not known; lay a ruler" in said.out
    assert "small_catalog/bikes/bittern.yaml:" in said.out


def test_help_imports_nothing_heavy() -> None:
    heavy = {"fastapi", "networkx", "ortools", "pydantic", "rich", "yaml"}
    script = f"import sys, service.cli; print(sorted(set(sys.modules) & {heavy}))"
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
