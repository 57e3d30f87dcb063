"""Are these parts together complete and free of conflicts on this bike? The best way to place them all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import product

from rules.answer import CartAnswer, Judgement
from rules.build import Placement
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
    wants = _unpacked(desk, question.wants)
    places = [_placements(desk, want) for want in wants]
    nowhere = [want for want, found in zip(wants, places, strict=True) if not found]
    if nowhere:
        findings = tuple(no_place(desk, part) for want in nowhere for part in want.parts)
        return CartAnswer(verdict=Verdict.DOES_NOT_FIT, bike=question.bike, findings=findings)
    answers = [(arrangement, _judge(desk, question, arrangement)) for arrangement in _arrangements(places)]
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
        singles = [Want(parts=(member,), place=want.place) for member in members] or [want]
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


def _placements(desk: Desk, want: Want) -> list[Placement]:
    """Give where a part may go, leaving out places that refuse it whatever else is fitted, if any others remain."""
    bench = desk.bench
    found = [
        Placement(part, place)
        for part in want.parts
        for place in sorted(bench.has.places)
        if want.place in (None, place) and bench.can_place(bench.tables.catalog.parts[part], place)
    ]
    for placed in found:
        desk.audition(placed)
    live = [x for x in found if not any(law.forbids(x) for law in desk.hopeful.involving(x))]
    return live or found


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


def _judge(desk: Desk, question: CartQuestion, arrangement: frozenset[Placement]) -> Judgement:
    return judge(Inquiry(desk, question.on, question.fitter, arrangement))


def _rank(answer: Judgement) -> tuple[int, bool, int]:
    return ORDER.index(answer.verdict), answer.total is None, answer.total or 0
