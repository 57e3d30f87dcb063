"""The command around plans: what a person reads, and the rider's rights on the database itself."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli import app
from service.plans.keeper import PlanKeeper
from service.releasing.files import read_directory, write_archive
from service.serving import Serving
from service.settings import DEMO_CATALOG
from service.store.database import Database
from service.store.events import NewEvent
from service.store.history import History
from service.store.migrating import migrate
from tests.plans.desk import AT, TODAY, done_as_planned, save
from tests.releasing.shelves import keep

RUNNER = CliRunner()


def run(*arguments: str) -> str:
    done = RUNNER.invoke(app, arguments, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout


@pytest.fixture
def kept(tmp_path: Path, serving: Serving, monkeypatch: pytest.MonkeyPatch) -> PlanKeeper:
    address = f"sqlite:///{tmp_path}/loomway.db"
    monkeypatch.setenv("LOOMWAY_DATABASE_URL", address)
    database = Database(address)
    migrate(database)
    release = keep(database, write_archive(read_directory(DEMO_CATALOG)))
    History(database).add(
        NewEvent(kind="activated", release=release, by="Odd", at=AT, why=""), instead_of=None
    )
    return PlanKeeper(database=database, by="desk", now=lambda: AT)


def test_a_saved_plan_is_listed_shown_and_its_rider_forgotten(kept: PlanKeeper, serving: Serving) -> None:
    saved = save(kept, serving)
    kept.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    assert saved.rider is not None
    listed = run("plans", "list")
    assert saved.id in listed
    assert "Ingunn Tangen" in listed
    shown = run("plans", "show", saved.id)
    assert "under way" in shown
    assert "201.60 EUR" in shown
    assert "1,449.75 EUR" in shown
    assert "visit done" in run("plans", "history", saved.id)
    told = json.loads(run("riders", "export", saved.rider.id))
    assert told["rider"]["contact"] == "ingunn@strand.example"
    assert [x["number"] for x in told["plans"][0]["revisions"]] == [2, 1]
    assert "forgotten" in run("riders", "erase", saved.rider.id)
    assert "Ingunn" not in run("plans", "list")


def test_a_brief_is_answered_or_says_what_to_ask(tmp_path: Path) -> None:
    brief = tmp_path / "brief.yaml"
    brief.write_text("bike: gadwall-2018-grand\nrides: town\n", encoding="utf-8")
    asked = run("propose", str(brief))
    assert "How often does somebody ride with you? (passenger)" in asked
    brief.write_text(
        "bike: gadwall-2018-grand\nfound: {}\nrides: town\npassenger: never\nlistens: [music]\n"
        "visits:\n  - on: 2026-05-04\n    budget_minor: 20000\n",
        encoding="utf-8",
    )
    told = run("propose", str(brief))
    assert "Fronts on the radio that is there" in told
    assert "No way to: Fronts on an amplifier." in told
    assert "Mind: " in told
