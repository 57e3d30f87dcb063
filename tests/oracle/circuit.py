"""One circuit for ngspice, and what draws it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from random import Random
from typing import NamedTuple


class Circuit(NamedTuple):
    """One circuit for ngspice.

    `elements` are the lines of its netlist, `analysis` is one command such as `op` or `ac lin 1 80 80`, and
    `expected` holds for each expression that ngspice prints, such as `v(out)`, what the calculation says.
    """

    elements: tuple[str, ...]
    analysis: str
    expected: Mapping[str, float]


Generator = Callable[[Random], Circuit]
