"""Settings are read from the environment, and a misspelt one is refused."""

from __future__ import annotations

from datetime import UTC
from zoneinfo import ZoneInfo

import pytest
from pydantic import ValidationError

from service.settings import Settings, UnknownSettings, read_settings


def test_a_misspelt_variable_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(UnknownSettings) as refused:
        read_settings({"LOOMWAY_PROT": "8000", "PATH": "/bin"})
    assert refused.value.found == {"LOOMWAY_PROT": "port"}
    assert str(refused.value) == "LOOMWAY_PROT is no setting; did you mean LOOMWAY_PORT?"


def test_a_variable_like_no_setting_is_refused_without_a_guess() -> None:
    with pytest.raises(UnknownSettings, match=r"^LOOMWAY_Q is no setting$"):
        read_settings({"LOOMWAY_Q": ""})


def test_variables_of_others_are_left_alone() -> None:
    assert read_settings({"LOOM": "1", "PORT": "9"}).port == Settings().port


def test_the_environment_sets_the_port(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LOOMWAY_PORT", "0")
    assert read_settings().port == 0


@pytest.mark.parametrize(
    ("name", "value"),
    [("PORT", "70000"), ("PORT", "x"), ("TIME_ZONE", "Nowhere/Land"), ("TIME_ZONE", "../x")],
)
def test_an_impossible_value_is_refused(monkeypatch: pytest.MonkeyPatch, name: str, value: str) -> None:
    monkeypatch.setenv(f"LOOMWAY_{name}", value)
    with pytest.raises(ValidationError):
        read_settings()


def test_the_time_zone_decides_which_day_it_is() -> None:
    assert Settings().zone is UTC
    assert Settings(time_zone="Atlantic/Azores").zone == ZoneInfo("Atlantic/Azores")
