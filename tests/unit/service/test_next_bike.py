"""`loomway next-bike`: to a bike with an integrated screen, on the demo catalog; to the cent."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli import app
from service.terminal.mistakes import WrongCommand

QUESTION = """
bike: gadwall-2021-solo
next_bike: whimbrel-2022-coast
visits:
  - {on: 2026-10-01}
wants:
  - {any_of: [fulmar-4]}
  - {any_of: [dunlin-65], place: fairing_pods}
found:
  fitted:
    - {part: fulmar-4, place: fairing_tray, paid_minor: 69900}
    - {part: lovage-gadwall, place: fairing_tray}
    - {part: marram-sk20-4a, place: fairing_loom}
    - {part: orache-b-full, place: dash}
    - {part: thrift-10-m8, place: battery}
    - {part: dunlin-65, place: fairing_pods}
    - {part: saltwort-flat-blades, place: fairing_pods}
  removed:
    - {part: skarvane-pod-155f, place: fairing_pods}
  presets: [fulmar-4]
"""


def ask(folder: Path, question: str, *more: str) -> str:
    file = folder / "question.yaml"
    file.write_text(question, encoding="utf-8")
    result = CliRunner().invoke(app, ["next-bike", str(file), *more])
    if result.exception is not None:
        raise result.exception
    return result.stdout


def test_amplifier_and_fronts_go_along_and_the_harness_and_its_like_are_new(tmp_path: Path) -> None:
    told = json.loads(ask(tmp_path, QUESTION, "--json"))
    assert {x["part"] for x in told["own"]} == {"dunlin-65", "fulmar-4"}
    assert (told["net_minor"], told["new_net_minor"], told["worth_minor"]) == (95_925, 149_225, 19_500)
    assert [x["amplifier"]["part"] for x in told["presets"]] == ["fulmar-4"]
    bought = {x["about"] for visit in told["plan"]["visits"] for x in visit["lines"] if x["kind"] == "part"}
    assert bought.isdisjoint({"fulmar-4", "dunlin-65"})


def test_both_ways_and_what_taking_parts_along_saves_are_told(tmp_path: Path) -> None:
    text = ask(tmp_path, QUESTION)
    for words in (
        "from the old bike",
        "To be preset anew",
        "1,492.25 EUR",
        "saves 533.00 EUR",
        "does not go on",
    ):
        assert words in text


def test_a_budget_is_told_with_its_place(tmp_path: Path) -> None:
    with pytest.raises(WrongCommand, match=r"visits\.0"):
        ask(tmp_path, QUESTION.replace("2026-10-01}", "2026-10-01, budget_minor: 1}"))
