"""Which answers change from one release to the next, because of what, and whether somebody has acknowledged it."""

from rules.impact.compare import Changed, Impact, impact
from rules.impact.groups import (
    Acknowledgement,
    Group,
    groups,
    read_acknowledgements,
    unacknowledged,
)

__all__ = [
    "Acknowledgement",
    "Changed",
    "Group",
    "Impact",
    "groups",
    "impact",
    "read_acknowledgements",
    "unacknowledged",
]
