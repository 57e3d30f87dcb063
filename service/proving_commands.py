"""The commands that tell how well a catalog's cases guard it, and what a release changes, for `service.cli`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

Json = Annotated[bool, typer.Option("--json", help="Answer in JSON, as the API does.")]
Directory = Annotated[Path, typer.Argument(metavar="DIR", help="Directory of a catalog.")]
Jobs = Annotated[
    int | None,
    typer.Option("--jobs", min=1, help="Processes.  [default: one a core]", show_default=False),
]


def coverage(directory: Directory, json: Json = False, jobs: Jobs = None) -> None:
    """Which rule, span and outcome does no case exercise?"""
    from service.terminal.coverage import tell_coverage

    sys.exit(tell_coverage(directory, jobs=jobs, as_json=json))


def strength(
    directory: Directory,
    json: Json = False,
    mutants: Annotated[int, typer.Option("--mutants", min=1, help="Slips that must count.")] = 500,
    seed: Annotated[int, typer.Option("--seed", help="Which slips: the same seed makes the same.")] = 1,
    jobs: Jobs = None,
) -> None:
    """Would a catalog's cases notice a slip? Makes many, one at a time, and lists those that pass unnoticed."""
    from service.terminal.strength import tell_strength

    sys.exit(tell_strength(directory, wanted=mutants, seed=seed, jobs=jobs, as_json=json))


def impact(
    old: Annotated[Path, typer.Argument(metavar="OLD", help="Directory of the catalog that is served.")],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="Directory of the catalog that is to be.")],
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DAY", help="Day from which answers count.  [default: today]"),
    ] = None,
    acknowledged: Annotated[
        Path | None,
        typer.Option("--acknowledged", metavar="FILE", help="File of changes that somebody wants."),
    ] = None,
    json: Json = False,
    jobs: Jobs = None,
) -> None:
    """Which answers would a catalog change, and because of what?

    Exit code 1: something changes that nobody has acknowledged, or a case fails.
    """
    from service.terminal.days import read_day
    from service.terminal.impact import tell_impact

    sys.exit(tell_impact(old, new, read_day(on), acknowledged=acknowledged, jobs=jobs, as_json=json))


def add_to(app: typer.Typer) -> None:
    """Give the command line these commands."""
    for command in (coverage, strength, impact):
        app.command()(command)
