"""Settings from the environment: every variable begins with `LOOMWAY_`, and a misspelt one is refused."""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import UTC, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import Field, SecretStr, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from rules.nearest import nearest

PREFIX = "LOOMWAY_"
DEMO_CATALOG = Path(__file__).resolve().parent.parent / "catalog_demo"


class Settings(BaseSettings):
    """How the service runs."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, frozen=True)

    host: str = Field(default="127.0.0.1", description="Address to listen on.")
    port: int = Field(default=8000, ge=0, le=65_535, description="Port to listen on; 0 takes a free one.")
    catalog: Path = Field(default=DEMO_CATALOG, description="Directory of the catalog that `serve` reads.")
    time_zone: str = Field(default="UTC", description="Where the shop is: decides which day today is.")
    body_limit_bytes: int = Field(default=2_000_000, ge=1_000, description="Longest request body [bytes].")

    database_url: SecretStr | None = Field(
        default=None, description="Where state is kept; without it nothing outlives the process."
    )
    follow_seconds: float = Field(
        default=1.0, ge=0.01, le=60, description="How often a process asks the database what is served [s]."
    )
    releases_held: int = Field(default=4, ge=0, le=100, description="Older releases held in memory.")
    upload_limit_bytes: int = Field(default=64_000_000, ge=1_000, description="Longest upload [bytes].")

    requests_per_minute: int = Field(
        default=60_000, ge=0, description="Most requests of one client in a minute; 0 sets no limit."
    )
    at_once: int = Field(default=200, ge=1, description="Questions that one process works out at once.")
    answer_seconds: float = Field(
        default=120, ge=1, le=3_600, description="How long an answer may take to begin [s]."
    )
    allowed_origins: tuple[str, ...] = Field(
        default=(), description="Origins whose pages may ask from a browser."
    )
    decision_log: Path | None = Field(default=None, description="File that notes what was answered.")

    @field_validator("time_zone")
    @classmethod
    def _is_a_zone(cls, name: str) -> str:
        try:
            _zone(name)
        except (ZoneInfoNotFoundError, ValueError) as error:
            message = "no time zone of this name on this machine; names look like Atlantic/Azores"
            raise ValueError(message) from error
        return name

    @property
    def zone(self) -> tzinfo:
        """The shop's time zone."""
        return _zone(self.time_zone)


def _zone(name: str) -> tzinfo:
    # UTC must work on machines without time zone data.
    return UTC if name == "UTC" else ZoneInfo(name)


class UnknownSettings(Exception):  # noqa: N818 -- it names what was found, like every exception here
    """The environment sets variables that no setting has.

    A typing error would otherwise leave a default in force.
    """

    def __init__(self, found: Mapping[str, str | None]) -> None:
        self.found = dict(found)
        super().__init__("; ".join(_complaint(name, near) for name, near in self.found.items()))


def _complaint(name: str, near: str | None) -> str:
    return f"{name} is no setting" + (f"; did you mean {PREFIX}{near.upper()}?" if near else "")


def read_settings(environ: Mapping[str, str] = os.environ) -> Settings:
    """Read the settings.

    Raises:
        UnknownSettings: A variable with our prefix that is no setting, with the nearest name.
        pydantic.ValidationError: A value that its setting does not take.
    """
    ours = sorted(name for name in environ if name.upper().startswith(PREFIX))
    strange = [name for name in ours if _bare(name) not in Settings.model_fields]
    if strange:
        raise UnknownSettings({name: nearest(_bare(name), Settings.model_fields) for name in strange})
    return Settings()


def _bare(name: str) -> str:
    return name[len(PREFIX) :].lower()
