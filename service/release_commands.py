"""The commands of a catalog manager and of whoever runs the service, for `service.cli`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Literal

import typer

Json = Annotated[bool, typer.Option("--json", help="Answer in JSON, as the API does.")]
Why = Annotated[str, typer.Option("--why", help="The reason, for the history.")]
By = Annotated[
    str | None,
    typer.Option("--by", metavar="NAME", help="Who you are, for the history.  [default: your login]"),
]


def release(
    source: Annotated[
        Path, typer.Argument(metavar="DIR", help="Directory of a catalog, or an archive of one.")
    ],
    why: Why,
    by: By = None,
    keep_only: Annotated[
        bool, typer.Option("--keep-only", help="Check it and keep it, but serve on what is served.")
    ] = False,
    acknowledged: Annotated[
        Path | None,
        typer.Option("--acknowledged", metavar="FILE", help="File of changes that somebody wants."),
    ] = None,
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DAY", help="Day from which changed answers count.  [default: today]"),
    ] = None,
    json: Json = False,
) -> None:
    """Check a catalog, ask its cases, see what it changes, and serve it: in every process of this database, at once.

    LOOMWAY_DATABASE_URL says which database. Exit code 1: it was refused, and what was served is served on.
    """
    from service.terminal import releasing
    from service.terminal.days import read_day

    code = releasing.release(
        source,
        why,
        by,
        activate=not keep_only,
        as_json=json,
        on=read_day(on),
        acknowledged=acknowledged,
    )
    sys.exit(code)


def rollback(
    why: Why,
    to: Annotated[
        str | None,
        typer.Argument(
            metavar="RELEASE", help="One of the last twenty.  [default: the one before]", show_default=False
        ),
    ] = None,
    by: By = None,
    json: Json = False,
) -> None:
    """Serve again what was served before."""
    from service.terminal import releasing

    releasing.roll_back(to, why, by, as_json=json)


def history(
    limit: Annotated[int, typer.Option("--limit", min=1, max=1_000, help="Most events.")] = 20,
    json: Json = False,
) -> None:
    """What happened to releases and holds: who, when, why."""
    from service.terminal import releasing

    releasing.show_history(limit, as_json=json)


def hold(
    part: Annotated[str, typer.Argument(help="Id of a part.")],
    why: Annotated[str, typer.Option("--why", help="The reason, as shoppers are told it.")],
    first: Annotated[
        str | None, typer.Option("--from", metavar="DAY", help="First day, 2027-03-31.  [default: today]")
    ] = None,
    last: Annotated[
        str | None, typer.Option("--through", metavar="DAY", help="Last day.  [default: until lifted]")
    ] = None,
    by: By = None,
    json: Json = False,
) -> None:
    """Stop selling a part at once, without a release."""
    from service.terminal import releasing

    releasing.hold(part, why, by, first, last, as_json=json)


def lift(
    number: Annotated[int, typer.Argument(help="Number of the hold, from `loomway history`.")],
    why: Why,
    by: By = None,
    json: Json = False,
) -> None:
    """Sell a part again."""
    from service.terminal import releasing

    releasing.lift(number, why, by, as_json=json)


def store_migrate() -> None:
    """Make the tables, or bring them up to date."""
    from service.terminal import keeping

    keeping.migrate()


def store_back() -> None:
    """Take the last migration back; what only newer tables hold is lost."""
    from service.terminal import keeping

    keeping.back()


def store_backup(file: Annotated[Path, typer.Argument(help="File to write.")]) -> None:
    """Write everything to one file, while the service runs."""
    from service.terminal import keeping

    keeping.back_up(file)


def store_restore(file: Annotated[Path, typer.Argument(help="File from `loomway store backup`.")]) -> None:
    """Put everything back, into an empty database of either kind."""
    from service.terminal import keeping

    keeping.restore(file)


def keys_add(
    name: Annotated[str, typer.Argument(help="Whose key it is.")],
    role: Annotated[Literal["sales", "catalog"], typer.Option("--role", help="What it is for.")],
) -> None:
    """Make a key, and show it this once."""
    from service.terminal import keeping

    keeping.add_key(name, role)


def keys_list() -> None:
    """List the keys, without their secrets."""
    from service.terminal import keeping

    keeping.list_keys()


def keys_revoke(identity: Annotated[str, typer.Argument(metavar="ID", help="Id of the key.")]) -> None:
    """Take a key back for ever."""
    from service.terminal import keeping

    keeping.revoke_key(identity)


def add_to(app: typer.Typer) -> None:
    """Give an application these commands."""
    for command in (release, rollback, history, hold, lift):
        app.command()(command)
    app.add_typer(
        _group(
            {"migrate": store_migrate, "back": store_back, "backup": store_backup, "restore": store_restore}
        ),
        name="store",
        help="The database: its tables, backups.",
    )
    app.add_typer(
        _group({"add": keys_add, "list": keys_list, "revoke": keys_revoke}),
        name="keys",
        help="Keys for the API, each with one role.",
    )


def _group(commands: dict[str, object]) -> typer.Typer:
    group = typer.Typer(no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False)
    for name, command in commands.items():
        group.command(name)(command)  # type: ignore[type-var]
    return group
