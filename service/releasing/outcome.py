"""What comes of a manager's work: a release is kept, or refused with its reasons."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rules.diagnostics import Diagnostic
from rules.errors import LoomwayError, UnknownId
from service.store.kept import KeptRelease

Step = Literal["files", "check", "cases", "impact"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FailedCase:
    """A case that comes out otherwise than its author expects."""

    name: str
    differences: tuple[str, ...]


class NotAnArchive(LoomwayError):  # noqa: N818 -- named for what the caller did
    """An upload says that it is of another kind than an archive."""


class UnknownKept(UnknownId):
    """No kept release has this id, or none that may be gone back to."""

    what = "release"


class UnknownHold(UnknownId):
    """No hold that is set has this number."""

    what = "hold"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A catalog was sound, and is kept. `is_new`: it was not there before."""

    release: KeptRelease
    diagnostics: tuple[Diagnostic, ...]
    is_new: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A catalog did not pass a step; what was served before is served on.

    Attributes:
        says: Why, in a sentence that anybody may read: it names no place in the files.
        release: Its id, if it has one: files that cannot be read have none.
    """

    step: Step
    says: str
    release: str | None = None
    diagnostics: tuple[Diagnostic, ...] = ()
    failed: tuple[FailedCase, ...] = ()
