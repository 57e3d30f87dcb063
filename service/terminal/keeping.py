"""`loomway store` and `loomway keys`: for whoever runs the service."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from service.store import backup, migrating
from service.store.kept import KeptKey, Role
from service.store.keys import KeyStore
from service.terminal.database import open_database
from service.terminal.mistakes import WrongCommand
from service.terminal.output import hint, say, show_table


def migrate() -> None:
    """Bring the database's tables up to date."""
    with open_database(migrated=False) as database:
        step = migrating.migrate(database)
        say(f"{database.shown} is at step {step}.")


def back() -> None:
    """Take the last step back."""
    with open_database(migrated=False) as database:
        step = migrating.back(database)
        say(f"{database.shown} is at step {step}." if step else f"{database.shown} has no tables any more.")


def back_up(file: Path) -> None:
    """Write everything to a file."""
    with open_database() as database:
        try:
            told = backup.back_up(database, file)
        except OSError as error:
            raise WrongCommand(f"{file}: this cannot be written; what was there before is left") from error
    say(f"{file} holds {_rows(told)}.")


def restore(file: Path) -> None:
    """Put everything back into an empty database."""
    if not file.is_file():
        raise WrongCommand(f"{file}: there is no such file")
    with open_database(migrated=False) as database:
        told = backup.restore(database, file)
        say(f"{database.shown} holds {_rows(told)}.")


def _rows(told: dict[str, int]) -> str:
    return ", ".join(f"{count} rows of {name}" for name, count in told.items())


def add_key(name: str, role: Role) -> None:
    """Make a key, and show it this once."""
    with open_database() as database:
        kept, key = KeyStore(database).add(name, role, datetime.now(UTC))
    hint(f"a key for {role}, with the id {kept.id}; it is shown this once, and cannot be looked up again")
    say(key)


def list_keys() -> None:
    """List the keys, without their secrets."""
    with open_database() as database:
        rows = [_key_row(kept) for kept in KeyStore(database).all()]
    show_table("Keys", ("id", "for", "role", "made", "taken back"), rows)


def _key_row(kept: KeptKey) -> tuple[str, ...]:
    taken_back = f"{kept.revoked_at:%Y-%m-%d}" if kept.revoked_at else ""
    return kept.id, kept.name, kept.role, f"{kept.added_at:%Y-%m-%d}", taken_back


def revoke_key(identity: str) -> None:
    """Take a key back for ever."""
    with open_database() as database:
        if not KeyStore(database).revoke(identity, datetime.now(UTC)):
            raise WrongCommand("no key in force has this id; `loomway keys list` lists them")
    say(f"The key {identity} is taken back.")
