"""Are these parts together complete and free of conflicts on this bike? The best way to place them all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from itertools import product

from rules.answer import CartAnswer, Judgement
from rules.build import Placement
from rules.cart_pieces import NotKept, Pieces, live_places
from rules.catalog.catalog import Catalog
from rules.desk import Desk
from rules.errors import MalformedQuestion
from rules.fitment import ORDER, Inquiry, judge, no_place
from rules.question import CartQuestion, Want
from rules.things import SLOT
from rules.verdict import Finding, Status, Verdict

ARRANGEMENTS = 64
"""Ways to place a cart that are tried; beyond, the shop must say where things go."""


def check_cart(desk: Desk, question: CartQuestion) -> CartAnswer:
    """Judge every arrangement of the cart; the best verdict counts, then the least cost, then the order of places.

    Raises: `MalformedQuestion` when there are too many arrangements to try.
    """
    return _check(desk, question, lambda part, place: live_places(desk, part, place), judge)


def check_by_pieces(pieces: Pieces, question: CartQuestion, *, learns: bool) -> CartAnswer:
    """Answer the same for a bike as it left the works, from what is kept of it.

    Args:
        learns: Work out what is not kept yet, with a search if need be. One thread at a time may.

    Raises: `MalformedQuestion` as above; `NotKept` where something is not, and may not be worked out.
    """

    def judged(inquiry: Inquiry) -> Judgement:
        found = pieces.judge(inquiry, learns=learns)
        if found is not None:
            return found
        if not learns:
            raise NotKept
        return judge(inquiry)

    def places(part: str, place: str | None) -> Sequence[Placement]:
        return pieces.live_places.of((part, place), learns=learns)

    return _check(pieces.desk, question, places, judged)


def _check(
    desk: Desk,
    question: CartQuestion,
    places_of: Callable[[str, str | None], Sequence[Placement]],
    judged: Callable[[Inquiry], Judgement],
) -> CartAnswer:
    wants = _unpacked(desk, question.wants)
    places = [[x for part in want.parts for x in places_of(part, want.place)] for want in wants]
    nowhere = [want for want, found in zip(wants, places, strict=True) if not found]
    if nowhere:
        findings = tuple(no_place(desk, part) for want in nowhere for part in want.parts)
        return CartAnswer(verdict=Verdict.DOES_NOT_FIT, bike=question.bike, findings=findings)
    answers = [
        (arrangement, judged(Inquiry(desk, question.on, question.fitter, arrangement)))
        for arrangement in _arrangements(places)
    ]
    if not answers:
        return CartAnswer(
            verdict=Verdict.DOES_NOT_FIT, bike=question.bike, findings=_one_too_many(desk, places)
        )
    arrangement, best = min(answers, key=lambda x: (*_rank(x[1]), sorted(x[0])))
    return best.told_as(CartAnswer, bike=question.bike, placed=tuple(sorted(arrangement)))


def _unpacked(desk: Desk, wants: tuple[Want, ...]) -> tuple[Want, ...]:
    """Let a bundle stand for its members; a preset goes with its amplifier and needs no place."""
    parts = desk.bench.tables.catalog.parts
    unpacked: list[Want] = []
    for want in wants:
        members = [member for part in want.parts for member in parts[part].members]
        singles = [Want(parts=(member,), place=want.place) for member in members] if members else [want]
        unpacked += [x for x in singles if parts[x.parts[0]].preset is None]
    return tuple(unpacked)


def _one_too_many(desk: Desk, places: list[list[Placement]]) -> tuple[Finding, ...]:
    """Say of each part that is asked for more often than there are places for it that its slot is taken."""
    pieces = Counter(found[0].part for found in places)
    crowded = sorted({x for found in places for x in found if pieces[x.part] > len(found)})
    return tuple(
        Finding(
            rule=SLOT,
            status=Status.REFUSED,
            present=frozenset({x}),
            causes=(desk.bench.cause("part.id", x),),
            detail=desk.bench.part(x).slot or "",
        )
        for x in crowded
    )


def _arrangements(places: list[list[Placement]]) -> Iterator[frozenset[Placement]]:
    count = 1
    for found in places:
        count *= len(found)
    if count > ARRANGEMENTS:
        raise MalformedQuestion(
            "parts", "there are too many ways to place these parts", "say at which place each part goes"
        )
    seen: set[frozenset[Placement]] = set()
    for choice in product(*places):
        arrangement = frozenset(choice)
        if len(arrangement) == len(choice) and arrangement not in seen:
            seen.add(arrangement)
            yield arrangement


def _rank(answer: Judgement) -> tuple[int, bool, int]:
    return ORDER.index(answer.verdict), answer.total is None, answer.total or 0


def shared_out(answer: CartAnswer, question: CartQuestion, catalog: Catalog) -> list[list[Placement]]:
    """Share what was placed out among the lines: first come, first served, lines that name a place before others."""
    wants, free = question.wants, set(answer.placed)
    order = sorted(range(len(wants)), key=lambda at: (wants[at].place is None, at))
    placed: list[list[Placement]] = [[] for _ in wants]
    for at in order:
        placed[at] = _take(wants[at], free, catalog)
    return placed


def pieces_of(want: Want, catalog: Catalog) -> tuple[str, ...]:
    """Give the parts that a line of a cart stands for: a bundle for its members."""
    return catalog.parts[want.parts[0]].members or want.parts


def _take(want: Want, free: set[Placement], catalog: Catalog) -> list[Placement]:
    taken: list[Placement] = []
    for piece in pieces_of(want, catalog):
        places = [want.place] if want.place is not None else sorted(x.place for x in free if x.part == piece)
        fitting = [x for place in places[:1] if (x := Placement(piece, place)) in free]
        taken += fitting
        free.difference_update(fitting)
    return taken
