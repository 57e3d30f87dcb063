"""The `loomway` command: for a person, what the API does for a program.

Answers go to stdout; faults, hints and progress to stderr. Exit codes: 0 answered, whatever the answer is;
1 `check` found errors, or a case failed; 2 the command, a setting or a question is wrong; 3 the catalog was
refused; 4 the database failed, or somebody was quicker. Everything heavy is imported by the command that needs it.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

from service import authoring_commands, plan_commands, proving_commands
from service.release_commands import add_to

app = typer.Typer(
    name="loomway",
    help="What fits a touring motorcycle's sound system, and which way an upgrade can go.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

app.add_typer(authoring_commands.add, name="add")
app.add_typer(authoring_commands.take, name="import")
app.add_typer(authoring_commands.give, name="export")
app.add_typer(authoring_commands.draft, name="draft")

Json = Annotated[bool, typer.Option("--json", help="Answer in JSON, as the API does.")]
CatalogDir = Annotated[
    Path | None,
    typer.Option(
        "--catalog", metavar="DIR", help="Catalog to ask.  [default: the demo catalog]", show_default=False
    ),
]
Directory = Annotated[Path, typer.Argument(metavar="DIR", help="Directory of a catalog.")]
On = Annotated[
    str | None, typer.Option("--on", metavar="DAY", help="Day to ask about, 2027-03-31.  [default: today]")
]
Fitter = Annotated[Literal["shop", "home"], typer.Option("--fitter", help="Who fits.")]


@app.command()
def demo(
    catalog: CatalogDir = None,
    no_serve: Annotated[bool, typer.Option("--no-serve", help="Tell the story and stop.")] = False,
) -> None:
    """Tell one rider's story on the demo catalog, and serve it.

    LOOMWAY_PORT chooses the port; 0 takes a free one.
    """
    from service.settings import read_settings
    from service.terminal.demo import tell
    from service.terminal.reading import open_catalog
    from service.terminal.serving import serve_release

    settings = read_settings()
    serving = open_catalog(catalog)
    tell(serving)
    if not no_serve:
        serve_release(serving.release, settings, serving)


@app.command()
def serve(
    catalog: CatalogDir = None,
    workers: Annotated[int, typer.Option("--workers", min=1, max=64, help="Processes that answer.")] = 1,
) -> None:
    """Serve over REST until stopped: a catalog, or the release that is active in the database.

    With several workers, SIGHUP starts each of them anew, one after the other.
    Settings come from the environment: LOOMWAY_HOST, LOOMWAY_PORT, LOOMWAY_CATALOG, and more in docs/api.md.
    """
    from service.settings import read_settings
    from service.terminal.mistakes import WrongCommand
    from service.terminal.reading import open_catalog
    from service.terminal.serving import serve_release

    settings = read_settings()
    if settings.database_url is not None:
        if catalog is not None:
            raise WrongCommand(
                "LOOMWAY_DATABASE_URL is set, so the database says what is served; leave out --catalog"
            )
        from service.terminal.following import serve_database

        serve_database(settings, workers)
        return
    serving = open_catalog(catalog or settings.catalog)
    if workers > 1:
        from service.terminal.workers import serve_catalog

        serve_catalog(workers, settings, serving.release)
        return
    serve_release(serving.release, settings, serving)


@app.command()
def replay(log: Annotated[Path, typer.Argument(help="A decision log.")], catalog: CatalogDir = None) -> None:
    """Give every answer of a decision log again, and tell which are no longer the same bytes.

    Ends with 1 if any differs.
    """
    from service.settings import read_settings
    from service.terminal.replaying import replay_log

    raise typer.Exit(replay_log(log, read_settings(), catalog))


@app.command()
def check(
    directory: Directory,
    on: On = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="Leave out what only shows over all bikes and parts.")
    ] = False,
    strict: Annotated[bool, typer.Option("--strict", help="Fail on warnings too.")] = False,
    json: Json = False,
    sarif: Annotated[bool, typer.Option("--sarif", help="Answer in SARIF 2.1.0, for code review.")] = False,
) -> None:
    """Find every fault of a catalog, each with its file and line.

    Exit code 0: sound. 1: there are errors, or, with --strict, warnings.
    """
    from service.terminal.check import check_directory
    from service.terminal.days import read_day

    form: Literal["words", "json", "sarif"] = "sarif" if sarif else "json" if json else "words"
    day = None if quick else read_day(on)
    sys.exit(check_directory(directory, survey_on=day, form=form, strict=strict))


@app.command()
def schema(
    into: Annotated[Path, typer.Option("--into", metavar="DIR", help="Where to write them.")],
    mark: Annotated[
        Path | None,
        typer.Option("--mark", metavar="CATALOG", help="Also name its schema at the top of each file there."),
    ] = None,
) -> None:
    """Write JSON Schemas, with which an editor completes and checks a catalog while it is written."""
    from service.terminal.schema import export_schemas

    export_schemas(into, mark)


@app.command()
def cases(directory: Directory, json: Json = False, jobs: proving_commands.Jobs = None) -> None:
    """Do a catalog's own cases come out as they should?"""
    from service.terminal.cases import ask_cases
    from service.terminal.reading import open_catalog

    sys.exit(ask_cases(open_catalog(directory), jobs=jobs, as_json=json))


@app.command()
def fit(
    bike: Annotated[str, typer.Argument(help="Id of a bike.")],
    part: Annotated[str, typer.Argument(help="Id of a part.")],
    place: Annotated[
        str | None, typer.Option("--place", help="Where.  [default: anywhere]", show_default=False)
    ] = None,
    on: On = None,
    fitter: Fitter = "shop",
    why: Annotated[
        bool, typer.Option("--why", help="Show the rules, facts and sources behind the answer.")
    ] = False,
    json: Json = False,
    catalog: CatalogDir = None,
) -> None:
    """Does this part fit this bike, and if not, what would make it fit?"""
    from rules.question import FitQuestion
    from service.terminal.days import read_day
    from service.terminal.fit import answer_fit
    from service.terminal.reading import open_catalog

    question = FitQuestion(bike=bike, part=part, place=place, on=read_day(on), fitter=fitter)
    answer_fit(open_catalog(catalog), question, as_json=json, why=why)


@app.command()
def plan(
    question: Annotated[
        Path, typer.Argument(metavar="QUESTION.yaml", help="A question; docs/api.md shows one.")
    ],
    alternatives: Annotated[
        bool, typer.Option("--alternatives", help="Show other plans, and what other budgets would change.")
    ] = False,
    why: Annotated[bool, typer.Option("--why", help="Show why each part comes when it does.")] = False,
    json: Json = False,
    catalog: CatalogDir = None,
) -> None:
    """What now, what later, for the least money, unrewired?"""
    from service.terminal.mistakes import WrongCommand
    from service.terminal.plan import answer_plan
    from service.terminal.question import read_path_question
    from service.terminal.reading import open_catalog

    if alternatives and why:
        raise WrongCommand("ask for --alternatives or for --why, one at a time")

    asked = read_path_question(question)
    answer_plan(open_catalog(catalog), asked, as_json=json, alternatives=alternatives, why=why)


@app.command("next-bike")
def next_bike(
    question: Annotated[
        Path, typer.Argument(metavar="QUESTION.yaml", help="A question; docs/api.md shows one.")
    ],
    json: Json = False,
    catalog: CatalogDir = None,
) -> None:
    """What goes on to the next bike, and does taking it along save money?"""
    from service.shapes.next_bikes import NextBikeAsked
    from service.terminal.next_bike import answer_next_bike
    from service.terminal.question import read_question
    from service.terminal.reading import open_catalog

    asked = read_question(question, NextBikeAsked)
    answer_next_bike(open_catalog(catalog), asked, as_json=json)


@app.command(
    context_settings={"allow_extra_args": True, "ignore_unknown_options": True, "help_option_names": []}
)
def calc(
    context: typer.Context,
    calculation: Annotated[
        str | None, typer.Argument(help="Id of a calculation.  [default: list them all]", show_default=False)
    ] = None,
    json: Json = False,
) -> None:
    """Calculate: gain, fuse, cable, listening time and more; alone, list every calculation.

    Each input is an option, --power 100; `loomway calc ID --help` lists them. Lists are written 4,4,8.
    """
    from service.terminal.calc import calc_command

    calc_command(calculation, context.args, usage=context.get_help(), as_json=json)


@app.command()
def explain(
    word: Annotated[
        str, typer.Argument(help="A rule, kind of rule, diagnostic or problem code, verdict, part or bike.")
    ],
    more: Annotated[
        str | None,
        typer.Argument(help="For a bike: one fact, the beginning of several, or a part. For a part: a fact."),
    ] = None,
    place: Annotated[
        str | None, typer.Option("--place", help="For a part on a bike: where.  [default: anywhere]")
    ] = None,
    on: On = None,
    json: Json = False,
    catalog: CatalogDir = None,
) -> None:
    """What is this rule, code or word; where is a fact from; what does a verdict rest on?"""
    from service.terminal.days import read_day
    from service.terminal.explain import WordAsked, explain_word
    from service.terminal.reading import open_catalog

    asked = WordAsked(word=word, more=more, place=place, on=read_day(on))
    explain_word(open_catalog(catalog), asked, as_json=json)


add_to(app)
proving_commands.add_to(app)
plan_commands.add_to(app)


def main() -> None:
    """Run the command; a caller's mistake is told in a line or two, without a traceback."""
    try:
        app()
    except Exception as error:
        from service.terminal.mistakes import exit_code

        code = exit_code(error)
        if code is None:
            raise
        sys.exit(code)
