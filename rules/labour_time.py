"""How long work takes: each piece once, in its order, for one person and for two."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

WORK_LIMIT = 100_000
"""How many pieces of half-made rosters for two are looked at before the best roster so far is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece of work for one person: whole minutes, after the named pieces."""

    name: str
    minutes: int
    after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """Who does a piece, and from which minute on. Persons are 1 and 2."""

    piece: str
    person: int
    start: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourTime:
    """How long a visit's work takes.

    Attributes:
        person_minutes: All pieces, each once: what is paid for.
        elapsed_two: From start to end with two people [min].
        is_least: Whether it is shown that two cannot be quicker.
        turns: The roster for two, by start.
    """

    person_minutes: int
    elapsed_two: int
    is_least: bool
    turns: tuple[Turn, ...]

    @property
    def order(self) -> tuple[str, ...]:
        """Give the pieces in an order that one person can work in, too."""
        return tuple(x.piece for x in self.turns)


def shared_pieces(jobs: Iterable[Iterable[Piece]]) -> tuple[tuple[Piece, ...], int]:
    """Give the pieces of several jobs, each once, and the minutes that sharing them saves.

    Raises: MalformedQuestion if jobs give a piece different minutes or another order.
    """
    held: dict[str, Piece] = {}
    saved = 0
    for piece in (piece for job in jobs for piece in job):
        if held.setdefault(piece.name, piece) != piece:
            raise MalformedQuestion(
                "pieces", "two jobs describe one piece differently", "give it one time and one order"
            )
        saved += piece.minutes
    pieces = tuple(held.values())
    return pieces, saved - sum(x.minutes for x in pieces)


def labour_time(pieces: Sequence[Piece]) -> LabourTime:
    """Say how long work takes one person and two.

    Args:
        pieces: Each once; what must come off first is named in `after`.

    Raises: MalformedQuestion if a piece is named twice, or comes after an unknown piece or after itself.

    Equation: person-minutes are the sum; elapsed time for two is the shortest roster of two, found by trying them all up
        to a counted limit.
    Validity: each piece is one person's work, and both have room at the bike.
    Source: common practice, no source.

    Example:
        >>> found = labour_time((Piece(name="off", minutes=20), Piece(name="left", minutes=30, after=("off",)),
        ...     Piece(name="right", minutes=30, after=("off",))))
        >>> found.person_minutes, found.elapsed_two
        (80, 50)
    """
    roster = Roster(_in_order(pieces))
    roster.search()
    return LabourTime(
        person_minutes=sum(x.minutes for x in pieces),
        elapsed_two=roster.best_end,
        is_least=roster.is_least,
        turns=tuple(sorted(roster.best, key=lambda x: (x.start, x.person, x.piece))),
    )


def _in_order(pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Give the pieces so that each comes after those that it follows."""
    ahead = {x.name: x for x in pieces}
    if len(ahead) != len(pieces):
        raise MalformedQuestion("pieces", "a piece is named twice", "give each piece once")
    if any(name not in ahead for x in pieces for name in x.after):
        raise MalformedQuestion(
            "after", "a piece comes after one that is not there", "name pieces that are there"
        )
    ordered: dict[str, Piece] = {}
    while ahead:
        ready = [x for x in ahead.values() if all(name in ordered for name in x.after)]
        if not ready:
            raise MalformedQuestion(
                "after", "pieces come after one another in a ring", "give an order that ends"
            )
        ordered.update((x.name, x) for x in ready)
        ahead = {name: x for name, x in ahead.items() if name not in ordered}
    return tuple(ordered.values())


@dataclass
class Roster:
    """Looks for the shortest roster of two.

    A roster is built by giving the next piece, in order of start, to one of the two, as early as its forerunners and
    that person allow. Every roster without needless waiting comes up so, the shortest among them.
    """

    pieces: tuple[Piece, ...]
    best: tuple[Turn, ...] = ()
    best_end: int = 0
    is_least: bool = True
    looked_at: int = 0
    tails: dict[str, int] = field(default_factory=dict)

    def search(self) -> None:
        """Fill in the best roster."""
        self.tails = self._tails()
        self.best_end = sum(x.minutes for x in self.pieces) + 1
        self._extend((), {}, (0, 0))
        self.is_least = self.looked_at <= WORK_LIMIT or self.best_end == self._bound({}, (0, 0))

    def _tails(self) -> dict[str, int]:
        """Give from the start of each piece the longest chain that hangs on it."""
        tails: dict[str, int] = {}
        for piece in reversed(self.pieces):
            later = (tails[x.name] for x in self.pieces if piece.name in x.after)
            tails[piece.name] = piece.minutes + max(later, default=0)
        return tails

    def _bound(self, ends: dict[str, int], free: tuple[int, int]) -> int:
        """Give a time before which nobody can be ready."""
        rest = [x for x in self.pieces if x.name not in ends]
        work = sum(x.minutes for x in rest)
        chains = (
            max([min(free), *(ends.get(name, 0) for name in x.after)]) + self.tails[x.name] for x in rest
        )
        return max(*free, -(-(sum(free) + work) // 2), *chains)

    def _extend(self, turns: tuple[Turn, ...], ends: dict[str, int], free: tuple[int, int]) -> None:
        self.looked_at += len(self.pieces)
        if len(turns) == len(self.pieces):
            if max(free) < self.best_end:
                self.best, self.best_end = turns, max(free)
            return
        if self._bound(ends, free) >= self.best_end:
            return
        for start, piece, person in self._next(turns, ends, free):
            if self.looked_at > WORK_LIMIT and self.best:
                return
            end = start + piece.minutes
            turn = Turn(piece=piece.name, person=person + 1, start=start)
            after = (end, free[1]) if person == 0 else (free[0], end)
            self._extend((*turns, turn), {**ends, piece.name: end}, after)

    def _next(
        self, turns: tuple[Turn, ...], ends: dict[str, int], free: tuple[int, int]
    ) -> list[tuple[int, Piece, int]]:
        """Give what can come next: early and long chains first; who is free at the same time is alike."""
        last = turns[-1].start if turns else 0
        found = [
            (max(free[person], *(ends[name] for name in piece.after), 0), piece, person)
            for piece in self.pieces
            if piece.name not in ends and all(name in ends for name in piece.after)
            for person in ((0,) if free[0] == free[1] else (0, 1))
        ]
        kept = [x for x in found if x[0] >= last]
        return sorted(kept, key=lambda x: (x[0], -self.tails[x[1].name], x[1].name, x[2]))


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitTime:
    """Person-minutes, elapsed minutes for two, whether that is the least, and an order to work in."""

    person_minutes: int
    elapsed_two: int
    is_least: bool
    order: tuple[int, ...]


MOST_PIECES = 200


def visit_time(minutes: tuple[float, ...], after: tuple[float, ...] = ()) -> VisitTime:
    """Say how long numbered pieces of work take one person and two.

    Args:
        minutes: Of each piece [min], whole.
        after: For each piece the number of the one that must come first, counted from 1; 0 for none. Left out: in any
            order.

    Raises: MalformedQuestion if numbers are not whole, or there is not one `after` for each piece.
    """
    _check("minutes", minutes)
    _check("after", after)
    if after and len(after) != len(minutes):
        raise MalformedQuestion(
            "after", "there is not one `after` for each piece", "give as many as minutes, 0 for none"
        )
    firsts = after or (0.0,) * len(minutes)
    found = labour_time(
        tuple(
            Piece(name=f"{place:03}", minutes=int(time), after=(f"{int(first):03}",) if first else ())
            for place, (time, first) in enumerate(zip(minutes, firsts, strict=True), start=1)
        )
    )
    return VisitTime(
        person_minutes=found.person_minutes,
        elapsed_two=found.elapsed_two,
        is_least=found.is_least,
        order=tuple(int(x) for x in found.order),
    )


def _check(name: str, numbers: tuple[float, ...]) -> None:
    if len(numbers) > MOST_PIECES:
        raise MalformedQuestion(name, "there are too many pieces", f"give at most {MOST_PIECES}")
    if not all(float(x).is_integer() for x in numbers):
        raise MalformedQuestion(name, f"{name} are not whole numbers", "give whole numbers")


CALCULATIONS = (
    Calculation(
        id="labour_time",
        title="How long a visit's work takes, for one person and for two",
        topic="labour",
        function=visit_time,
        inputs=(
            Input(
                name="minutes",
                unit="min",
                meaning="of each piece, shared ones once",
                kind="numbers",
                least=0,
                most=10_000,
            ),
            Input(
                name="after",
                unit="1",
                meaning="for each piece the number of the one that comes first, 0 for none",
                kind="numbers",
                least=0,
                most=MOST_PIECES,
                default=(),
            ),
        ),
        output=Output(name="person_minutes", unit="min", meaning="work in all, as it is paid"),
        others=(
            Output(name="elapsed_two", unit="min", meaning="from start to end with two people"),
            Output(name="is_least", unit="1", meaning="whether two can surely not be quicker"),
            Output(name="order", unit="1", meaning="numbers of the pieces in an order to work in"),
        ),
        equation="sum of minutes; shortest roster of two that keeps the order",
        validity="each piece is one person's work, and both have room at the bike",
        source="common practice, no source",
        cautions=("estimate", "paid_work", "wiring"),
    ),
)
