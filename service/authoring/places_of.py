"""Where things of a catalog are written, and whether there is such a thing."""

from __future__ import annotations

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
