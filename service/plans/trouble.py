"""What can go wrong with saved plans, in words of our own. None of these texts holds an id, a secret or a name."""

from __future__ import annotations

from rules.errors import LoomwayError, UnknownId


class UnknownPlan(UnknownId):
    """No plan has this id. Nothing is suggested instead: an id is what lets somebody in."""

    what = "plan"

    def __init__(self, asked: str) -> None:
        super().__init__(asked, ())


class UnknownRevision(UnknownId):
    """The plan has no revision of this number."""

    what = "revision"


class UnknownVisit(UnknownId):
    """No visit of this number was done."""

    what = "visit"


class UnknownRider(UnknownId):
    """No rider has this id, or it was erased."""

    what = "rider"

    def __init__(self, asked: str) -> None:
        super().__init__(asked, ())


class UnknownShare(UnknownId):
    """No link has this id, or this secret; or it has ended, or was withdrawn."""

    what = "share"

    def __init__(self, asked: str) -> None:
        super().__init__(asked, ())


class RevisionNeeded(LoomwayError):  # noqa: N818 -- it names what is missing, like every exception here
    """A change does not say which revision it is made to."""


class PlanChanged(LoomwayError):  # noqa: N818 -- it names what happened, likewise
    """Somebody changed the plan since the caller looked at it. Nothing was done."""


class KeyUsedOtherwise(LoomwayError):  # noqa: N818 -- likewise
    """The same key was sent with another request before."""


class PlanArchived(LoomwayError):  # noqa: N818 -- likewise
    """The plan is put away, and is not changed until it is taken up again."""
