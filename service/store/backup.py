"""Backups: the whole database in one file, which can be restored into either kind of database."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import zipfile
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, MetaData, Table, func, insert, select

from service.store.database import Database
from service.store.errors import StoreError
from service.store.migrating import migrate_to, must_be_newest, newest, standing
from service.store.schema import metadata

FORM = 1
_HEADER = "backup.json"
_ROWS_AT_ONCE = 50


class BackupRefused(StoreError):  # noqa: N818 -- "refused" is the word for it, as for a catalog
    """A backup cannot be restored. Its text says why; nothing was written."""


def back_up(database: Database, file: Path) -> dict[str, int]:
    """Write all that a database holds, as of one moment, to a file. A file that was there is replaced only by a whole one.

    Returns: How many rows of each table.

    Raises:
        WrongTables: The database is not up to date.
        OSError: The file cannot be written; what was there before is left.
    """
    must_be_newest(database)
    beside = file.with_name(f".{file.name}.{os.getpid()}")
    try:
        with database.reading() as connection, zipfile.ZipFile(beside, "x", zipfile.ZIP_DEFLATED) as archive:
            told = {table.name: _write_table(connection, table, archive) for table in metadata.sorted_tables}
            header = {"form": FORM, "step": newest(), "tables": told}
            archive.writestr(_HEADER, json.dumps(header, indent=1))
        _to_disk(beside)
        beside.replace(file)
    finally:
        beside.unlink(missing_ok=True)
    return {name: table["rows"] for name, table in told.items()}


def _write_table(connection: Connection, table: Table, archive: zipfile.ZipFile) -> dict[str, Any]:
    digest, count = hashlib.sha256(), 0
    rows = connection.execute(
        select(table).order_by(*table.primary_key), execution_options={"yield_per": _ROWS_AT_ONCE}
    )
    with archive.open(f"{table.name}.jsonl", "w", force_zip64=True) as out:
        for row in rows.mappings():
            line = json.dumps({name: _written(value) for name, value in row.items()}).encode() + b"\n"
            digest.update(line)
            out.write(line)
            count += 1
    return {"rows": count, "sha256": digest.hexdigest()}


def _written(value: object) -> object:
    match value:
        case bytes():
            return base64.b64encode(value).decode()
        case datetime():
            return value.replace(tzinfo=None).isoformat()
        case date():
            return value.isoformat()
        case _:
            return value


def _to_disk(file: Path) -> None:
    with file.open("rb") as written:
        os.fsync(written.fileno())


def restore(database: Database, file: Path) -> dict[str, int]:
    """Put back what a backup holds, whole or not at all, into a database that holds nothing.

    Returns: How many rows of each table.

    Raises:
        BackupRefused: The file is no backup, or damaged, or the database holds something.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            header = _checked(archive)
            _prepare(database, header["step"])
            with database.writing() as connection:
                _must_be_empty(connection)
                _fill(connection, archive, header)
    except (zipfile.BadZipFile, EOFError, KeyError, ValueError, TypeError) as error:
        raise BackupRefused("this file is no whole backup; nothing was restored") from error
    migrate_to(database, "head")
    return {name: table["rows"] for name, table in header["tables"].items()}


def _checked(archive: zipfile.ZipFile) -> dict[str, Any]:
    header: dict[str, Any] = json.loads(archive.read(_HEADER))
    if header["form"] != FORM:
        raise BackupRefused("this backup was made by another version of Loomway")
    for name, told in header["tables"].items():
        digest = hashlib.sha256()
        for line in _lines(archive, name):
            digest.update(line)
        if digest.hexdigest() != told["sha256"]:
            raise ValueError("damaged")
    return header


def _lines(archive: zipfile.ZipFile, table: str) -> Iterator[bytes]:
    with archive.open(f"{table}.jsonl") as file:
        yield from file


def _prepare(database: Database, step: str) -> None:
    # An old backup goes into the tables of its time, which are then brought up to date with it.
    database.create_file()
    if standing(database) is None:
        migrate_to(database, step)
    if standing(database) != step:
        raise BackupRefused("the database is at another step than the backup; restore into an empty one")


def _must_be_empty(connection: Connection) -> None:
    for table in _tables(connection):
        if connection.execute(select(func.count()).select_from(table)).scalar_one():
            raise BackupRefused("the database holds something already; restore into an empty one")


def _tables(connection: Connection) -> list[Table]:
    found = MetaData()
    found.reflect(connection)
    return [table for table in found.sorted_tables if table.name != "alembic_version"]


def _fill(connection: Connection, archive: zipfile.ZipFile, header: dict[str, Any]) -> None:
    for table in _tables(connection):
        if table.name in header["tables"]:
            for line in _lines(archive, table.name):
                row = {name: _read(table, name, value) for name, value in json.loads(line).items()}
                connection.execute(insert(table).values(row))


def _read(table: Table, name: str, value: Any) -> object:  # noqa: ANN401 -- whatever JSON holds
    kind = table.c[name].type.python_type
    if value is None or not isinstance(value, str):
        return value
    if kind is bytes:
        return base64.b64decode(value, validate=True)
    if kind in (datetime, date):
        return kind.fromisoformat(value)
    return value
