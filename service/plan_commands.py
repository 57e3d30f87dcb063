"""The commands around saved plans, for `service.cli`: propose, look plans up, give a rider's data out, forget a rider."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Json = Annotated[bool, typer.Option("--json", help="Answer in JSON, as the API does.")]
PlanId = Annotated[str, typer.Argument(metavar="ID", help="Id of a saved plan, from `loomway plans list`.")]
RiderId = Annotated[str, typer.Argument(metavar="ID", help="Id of a rider, from `loomway plans show`.")]


def propose(
    brief: Annotated[
        Path, typer.Argument(metavar="BRIEF.yaml", help="A brief with the keys of POST /v1/proposals.")
    ],
    json: Json = False,
    catalog: Annotated[
        Path | None, typer.Option("--catalog", metavar="DIR", help="Ask another catalog than the demo.")
    ] = None,
) -> None:
    """Which whole systems answer what a rider tells, each with its cheapest way?"""
    from service.shapes.proposals import BriefAsked
    from service.terminal.proposing import answer_brief
    from service.terminal.question import read_question
    from service.terminal.reading import open_catalog

    answer_brief(open_catalog(catalog), read_question(brief, BriefAsked), as_json=json)


def plans_list(
    archived: Annotated[
        bool, typer.Option("--archived", help="Those that are put away, not those in use.")
    ] = False,
    limit: Annotated[int, typer.Option("--limit", min=1, max=1_000, help="Most rows.")] = 50,
) -> None:
    """List saved plans, the last that was changed first."""
    from service.terminal import saved

    saved.list_plans(archived=archived, limit=limit)


def plans_show(plan: PlanId) -> None:
    """Show one saved plan: what was done, what is to come, what it costs."""
    from service.terminal import saved

    saved.show_plan(plan)


def plans_history(plan: PlanId) -> None:
    """Show what happened to a plan: who, when, why."""
    from service.terminal import saved

    saved.show_history(plan)


def riders_export(rider: RiderId) -> None:
    """Write everything that is kept of a rider to standard output, as JSON."""
    from service.terminal import saved

    saved.export_rider(rider)


def riders_erase(rider: RiderId) -> None:
    """Forget a rider: name and contact are deleted, plans stay and are nobody's."""
    from service.terminal import saved

    saved.erase_rider(rider)


def add_to(app: typer.Typer) -> None:
    """Give an application these commands."""
    app.command()(propose)
    plans = typer.Typer(no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False)
    for name, command in (("list", plans_list), ("show", plans_show), ("history", plans_history)):
        plans.command(name)(command)
    app.add_typer(plans, name="plans", help="Saved plans in the database.")
    riders = typer.Typer(no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False)
    riders.command("export")(riders_export)
    riders.command("erase")(riders_erase)
    app.add_typer(riders, name="riders", help="A rider's right to have everything, and to be forgotten.")
