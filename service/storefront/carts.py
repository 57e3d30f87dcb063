"""Answers to carts put together as bytes; the models of `service.shapes.carts` define them, and a test keeps the two equal."""

from __future__ import annotations

from collections.abc import Iterable
from operator import itemgetter
from typing import TypeVar

from pydantic_core import to_json

from rules.answer import CartAnswer, Change, Feed
from rules.build import Placement
from rules.cart import pieces_of, shared_out
from rules.catalog.catalog import Catalog
from rules.catalog.part import Part
from rules.explain import cure, sentence
from rules.money import Line
from rules.question import CartQuestion
from rules.verdict import Cause, Finding
from service.shapes.base import Told
from service.shapes.finding import CalculationTold, CauseTold
from service.shapes.placement import PlacementTold
from service.shapes.work import LineTold, PresetTold, changes_told, feeds_told

K = TypeVar("K")
V = TypeVar("V")

ENCODED = 200_000
"""Pieces of one sort that are kept; beyond, they are encoded anew. Each takes up to a few kilobytes."""


class Encoded(dict[K, V]):
    """Pieces that were encoded before, in memory that is bounded."""

    def put(self, key: K, value: V) -> V:
        """Keep a piece, and give it back."""
        if len(self) >= ENCODED:
            self.clear()
        self[key] = value
        return value


class CartWriter:
    """Writes answers to carts of one release."""

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog
        self._placements: dict[Placement, bytes] = {}
        self._lines: dict[str, tuple[bytes, bytes]] = {}
        self._causes: Encoded[tuple[object, ...], tuple[Cause, bytes]] = Encoded()
        self._money: Encoded[Line, bytes] = Encoded()
        # By identity: what is kept of a bike is the same object each time. Each is held, so that no other takes its place.
        self._findings: Encoded[int, tuple[Finding, bytes]] = Encoded()
        self._wirings: Encoded[int, tuple[tuple[Change, ...] | tuple[Feed, ...], bytes]] = Encoded()

    def told(self, answer: CartAnswer, question: CartQuestion, release: bytes, currency: bytes) -> bytes:
        """Put an answer together, as `CartTold` has it.

        Args:
            release: Names the release, as `ReleaseNamed` does.
            currency: Names the currency, with a comma.
        """
        return b"".join(
            (
                b'{"verdict":"',
                answer.verdict.encode(),
                b'","total_minor":',
                b"null" if answer.total is None else b"%d" % answer.total,
                b',"lines":[',
                b",".join(map(self._line, answer.lines)),
                b'],"extras":',
                self._placed(answer.extras),
                b',"presets":[',
                b",".join(_dumped(PresetTold.from_domain(x, self.catalog)) for x in answer.presets),
                b'],"displaced":',
                self._placed(answer.displaced),
                b',"findings":[',
                b",".join(map(self._finding, answer.findings)),
                b'],"missing":[',
                b",".join(map(self._cause, answer.missing)),
                b'],"ask":',
                to_json(answer.ask),
                b',"advice":[',
                b",".join(map(self._finding, answer.advice)),
                b'],"changes":[',
                self._changes(answer.changes),
                b'],"feeds":[',
                self._feeds(answer.feeds),
                b'],"rewires":true,' if answer.rewires else b'],"rewires":false,',
                release,
                b',"bike":',
                to_json(answer.bike),
                b',"on":"',
                question.on.isoformat().encode(),
                b'","fitter":"',
                question.fitter.encode(),
                b'",',
                currency,
                b'"placed":',
                self._placed(answer.placed),
                b',"cart":[',
                b",".join(self._cart(answer, question)),
                b"]}",
            )
        )

    def _cart(self, answer: CartAnswer, question: CartQuestion) -> Iterable[bytes]:
        rules = _rules_by_part(answer.findings)
        seen: set[tuple[str, str | None]] = set()
        parts = self.catalog.parts
        for want, placed in zip(question.wants, shared_out(answer, question, self.catalog), strict=True):
            name, place = want.parts[0], want.place
            head, tail = self._lines.get(name) or self._kept_line(parts[name])
            yield b"".join(
                (
                    head,
                    b"null" if place is None else to_json(place),
                    b',"placed":',
                    self._placed(placed),
                    b',"again":true,"rules":' if (name, place) in seen else b',"again":false,"rules":',
                    _rules_of(pieces_of(want, self.catalog), place, rules),
                    tail,
                )
            )
            seen.add((name, place))

    def _kept_line(self, part: Part) -> tuple[bytes, bytes]:
        days = max(self.catalog.parts[x].lead_days for x in (part.id, *part.members))
        head = b'{"part":%b,"name":%b,"asked_for":' % (to_json(part.id), to_json(part.name))
        tail = b',"colour":%b,"lead_days":%d}' % (to_json(part.colour), days)
        self._lines[part.id] = head, tail
        return head, tail

    def _placed(self, placements: Iterable[Placement]) -> bytes:
        told = self._placements
        ordered = sorted(placements, key=_BY_PLACE)
        return b"[%b]" % b",".join([told.get(x) or self._kept_placement(x) for x in ordered])

    def _kept_placement(self, placed: Placement) -> bytes:
        told = self._placements[placed] = _dumped(PlacementTold.from_domain(placed, self.catalog))
        return told

    def _line(self, line: Line) -> bytes:
        return self._money.get(line) or self._money.put(
            line, _dumped(LineTold.from_domain(line, self.catalog))
        )

    def _finding(self, finding: Finding) -> bytes:
        kept = self._findings.get(id(finding))
        if kept is None:
            kept = self._findings.put(id(finding), (finding, self._encoded(finding)))
        return kept[1]

    def _encoded(self, finding: Finding) -> bytes:
        worked = finding.calculation
        return (
            b'{"rule":%b,"status":"%b","sentence":%b,"causes":[%b],"calculation":%b,"present":%b,"cure":%b}'
            % (
                to_json(finding.rule),
                finding.status.encode(),
                to_json(sentence(finding, self.catalog)),
                b",".join(map(self._cause, finding.causes)),
                b"null" if worked is None else _dumped(CalculationTold.from_domain(worked)),
                self._placed(finding.present),
                to_json(cure(finding, self.catalog)),
            )
        )

    def _cause(self, cause: Cause) -> bytes:
        # Sources and spans are the catalog's own; they are held with what was made of them.
        key = (cause.fact, cause.of, type(cause.value), cause.value, id(cause.source), id(cause.span))
        kept = self._causes.get(key)
        if kept is None:
            kept = self._causes.put(key, (cause, _dumped(CauseTold.from_domain(cause))))
        return kept[1]

    def _changes(self, changes: tuple[Change, ...]) -> bytes:
        kept = self._wirings.get(id(changes))
        if kept is None:
            written = b",".join(map(_dumped, changes_told(changes)))
            kept = self._wirings.put(id(changes), (changes, written))
        return kept[1]

    def _feeds(self, feeds: tuple[Feed, ...]) -> bytes:
        kept = self._wirings.get(id(feeds))
        if kept is None:
            written = b",".join(map(_dumped, feeds_told(feeds, self.catalog)))
            kept = self._wirings.put(id(feeds), (feeds, written))
        return kept[1]


_BY_PLACE = itemgetter(1, 0)
"""Order of placements in answers: by place, then by part."""

Named = dict[str, list[tuple[int, str, str]]]
"""By part: each finding that it has a part in, as its number, the place, and the rule."""


def _rules_by_part(findings: tuple[Finding, ...]) -> Named:
    named: Named = {}
    for number, finding in enumerate(findings):
        for part, place in finding.present:
            named.setdefault(part, []).append((number, place, finding.rule))
    return named


def _rules_of(pieces: tuple[str, ...], place: str | None, named: Named) -> bytes:
    found = [
        (number, rule)
        for piece in pieces
        for number, at, rule in named.get(piece, ())
        if place is None or place == at
    ]
    if not found:
        return b"[]"
    return to_json(list(dict.fromkeys(rule for _, rule in sorted(found))))


def _dumped(model: Told) -> bytes:
    return model.model_dump_json().encode()
