"""Where things of a catalog are written, and whether there is such a thing."""

from __future__ import annotations

import re
from collections.abc import Iterable

from rules.catalog.catalog import Catalog
from rules.nearest import did_you_mean
from service.authoring.refusal import CannotWrite


def file_of(catalog: Catalog, position: str) -> str:
    """Give the file, as a path in the catalog, in which something is written.

    Args:
        position: A key of the catalog's positions, such as `part:tern_pod`.
    """
    return catalog.positions[position].file.partition("/")[2]


def known(name: str, names: Iterable[str], what: str) -> None:
    """Refuse a name that is not among the known ones.

    Raises:
        CannotWrite: With the nearest one.
    """
    listed = sorted(names)
    if name not in listed:
        near = did_you_mean(name, listed) or f"there are {', '.join(listed[:12]) or 'none'}"
        raise CannotWrite(f"there is no {what} {name}; {near}")


def new(name: str, names: Iterable[str], what: str) -> None:
    """Refuse a name that is taken.

    Raises:
        CannotWrite: Something has this name.
    """
    if name in set(names):
        raise CannotWrite(f"there is a {what} {name} already; choose another id")


def must_lie_in(name: str, folder: str) -> None:
    """Refuse a file's name that is not directly in a folder of a catalog.

    Raises:
        CannotWrite: It is elsewhere, or has an odd name.
    """
    if not re.fullmatch(rf"{folder}/[A-Za-z0-9][A-Za-z0-9_.-]*\.yaml", name):
        raise CannotWrite(f"name a file in {folder}/ of the catalog, such as {folder}/new.yaml")
