"""docs/figures.md names every calculation and fact that figures use, and its question is answered as it says."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from typer.testing import CliRunner

from rules.calculations.registry import CALCULATIONS
from service.cli import app

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "figures.md").read_text(encoding="utf-8")
CODE = "\n".join(
    file.read_text(encoding="utf-8") for file in sorted((ROOT / "rules" / "figures").glob("*.py"))
)


@cache
def asked(*words: str) -> str:
    question = re.search(r"```yaml\n(.*?)```", PAGE, re.DOTALL)
    assert question
    with TemporaryDirectory() as folder:
        file = Path(folder) / "question.yaml"
        file.write_text(question[1], encoding="utf-8")
        result = CliRunner().invoke(app, ["plan", str(file), *words])
    assert result.exception is None
    return result.stdout


def visits() -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(asked("--json"))["plan"]["visits"]
    return found


def test_no_figure_of_any_visit_is_missing_without_a_reason() -> None:
    for visit in visits():
        figures = visit["figures"]
        for group in ("electrical", "sound", "presets", "mass", "labour", "warranty"):
            assert figures[group], group
            for one in figures[group]:
                assert (one["status"] == "verified") != bool(one["missing"] or one["why"]), one


def test_the_last_visit_of_the_example_is_verified_throughout() -> None:
    last = visits()[-1]["figures"]
    assert last["missing"] == []
    assert last["labels"][0]["lines"]


def test_every_calculation_behind_a_figure_is_on_the_page() -> None:
    used = set(re.findall(r'figure\(\s*[^,]+,\s*"(\w+)"', CODE)) | {"labour_time"}
    assert used <= set(CALCULATIONS)
    assert {name for name in used if f"`{name}`" not in PAGE} == set()


def test_every_fact_that_figures_read_is_on_the_page() -> None:
    read = set(re.findall(r'"(?:part|place)\.(\w+)"', CODE)) | set(
        re.findall(r'bike(?:_word)?\("(\w+)"', CODE)
    )
    always = {
        "impedance_ohm",
        "rms_w",
        "efficiency",
        "idle_a",
        "ampacity_a",
        "length_m",
        "area_mm2",
        "fuse_a",
        "full_a",
    }
    always |= {"mass_kg", "warranty_months", "idle_headroom_a", "charging_headroom_a"}
    assert {name for name in read - always if f"`{name}`" not in PAGE} == set()


def test_the_tables_tell_figures_labels_and_cautions_but_no_level() -> None:
    text = asked()
    for words in (
        "Figures",
        "To be set",
        "set the gain to",
        "Label for Fulmar 4",
        "Check polarity",
        "Take care",
    ):
        assert words in text
    assert not re.search(r"\bdB\b|decibel|louder", re.sub(r"Above 85 dBA.*|Wind in the helmet.*", "", text))
