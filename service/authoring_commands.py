"""Commands that write into a catalog: `loomway add`, `import`, `export` and `draft`.

Each shows what it would change, and writes only with --write, and only if the catalog stays sound.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

Target = Annotated[Path, typer.Option("--catalog", metavar="DIR", help="The catalog.")]
Write = Annotated[
    bool, typer.Option("--write", help="Write it.  [default: show it only]", show_default=False)
]
Day = Annotated[
    str | None,
    typer.Option("--on", metavar="DAY", help="Day of the source.  [default: today]", show_default=False),
]


def _group(about: str) -> typer.Typer:
    return typer.Typer(
        help=about,
        no_args_is_help=True,
        rich_markup_mode=None,
        context_settings={"help_option_names": ["-h", "--help"]},
    )


add = _group("Write a template for a model year, family, part or rule beside its neighbours.")


@add.command("year")
def add_year(
    family: Annotated[str, typer.Argument(help="Id of a family.")],
    year: Annotated[int, typer.Argument(help="The model year after its last one.")],
    catalog: Target,
    change: Annotated[
        list[str] | None,
        typer.Option("--change", metavar="FACT", help="A fact that changes: PATH, TRIM:PATH, or PATH=VALUE."),
    ] = None,
    on: Day = None,
    write: Write = False,
) -> None:
    """Write a new model year: the trims that go on, and the facts that change."""
    from service.terminal.add import add_year as run
    from service.terminal.days import read_day

    run(catalog, family, year, tuple(change or ()), read_day(on), write=write)


@add.command("family")
def add_family(
    family: Annotated[str, typer.Argument(help="Id of the new family.")],
    catalog: Target,
    maker: Annotated[str, typer.Option("--maker", help="Who makes it.")],
    name: Annotated[str, typer.Option("--name", help="What riders call it.")],
    mount: Annotated[Literal["frame", "fork"], typer.Option("--mount", help="What the fairing hangs on.")],
    cooling: Annotated[Literal["air", "liquid"], typer.Option("--cooling", help="How the engine is cooled.")],
    years: Annotated[str, typer.Option("--years", help="Model years, 2025 or 2024-2025.")],
    trim: Annotated[list[str], typer.Option("--trim", metavar="ID:NAME", help="A trim; once for each.")],
    like: Annotated[
        str | None,
        typer.Option("--like", metavar="FAMILY", help="Family whose places and plugs to start from."),
    ] = None,
    on: Day = None,
    write: Write = False,
) -> None:
    """Write a new family: every fact that a rule asks about, unknown, with how to measure it."""
    from service.authoring.new_family import FamilyAsked
    from service.terminal.add import add_family as run
    from service.terminal.days import read_day

    asked = FamilyAsked(
        family=family,
        maker=maker,
        name=name,
        mount=mount,
        cooling=cooling,
        years=years,
        trims=tuple(trim),
        like=like,
    )
    run(catalog, asked, read_day(on), write=write)


@add.command("part")
def add_part(
    part: Annotated[str, typer.Argument(help="Id of the new part.")],
    catalog: Target,
    line: Annotated[str, typer.Option("--line", help="Its line; a new one gets a file of its own.")],
    kind: Annotated[str, typer.Option("--kind", help="speaker, amplifier, ...: `loomway explain kinds`.")],
    name: Annotated[str, typer.Option("--name", help="What riders call it.")],
    like: Annotated[
        str | None, typer.Option("--like", metavar="PART", help="Part whose plugs and places to start from.")
    ] = None,
    maker: Annotated[str | None, typer.Option("--maker", help="Of a new line.")] = None,
    price: Annotated[
        int | None,
        typer.Option("--price", min=0, help="In the last price list, in the smallest unit of money."),
    ] = None,
    on: Day = None,
    write: Write = False,
) -> None:
    """Write a new part: the plugs of a neighbour, and every figure unknown."""
    from service.authoring.new_part import PartAsked
    from service.terminal.add import add_part as run
    from service.terminal.days import read_day

    asked = PartAsked(part=part, line=line, kind=kind, name=name, like=like, maker=maker)
    run(catalog, asked, price, read_day(on), write=write)


@add.command("rule")
def add_rule(
    rule: Annotated[str, typer.Argument(help="Id of the new rule: it names the fault, or the work.")],
    catalog: Target,
    kind: Annotated[str, typer.Option("--kind", help="clearance, requires, ...: `loomway explain kinds`.")],
    topic: Annotated[str, typer.Option("--topic", help="Its topic; a new one gets a file of its own.")],
    like: Annotated[str | None, typer.Option("--like", metavar="RULE", help="Rule to start from.")] = None,
    on: Day = None,
    write: Write = False,
) -> None:
    """Write a new rule: a neighbour of its kind, with the sentence to fill in."""
    from service.terminal.add import add_rule as run
    from service.terminal.days import read_day

    run(catalog, rule, kind, topic, like=like, on=read_day(on), write=write)


take = _group("Take prices or parts in from a table of comma-separated values.")
give = _group("Print prices or parts as a table of comma-separated values.")
Table = Annotated[
    Path, typer.Argument(metavar="TABLE.csv", help="The table; `loomway export` shows its columns.")
]


@take.command("prices")
def import_prices(
    table: Table,
    catalog: Target,
    into: Annotated[str, typer.Option("--into", metavar="FILE", help="The list, such as prices/2027.yaml.")],
    first: Annotated[str | None, typer.Option("--first", metavar="DAY", help="Of a new list.")] = None,
    last: Annotated[str | None, typer.Option("--last", metavar="DAY", help="Of a new list.")] = None,
    labour_per_hour: Annotated[
        int | None, typer.Option("--labour-per-hour", min=0, help="Of a new list.  [default: as before]")
    ] = None,
    freight: Annotated[
        int | None, typer.Option("--freight", min=0, help="Of a new list.  [default: as before]")
    ] = None,
    accept_jumps: Annotated[
        bool, typer.Option("--accept-jumps", help="Prices five times the last ones, or a fifth, are meant.")
    ] = False,
    write: Write = False,
) -> None:
    """Take prices and resale values into a price list; each row names a part.

    Exit code 1: the table has faults, each shown with its line and column, and nothing is written.
    """
    from service.authoring.import_prices import ListAsked
    from service.terminal.days import read_day
    from service.terminal.tables import take_prices

    asked = ListAsked(
        first=read_day(first) if first else None,
        last=read_day(last) if last else None,
        labour_per_hour=labour_per_hour,
        freight=freight,
        accept_jumps=accept_jumps,
    )
    sys.exit(take_prices(catalog, table, into, asked, write=write))


@take.command("parts")
def import_parts(
    table: Table,
    catalog: Target,
    into: Annotated[str, typer.Option("--into", metavar="FILE", help="The line, such as parts/tern.yaml.")],
    maker: Annotated[str | None, typer.Option("--maker", help="Of a new line.")] = None,
    name: Annotated[str | None, typer.Option("--name", help="Of a new line.")] = None,
    write: Write = False,
) -> None:
    """Take parts into a line: new ones at its end, changed figures in their place.

    Exit code 1: the table has faults, each shown with its line and column, and nothing is written.
    """
    from service.authoring.import_parts import LineAsked
    from service.terminal.tables import take_parts

    sys.exit(take_parts(catalog, table, into, LineAsked(maker=maker, name=name), write=write))


@give.command("prices")
def export_prices(
    price_list: Annotated[str, typer.Argument(metavar="LIST", help="Id of a price list.")], catalog: Target
) -> None:
    """Print a price list."""
    from service.terminal.tables import give_prices

    give_prices(catalog, price_list)


@give.command("parts")
def export_parts(
    line: Annotated[str, typer.Argument(metavar="LINE", help="Id of a line of parts.")], catalog: Target
) -> None:
    """Print a line of parts, without its plugs, links and channels."""
    from service.terminal.tables import give_parts

    give_parts(catalog, line)


draft = _group("Write a case from what the engine answers now. It counts once a person has written its why.")
Into = Annotated[str, typer.Option("--into", metavar="FILE", help="The file of cases.")]
Name = Annotated[
    str | None,
    typer.Option("--name", help="A sentence that says what is expected.  [default: made from the answer]"),
]
Found = Annotated[
    Path | None,
    typer.Option("--found", metavar="FOUND.yaml", help="What is known of the rider's bike, as in a case."),
]
Fits = Annotated[Literal["shop", "home"], typer.Option("--fitter", help="Who fits.")]
AskedOn = Annotated[
    str | None,
    typer.Option("--on", metavar="DAY", help="Day of fitting.  [default: today]", show_default=False),
]
DRAFTS = "cases/drafts.yaml"


@draft.command("fit")
def draft_fit(
    bike: Annotated[str, typer.Argument(help="Id of a bike.")],
    part: Annotated[str, typer.Argument(help="Id of a part.")],
    catalog: Target,
    place: Annotated[str | None, typer.Option("--place", help="Where.  [default: anywhere]")] = None,
    on: AskedOn = None,
    fitter: Fits = "shop",
    found: Found = None,
    name: Name = None,
    into: Into = DRAFTS,
    write: Write = False,
) -> None:
    """Does this part fit this bike?"""
    from service.terminal.days import read_day
    from service.terminal.draft import DraftAsked, draft_a_fit

    asked = DraftAsked(catalog=catalog, into=into, name=name, found=found, write=write)
    draft_a_fit(asked, bike, part, place=place, on=read_day(on), fitter=fitter)


@draft.command("cart")
def draft_cart(
    bike: Annotated[str, typer.Argument(help="Id of a bike.")],
    parts: Annotated[list[str], typer.Argument(help="Ids of the parts.")],
    catalog: Target,
    on: AskedOn = None,
    fitter: Fits = "shop",
    found: Found = None,
    name: Name = None,
    into: Into = DRAFTS,
    write: Write = False,
) -> None:
    """Are these parts together complete and free of conflicts?"""
    from service.terminal.days import read_day
    from service.terminal.draft import DraftAsked, draft_a_cart

    asked = DraftAsked(catalog=catalog, into=into, name=name, found=found, write=write)
    draft_a_cart(asked, bike, tuple(parts), on=read_day(on), fitter=fitter)


@draft.command("path")
def draft_path(
    question: Annotated[Path, typer.Argument(metavar="QUESTION.yaml", help="As for `loomway plan`.")],
    catalog: Target,
    name: Name = None,
    into: Into = DRAFTS,
    write: Write = False,
) -> None:
    """What now, what later, for the least money?"""
    from service.terminal.draft import DraftAsked, draft_a_path

    draft_a_path(DraftAsked(catalog=catalog, into=into, name=name, write=write), question)


@draft.command("carry-over")
def draft_carry_over(
    bike: Annotated[str, typer.Argument(help="Id of the rider's bike.")],
    next_bike: Annotated[str, typer.Argument(help="Id of the next one.")],
    catalog: Target,
    found: Found = None,
    on: AskedOn = None,
    name: Name = None,
    into: Into = DRAFTS,
    write: Write = False,
) -> None:
    """What goes on to the next bike?"""
    from service.terminal.days import read_day
    from service.terminal.draft import DraftAsked, draft_a_carry_over

    asked = DraftAsked(catalog=catalog, into=into, name=name, found=found, write=write)
    draft_a_carry_over(asked, bike, next_bike, on=read_day(on))
