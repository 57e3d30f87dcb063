"""What a command would write: shown as a difference, tried on a copy of the catalog, and only then written."""

from __future__ import annotations

import difflib
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from rules.catalog.catalog import Catalog
from rules.diagnostics import Diagnostic
from rules.load import CatalogRefused, check_catalog
from rules.marks import MARK
from service.authoring.writing import write_text, write_texts

_FILLED = "Filled in"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One file of a catalog as it is and as it would be. `before` is None for a file that is not there yet.

    Attributes:
        name: Its path in the catalog, such as `bikes/heron.yaml`.
    """

    name: str
    before: str | None
    after: str

    @property
    def diff(self) -> str:
        """The change as a unified difference."""
        lines = difflib.unified_diff(
            (self.before or "").splitlines(keepends=True),
            self.after.splitlines(keepends=True),
            fromfile=self.name if self.before is not None else "/dev/null",
            tofile=self.name,
            n=2,
        )
        return "".join(line if line.endswith("\n") else f"{line}\n" for line in lines)

    @property
    def added_lines(self) -> int:
        """Lines of the difference that are new or changed."""
        return sum(line.startswith("+") and not line.startswith("+++") for line in self.diff.splitlines())


def read_file(catalog: Path, name: str) -> str | None:
    """Give a file's text with the line ends that it has, or None if there is none."""
    path = catalog / name
    return path.read_bytes().decode() if path.is_file() else None


def tried(catalog: Path, *proposals: Proposal) -> tuple[Catalog | None, tuple[Diagnostic, ...]]:
    """Check a copy of a catalog with what is proposed. Templates count as filled in."""
    with _copy(catalog, proposals) as copy:
        return check_catalog(copy, catalog.name)


def neighbours(catalog: Path) -> Catalog:
    """Read a catalog for a template. Templates in it that nobody has filled in yet do no harm.

    Raises:
        CatalogRefused: It has other errors.
    """
    found, diagnostics = tried(catalog)
    if found is None:
        raise CatalogRefused(diagnostics)
    return found


def write_all(catalog: Path, *proposals: Proposal) -> None:
    """Write what is proposed."""
    write_texts({catalog / proposal.name: proposal.after for proposal in proposals})


@contextmanager
def _copy(catalog: Path, proposals: tuple[Proposal, ...]) -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as directory:
        copy = Path(directory) / "catalog"
        if catalog.is_dir():
            # A link stays a link: what leads out of the catalog is refused in the copy as well.
            shutil.copytree(
                catalog, copy, symlinks=True, ignore=lambda _, names: [x for x in names if x[0] == "."]
            )
        for proposal in proposals:
            write_text(copy / proposal.name, proposal.after)
        for path in copy.rglob("*.yaml"):
            _fill_in(path)
        yield copy


def _fill_in(path: Path) -> None:
    """Put something of the same length for each mark, so that places stay where they are."""
    if path.is_symlink() or not path.is_file():
        return
    data = path.read_bytes()
    if MARK.encode() in data:
        path.write_bytes(data.replace(MARK.encode(), _FILLED[: len(MARK)].encode()))
