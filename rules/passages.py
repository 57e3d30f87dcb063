"""Findings as they are kept for carts: what is always found together, and told together."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from rules.build import Build
from rules.verdict import Finding, Status


class Room(NamedTuple):
    """A slot of the bike by its number, and how many parts it takes."""

    number: int
    capacity: int


class Clearing(NamedTuple):
    """What may clear a finding: something for sale where there is room; or where there is room, unless one of the sets is there."""

    free: tuple[Room, ...]
    unless: tuple[tuple[Room, tuple[Build, ...]], ...]


class Passage:
    """Findings that are told together or not at all.

    It is the same object each time. `written` is how they were told last, left here by whoever tells them.
    """

    __slots__ = ("findings", "written")

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings = tuple(findings)
        self.written: object = None


class Piece:
    """A finding, and what decides whether anything may clear it."""

    __slots__ = ("clearing", "finding", "is_need", "is_refusal", "passage", "stays")

    def __init__(self, finding: Finding, *, is_need: bool) -> None:
        self.finding = finding
        self.is_need = is_need
        self.is_refusal = finding.status is Status.REFUSED
        self.stays = self.is_refusal and not finding.repairs
        self.passage = Passage((finding,))
        self.clearing: dict[int, Clearing] = {}


class Found:
    """What was found on something: `pieces`.

    Where all of it stays whatever is added, `is_settled`, its limits are one passage and its needs another, if there are any.
    """

    __slots__ = ("is_settled", "limits", "needs", "pieces")

    def __init__(self, pieces: tuple[Piece, ...]) -> None:
        self.pieces = pieces
        self.is_settled = all(x.stays for x in pieces)
        self.limits = _passage([x for x in pieces if not x.is_need]) if self.is_settled else None
        self.needs = _passage([x for x in pieces if x.is_need]) if self.is_settled else None


def _passage(pieces: list[Piece]) -> Passage | None:
    if len(pieces) == 1:
        return pieces[0].passage
    return Passage(x.finding for x in pieces) if pieces else None


NOTHING = Found(())
