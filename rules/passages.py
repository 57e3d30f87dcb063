"""Findings as they are kept for carts: what is always found together, and told together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import groupby
from typing import NamedTuple

from rules.bench import Bench
from rules.build import Build
from rules.columns import Column
from rules.fitment import is_need
from rules.verdict import Finding, Status


class Clearing(NamedTuple):
    """What may clear a finding: something for sale where its slot has room; or where it has, unless one of the sets is there."""

    free: tuple[Column, ...]
    unless: tuple[tuple[Column, tuple[Build, ...]], ...]


class Passage:
    """Findings on the same parts, told together or not at all.

    It is the same object each time.

    Attributes:
        findings: In order.
        named: The ranks of the parts that have a part in them, as `Ranks.by_part` has them.
        rules: What the findings name, one each.
        text: As it was told, left here by whoever tells it.
        reason: As it was told where it is plain which part it is about, likewise.
    """

    __slots__ = ("findings", "named", "reason", "rules", "text")

    def __init__(self, findings: Iterable[Finding], named: Iterable[int]) -> None:
        self.findings = tuple(findings)
        self.named = tuple(named)
        self.rules = _shared(tuple([x.rule for x in self.findings]))
        self.text = b""
        self.reason = b""


@lru_cache(maxsize=10_000)
def _shared(rules: tuple[str, ...]) -> tuple[str, ...]:
    """Give the same names each time: most passages name one rule, and few rules name most."""
    return rules


class Piece:
    """A finding, and what decides whether anything may clear it."""

    __slots__ = ("clearing", "finding", "is_need", "is_refusal", "passage", "stays")

    def __init__(self, finding: Finding, named: Iterable[int], *, is_need: bool) -> None:
        self.finding = finding
        self.is_need = is_need
        self.is_refusal = finding.status is Status.REFUSED
        self.stays = self.is_refusal and not finding.repairs
        self.passage = Passage((finding,), named)
        self.clearing: dict[int, Clearing] = {}


class Found:
    """What was found on something: `pieces`.

    Where all of it stays whatever is added, it `is_settled`: then `limits` are told, or where nothing at all limits, `needs`.
    """

    __slots__ = ("is_settled", "limits", "needs", "pieces")

    def __init__(self, pieces: Sequence[Piece]) -> None:
        self.pieces = pieces
        self.is_settled = all(x.stays for x in pieces)
        self.limits = _passages([x for x in pieces if not x.is_need])
        self.needs = _passages([x for x in pieces if x.is_need])

    def is_about(self, order: int) -> bool:
        """Tell whether all of it stays, and is about the part of this rank alone."""
        return self.is_settled and all(x.named == (order,) for x in (*self.limits, *self.needs))


def _passages(pieces: list[Piece]) -> tuple[Passage, ...]:
    found: list[Passage] = []
    for _, together in groupby(pieces, lambda x: x.finding.present):
        first, *more = together
        whole = first.passage
        if more:
            whole = Passage([x.finding for x in (first, *more)], whole.named)
        found.append(whole)
    return tuple(found)


NOTHING = Found(())


def found_by(bench: Bench, findings: Iterable[Finding]) -> Found:
    """Keep what was found on something."""
    ranks = bench.tables.ranks
    pieces = [
        Piece(x, [ranks.by_part(placed) for placed in x.present], is_need=is_need(bench, x)) for x in findings
    ]
    return Found(pieces) if pieces else NOTHING
