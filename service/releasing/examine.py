"""What a catalog must pass before it is served. Each step takes bytes and gives bytes, so that a process apart can take it."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from typing import ParamSpec, Protocol, TypeVar

from rules.cases import run_cases
from rules.catalog.catalog import Catalog
from rules.diagnostics import Diagnostic
from rules.engine import Engine
from rules.impact import Acknowledgement, Group, groups, impact, unacknowledged
from rules.load import check_catalog
from rules.release import release_id
from rules.stored import StoredFormRefused, from_stored, to_stored
from service.plans.saved import SavedPlan
from service.releasing.failures import NoLongerSound, NoRoom, StepDied
from service.releasing.files import lay_out, read_archive, write_archive
from service.releasing.outcome import ChangeGroup, FailedCase, ImpactSeen
from service.releasing.plans_seen import see_plans
from service.shapes.catalog import Counts

P = ParamSpec("P")
T = TypeVar("T")

SHOWN = 200
"""Diagnostics, cases and changes that a refusal tells one by one; the rest is counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """A catalog without errors, ready to be kept."""

    release: str
    archive: bytes
    stored: bytes
    counts: Mapping[str, int]
    diagnostics: tuple[Diagnostic, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unsound:
    """A catalog with errors."""

    diagnostics: tuple[Diagnostic, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CasesTold:
    """How many cases came out as they should, and those that did not."""

    passed: int
    failed: tuple[FailedCase, ...]

    @property
    def is_sound(self) -> bool:
        """Tell whether there are cases, and none fails."""
        return self.passed > 0 and not self.failed


def check_files(archive: bytes) -> Sound | Unsound:
    """Read and check a catalog.

    Raises:
        FilesRefused: The archive cannot be taken in.
        NoRoom: The disk is full.
    """
    files = read_archive(archive)
    with scratch() as directory:
        lay_out(files, directory)
        catalog, diagnostics = check_catalog(directory, shown_as="")
    if catalog is None:
        return Unsound(diagnostics=diagnostics)
    stored = to_stored(catalog)
    # What will be served is read back from these bytes, so they must say the same.
    if from_stored(stored) != catalog:
        raise AssertionError("the stored form of this catalog does not say the same")
    return Sound(
        release=release_id(catalog),
        archive=write_archive(files),
        stored=stored,
        counts=Counts.from_domain(catalog).model_dump(),
        diagnostics=diagnostics,
    )


def open_kept(stored: bytes, archive: bytes) -> Catalog:
    """Give the catalog of a kept release: from its stored form, or from its files if another revision wrote that.

    Raises:
        NoLongerSound: It must be read from its files, and this revision finds errors in them.
    """
    try:
        return from_stored(stored)
    except StoredFormRefused:
        with scratch() as directory:
            lay_out(read_archive(archive), directory)
            catalog, _ = check_catalog(directory, shown_as="")
    if catalog is None:
        raise NoLongerSound
    return catalog


class scratch(tempfile.TemporaryDirectory[str]):  # noqa: N801 -- used like a function, as its base is
    """A directory for working files, gone afterwards."""

    def __init__(self) -> None:
        try:
            super().__init__(prefix="loomway-")
        except OSError as error:
            raise NoRoom from error

    def __enter__(self) -> Path:  # type: ignore[override]
        return Path(super().__enter__())


def ask_cases(stored: bytes, archive: bytes) -> CasesTold:
    """Ask a kept release's own cases."""
    results = run_cases(Engine(open_kept(stored, archive)))
    failed = [FailedCase(name=x.name, differences=x.differences) for x in results if not x.passed]
    return CasesTold(passed=len(results) - len(failed), failed=tuple(failed))


def see_impact(
    old: tuple[bytes, bytes],
    new: tuple[bytes, bytes],
    against: str,
    on: date,
    acknowledgements: tuple[Acknowledgement, ...],
    plans: tuple[SavedPlan, ...] = (),
) -> ImpactSeen:
    """Compare every answer of two kept releases, each given by its stored form and its files, and look saved plans over."""
    before, after = open_kept(*old), open_kept(*new)
    found = impact(before, after, on)
    waiting = {group.fingerprint for group in unacknowledged(found, acknowledgements)}
    told = tuple(_told(group, waiting) for group in groups(found))
    seen = see_plans(before, after, on, plans)
    return ImpactSeen(against=against, on=on, answers=len(found.changed), groups=told, plans=seen)


def _told(group: Group, waiting: set[str]) -> ChangeGroup:
    return ChangeGroup(
        change=group.fingerprint,
        because=tuple(str(cause) for cause in group.causes),
        answers=len(group.changed),
        turns=tuple((before, after, count) for (before, after), count in group.turns.items()),
        money=group.money,
        examples=tuple(str(changed.asked) for changed in group.examples),
        is_acknowledged=group.fingerprint not in waiting,
    )


class Run(Protocol):
    """How a step is taken: here, or in a process apart."""

    def __call__(self, step: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> T:
        """Take it."""


def here(step: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> T:
    """Take a step in this process."""
    return step(*args, **kwargs)


def apart(step: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> T:
    """Take a step in a process of its own, so that answers go on meanwhile, and its memory is given back.

    Raises:
        StepDied: That process was killed.
    """
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as pool:
        try:
            return pool.submit(step, *args, **kwargs).result()
        except BrokenProcessPool as error:
            raise StepDied from error
