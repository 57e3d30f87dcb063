"""Things side by side: each as near as it can be to where it would like to stand, none upon another."""

from __future__ import annotations

from collections.abc import Sequence


def spread(wanted: Sequence[float], widths: Sequence[float], room: float) -> list[float]:
    """Give each thing its middle, in the order given.

    Args:
        wanted: Middles that they would like.
        widths: With the gap that belongs to each.
        room: Where the last one ends; what does not fit hangs out at the left.

    Example:
        >>> spread([50, 50], [20, 20], 100)
        [50.0, 70.0]
        >>> spread([95, 95], [20, 20], 100)
        [70.0, 90.0]
    """
    left = [middle - width / 2 for middle, width in zip(wanted, widths, strict=True)]
    edge = 0.0
    for at, width in enumerate(widths):
        left[at] = max(left[at], edge)
        edge = left[at] + width
    edge = room
    for at in reversed(range(len(widths))):
        left[at] = min(left[at], edge - widths[at])
        edge = left[at]
    return [start + width / 2 for start, width in zip(left, widths, strict=True)]
