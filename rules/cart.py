"""Are these parts together complete and free of conflicts on this bike? The best way to place them all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import count, product
from math import prod
from typing import NamedTuple

from rules.abouts import About
from rules.answer import CartAnswer, Judgement
from rules.build import Placement
from rules.cart_from_pieces import Refused, judge_aside, judge_from_pieces
from rules.cart_pieces import Pieces, live_places
from rules.catalog.catalog import Catalog
from rules.desk import Desk
from rules.errors import MalformedQuestion
from rules.fitment import ORDER, Inquiry, judge, no_place
from rules.question import CartLines, CartQuestion, Want
from rules.ranks import CartLine
from rules.things import SLOT
from rules.verdict import Finding, Status, Verdict

ARRANGEMENTS = 64
"""Ways to place a cart that are tried; beyond, the shop must say where things go."""


def check_cart(desk: Desk, question: CartQuestion) -> CartAnswer:
    """Judge every arrangement of the cart; the best verdict counts, then the least cost, then the order of places.

    Raises: `MalformedQuestion` when there are too many arrangements to try.
    """
    return _check(
        desk,
        question,
        lambda wants: _by_want(wants, [live_places(desk, y, x.place) for x in wants for y in x.parts]),
        judge,
    )


def check_by_pieces(pieces: Pieces, question: CartQuestion, *, learns: bool) -> CartAnswer:
    """Answer the same for a bike as it left the works, from what is kept of it.

    Args:
        learns: Work out what is not kept yet, with a search if need be. One thread at a time may.

    Raises: `MalformedQuestion` as above; `NotKept` where something is not kept, and may not be worked out.
    """
    ranks = pieces.bench.tables.ranks
    if all(len(want.parts) == 1 for want in question.wants):
        sure = _sure(pieces, CartLines.of(question, ranks))
        if sure is not None:
            asked, _ = sure
            judgement = judge_from_pieces(pieces, asked, question.on, question.fitter, learns=learns)
            placed = tuple(sorted([x.placed for x in asked]))
            return judgement.told_as(CartAnswer, bike=question.bike, placed=placed)

    def judged(inquiry: Inquiry) -> Judgement:
        asked = pieces.abouts.parts.all(list(inquiry.asked), learns=learns)
        return judge_from_pieces(pieces, asked, inquiry.on, inquiry.fitter, learns=learns)

    def places(wants: Sequence[Want]) -> list[tuple[Placement, ...]]:
        keys = [(part, want.place) for want in wants for part in want.parts]
        found = _by_want(wants, pieces.live_places.all(keys, learns=learns))
        for want, live in zip(wants, found, strict=True):
            if len(want.parts) == len(live) == 1 and want.parts[0] in pieces.bench.tables.singles:
                about = pieces.abouts.parts.of(live[0], learns=learns)
                pieces.keep_sure(ranks.number(CartLine(want.parts[0], want.place)), about)
        return found

    return _check(pieces.desk, question, places, judged)


class SureCart(NamedTuple):
    """The answer for a cart of which each line can go to one place only, each to another.

    Attributes:
        judged: The judgement; of a plain refusal, without its findings.
        refused: What tells a plain refusal, as it is kept.
        asked: What is known of each line, in their order.
        at: Where in that order a part is, by its own order among all.
    """

    judged: Judgement
    refused: Refused | None
    asked: Sequence[About]
    at: Mapping[int, int]


def check_surely(pieces: Pieces, cart: CartLines) -> SureCart | None:
    """Answer the same from what is kept where everything can go to one place only, each to another; None where that is not known.

    Raises: `NotKept`.
    """
    sure = _sure(pieces, cart)
    if sure is None:
        return None
    return SureCart(*judge_aside(pieces, sure[0], cart.on, cart.fitter), *sure)


def _sure(pieces: Pieces, cart: CartLines) -> tuple[list[About], dict[int, int]] | None:
    """Give what is known of each line, and which line is for whom; None where one may mean several places, or two the same."""
    asked = pieces.sure(cart.numbers)
    at = dict(zip([x.order for x in asked], count(), strict=False))
    return (asked, at) if asked and len(at) == len(asked) else None


def _by_want(wants: Sequence[Want], found: Sequence[Sequence[Placement]]) -> list[tuple[Placement, ...]]:
    """Put together where each want may go, from where each of its parts may."""
    ahead = iter(found)
    return [tuple(x for _ in want.parts for x in next(ahead)) for want in wants]


def _check(
    desk: Desk,
    question: CartQuestion,
    places_of: Callable[[Sequence[Want]], Sequence[Sequence[Placement]]],
    judged: Callable[[Inquiry], Judgement],
) -> CartAnswer:
    wants = _unpacked(desk, question.wants)
    places = places_of(wants)
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
    arrangement, best = (
        answers[0] if len(answers) == 1 else min(answers, key=lambda x: (*_rank(x[1]), sorted(x[0])))
    )
    return best.told_as(CartAnswer, bike=question.bike, placed=tuple(sorted(arrangement)))


def _unpacked(desk: Desk, wants: tuple[Want, ...]) -> tuple[Want, ...]:
    """Let a bundle stand for its members; a preset goes with its amplifier and needs no place."""
    if desk.bench.tables.singles.issuperset([part for want in wants for part in want.parts]):
        return wants
    parts = desk.bench.tables.catalog.parts
    unpacked: list[Want] = []
    for want in wants:
        members = [member for part in want.parts for member in parts[part].members]
        singles = [Want(parts=(member,), place=want.place) for member in members] if members else [want]
        unpacked += [x for x in singles if parts[x.parts[0]].preset is None]
    return tuple(unpacked)


def _one_too_many(desk: Desk, places: Sequence[Sequence[Placement]]) -> tuple[Finding, ...]:
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


def _arrangements(places: Sequence[Sequence[Placement]]) -> Iterator[frozenset[Placement]]:
    count = prod(map(len, places))
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
    placed: list[list[Placement]] = [[] for _ in wants]
    for at in sorted(range(len(wants)), key=[want.place is None for want in wants].__getitem__):
        placed[at] = _take(pieces_of(wants[at], catalog), wants[at].place, free)
    return placed


def told_apart(
    findings: Iterable[Finding], shares: Iterable[Sequence[Placement]]
) -> tuple[dict[Placement, list[Finding]], tuple[Finding, ...]]:
    """Tell what was found on a line's own part, where it brings one, from what is about several lines, or none."""
    own: dict[Placement, list[Finding]] = {share[0]: [] for share in shares if len(share) == 1}
    shared: list[Finding] = []
    for finding in findings:
        placed = next(iter(finding.present), None)
        mine = own.get(placed) if placed is not None and len(finding.present) == 1 else None
        (shared if mine is None else mine).append(finding)
    return own, tuple(shared)


def pieces_of(want: Want, catalog: Catalog) -> tuple[str, ...]:
    """Give the parts that a line of a cart stands for: a bundle for its members."""
    return catalog.parts[want.parts[0]].members or want.parts


def _take(pieces: tuple[str, ...], place: str | None, free: set[Placement]) -> list[Placement]:
    taken: list[Placement] = []
    for piece in pieces:
        at = min([x.place for x in free if x.part == piece], default=None) if place is None else place
        if at is not None and (placed := Placement(piece, at)) in free:
            taken.append(placed)
            free.discard(placed)
    return taken
