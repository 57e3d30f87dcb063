"""Why somebody is not let in: apart from who lets in, so that what only words it loads no framework."""

from __future__ import annotations

from rules.errors import LoomwayError


class NoDatabase(LoomwayError):  # noqa: N818 -- it names what is missing, like every exception here
    """What was asked for is kept in a database, and this service runs without one."""


class KeyNeeded(LoomwayError):  # noqa: N818 -- likewise
    """There is no key, or none that is known."""


class WrongRole(LoomwayError):  # noqa: N818 -- likewise
    """The key is for something else."""
