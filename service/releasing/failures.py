"""What can go wrong on the way to a release, none of which is a fault of its files."""

from __future__ import annotations


class Failure(Exception):  # noqa: N818 -- it names what happened, like every exception here
    """Base of these. What was served is served on."""


class NoRoom(Failure):
    """The disk has no room left for working files."""

    def __init__(self) -> None:
        super().__init__("there is no room left on the disk; make some and try again")


class StepDied(Failure):
    """The process that took a step was killed: most likely for want of memory."""

    def __init__(self) -> None:
        super().__init__("the process that examined this catalog was killed, most likely for want of memory")


class NoLongerSound(Failure):
    """A release was sound when it was kept, and is not for this revision of the program."""

    def __init__(self) -> None:
        super().__init__(
            "this revision of the program finds errors in the release; check its files and upload it anew"
        )
