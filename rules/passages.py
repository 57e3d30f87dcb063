"""Findings as they are kept for carts: what is always found together, and told together."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import groupby
from typing import NamedTuple

from rules.build import Build
from rules.columns import Column
from rules.ranks import Ranks
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
    """

    __slots__ = ("findings", "named", "rules", "text")

    def __init__(self, findings: Iterable[Finding], ranks: Ranks) -> None:
        self.findings = tuple(findings)
        self.named = tuple([ranks.by_part(x) for x in self.findings[0].present])
        self.rules = _shared(tuple([x.rule for x in self.findings]))
        self.text = b""


@lru_cache(maxsize=10_000)
def _shared(rules: tuple[str, ...]) -> tuple[str, ...]:
    """Give the same names each time: most passages name one rule, and few rules name most."""
    return rules


class Piece:
    """A finding, and what decides whether anything may clear it."""

    __slots__ = ("clearing", "finding", "is_need", "is_refusal", "passage", "stays")

    def __init__(self, finding: Finding, ranks: Ranks, *, is_need: bool) -> None:
        self.finding = finding
        self.is_need = is_need
        self.is_refusal = finding.status is Status.REFUSED
        self.stays = self.is_refusal and not finding.repairs
        self.passage = Passage((finding,), ranks)
        self.clearing: dict[int, Clearing] = {}


class Found:
    """What was found on something: `pieces`.

    Where all of it stays whatever is added, it `is_settled`: then `limits` are told, or where nothing at all limits, `needs`.
    """

    __slots__ = ("is_settled", "limits", "needs", "pieces")

    def __init__(self, pieces: tuple[Piece, ...], ranks: Ranks) -> None:
        self.pieces = pieces
        self.is_settled = all(x.stays for x in pieces)
        self.limits = _passages([x for x in pieces if not x.is_need], ranks)
        self.needs = _passages([x for x in pieces if x.is_need], ranks)


def _passages(pieces: list[Piece], ranks: Ranks) -> tuple[Passage, ...]:
    found: list[Passage] = []
    for _, together in groupby(pieces, lambda x: x.finding.present):
        first, *more = together
        found.append(Passage([x.finding for x in (first, *more)], ranks) if more else first.passage)
    return tuple(found)
