"""Giving the answers of a decision log again."""

from __future__ import annotations

from pathlib import Path

from fastapi import FastAPI

from service.app import create_app
from service.observing.decisions import read_decisions
from service.observing.replay import Replayed, replay
from service.settings import Settings
from service.terminal.mistakes import WrongCommand
from service.terminal.reading import open_catalog

QUIET = {"decision_log": None, "requests_per_minute": 0}
"""What answers again notes nothing and limits nobody."""


def replay_log(log: Path, settings: Settings, catalog: Path | None) -> int:
    """Print what came of each logged answer that is no longer the same, and how many are.

    Returns: The exit code: 1 if any differs.
    """
    app = _application(settings.model_copy(update=QUIET), catalog)
    try:
        found = list(replay(app, read_decisions(log)))
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise WrongCommand(f"{log} cannot be read as a decision log") from error
    for replayed in found:
        if not replayed.same:
            print(_line(replayed))  # noqa: T201 -- a command prints its answer
    same = sum(replayed.same for replayed in found)
    print(f"{same} of {len(found)} answers are the same")  # noqa: T201 -- a command prints its answer
    return int(same < len(found))


def _line(replayed: Replayed) -> str:
    decision = replayed.decision
    return f"{decision.at.isoformat()} {decision.request} {decision.method} {decision.path}: now {replayed.status}"


def _application(settings: Settings, catalog: Path | None) -> FastAPI:
    if settings.database_url is None:
        serving = open_catalog(catalog or settings.catalog)
        return create_app(serving.release, settings, serve=lambda _: serving)
    from service.terminal.following import open_database  # noqa: PLC0415 -- without a database nothing of it is loaded

    serving, office = open_database(settings)
    return create_app(serving.release, settings, serve=lambda _: serving, office=office)
