"""The pages about sound and presets name each of their calculations, and every caution has its words."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rules.calculations.registry import CALCULATIONS

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("topic", ["boxes", "filters", "hearing", "signal", "sound"])
def test_the_page_about_sound_names_each_calculation(topic):
    named = set(re.findall(r"`(\w+)`", (DOCS / "acoustics.md").read_text(encoding="utf-8")))
    of_topic = {x.id for x in CALCULATIONS.values() if x.topic == topic}
    assert of_topic
    assert of_topic <= named


@pytest.mark.parametrize("page", ["acoustics.md", "presets.md"])
def test_every_file_that_the_page_names_exists(page):
    text = (DOCS / page).read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:rules|tests)/[\w/.]+)`", text))
    assert named
    assert [name for name in named if not (DOCS.parent / name).exists()] == []
