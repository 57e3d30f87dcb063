"""`loomway schema`: schemas for editors."""

from __future__ import annotations

from pathlib import Path

from service.authoring.schemas import mark_files, write_schemas
from service.terminal.mistakes import WrongCommand
from service.terminal.output import say


def export_schemas(into: Path, catalog: Path | None) -> None:
    """Write the schemas, and name them in each file of a catalog if one is given.

    Raises:
        WrongCommand: A file cannot be written.
    """
    try:
        say(*(f"wrote {path.as_posix()}" for path in write_schemas(into)))
        if catalog is not None:
            marked = mark_files(catalog, into)
            say(*(f"marked {path.as_posix()}" for path in marked))
    except (OSError, UnicodeDecodeError) as error:
        raise WrongCommand(
            f"{into}: the schemas cannot be written here, or the catalog not be read"
        ) from error
