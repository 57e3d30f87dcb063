"""Answers to carts put together as bytes; the models of `service.shapes.carts` define them, and a test keeps the two equal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from operator import itemgetter
from typing import TypeVar

from pydantic_core import to_json

from rules.answer import CartAnswer, Change, Feed
from rules.build import Placement
from rules.cart import pieces_of, shared_out
from rules.catalog.catalog import Catalog
from rules.explain import cure, sentence
from rules.money import Line
from rules.question import CartLines, CartQuestion
from rules.ranks import Ranks
from rules.verdict import Cause, Finding
from service.shapes.base import Told
from service.shapes.finding import CalculationTold, CauseTold
from service.shapes.placement import PlacementTold
from service.shapes.work import LineTold, PresetTold, changes_told, feeds_told

K = TypeVar("K")
V = TypeVar("V")

ENCODED = 200_000
"""Pieces of one sort that are kept; beyond, they are encoded anew. Each takes up to a few kilobytes."""

PLACELESS = -1
"""Number of a line that may go to several places."""


class Encoded(dict[K, V]):
    """Pieces that were encoded before, in memory that is bounded."""

    def put(self, key: K, value: V) -> V:
        """Keep a piece, and give it back."""
        if len(self) >= ENCODED:
            self.clear()
        self[key] = value
        return value


@dataclass(slots=True, frozen=True, eq=False)
class _Line:
    """What is told of a line in every cart, and whole where nothing is found on it.

    `number` is that of where it goes, if it names a place and stands for one part; `there` is that as JSON.
    """

    number: int
    head: bytes
    there: bytes
    open: bytes
    tail: bytes
    whole: bytes


@dataclass(slots=True, frozen=True, eq=False)
class _Told:
    """A finding as it is told, its rule, and the numbers of the parts that have a part in it."""

    finding: Finding
    written: bytes
    rules: tuple[str]
    numbers: tuple[int, ...]


class CartWriter:
    """Writes answers to carts of one release."""

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog
        self._number = Ranks(catalog).by_place
        self._placements: dict[Placement, bytes] = {}
        self._lines: Encoded[tuple[str, str | None], _Line] = Encoded()
        self._rules: Encoded[tuple[str, ...], bytes] = Encoded()
        self._causes: Encoded[tuple[object, ...], tuple[Cause, bytes]] = Encoded()
        self._money: Encoded[Line, bytes] = Encoded()
        # By identity: what is kept of a bike is the same object each time. Each is held, so that no other takes its place.
        self._findings: Encoded[int, _Told] = Encoded()
        # Findings on like bikes are told alike, and what many carts have in common is near at hand.
        self._written: Encoded[bytes, bytes] = Encoded()
        self._wirings: Encoded[int, tuple[tuple[Change, ...] | tuple[Feed, ...], bytes]] = Encoded()

    def told(self, answer: CartAnswer, cart: CartLines, release: bytes, currency: bytes) -> bytes:
        """Put an answer together, as `CartTold` has it.

        Args:
            release: Names the release, as `ReleaseNamed` does.
            currency: Names the currency, with a comma.
        """
        findings = self._findings_of(answer.findings)
        placed, lines = self._cart(answer, cart, findings)
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
                b",".join([x.written for x in findings]),
                b'],"missing":[',
                b",".join(map(self._cause, answer.missing)),
                b'],"ask":',
                to_json(answer.ask),
                b',"advice":[',
                b",".join([x.written for x in self._findings_of(answer.advice)]),
                b'],"changes":[',
                self._changes(answer.changes),
                b'],"feeds":[',
                self._feeds(answer.feeds),
                b'],"rewires":true,' if answer.rewires else b'],"rewires":false,',
                release,
                b',"bike":',
                to_json(answer.bike),
                b',"on":"',
                cart.on.isoformat().encode(),
                b'","fitter":"',
                cart.fitter.encode(),
                b'",',
                currency,
                b'"placed":',
                placed,
                b',"cart":[',
                *lines,
                b'],"later":null}',
            )
        )

    def _cart(self, answer: CartAnswer, cart: CartLines, findings: list[_Told]) -> tuple[bytes, list[bytes]]:
        """Write where everything goes, and the lines; those that all name a place, each another, go together at once."""
        known = self._lines
        lines = [known.get(line) or self._kept_line(*line) for line in cart.lines]
        at = {x.number: x for x in lines}
        if PLACELESS in at or not len(at) == len(lines) == len(answer.placed):
            return self._placed(answer.placed), self._share_out(answer, cart.question(), lines)
        named: dict[int, tuple[str, ...]] = {}
        for finding in findings:
            for number in finding.numbers:
                named[number] = named.get(number, ()) + finding.rules
        told: list[bytes] = []
        for line in lines:
            rules = named.get(line.number)
            if rules is None:
                told.append(line.whole)
            else:
                told += (line.open, self._names(rules), line.tail)
        told[-1] = told[-1][:-1]
        return b"[%b]" % b",".join([at[number].there for number in sorted(at)]), told

    def _share_out(self, answer: CartAnswer, question: CartQuestion, lines: list[_Line]) -> list[bytes]:
        named = _Named(answer.findings)
        told: list[bytes] = []
        seen: set[tuple[str, str | None]] = set()
        shares = shared_out(answer, question, self.catalog)
        for line, want, placed in zip(lines, question.wants, shares, strict=True):
            about = (want.parts[0], want.place)
            told += (
                line.head,
                self._placed(placed),
                b',"again":true,"rules":' if about in seen else b',"again":false,"rules":',
                self._names(named.about(pieces_of(want, self.catalog), want.place)),
                line.tail,
            )
            seen.add(about)
        told[-1] = told[-1][:-1]
        return told

    def _kept_line(self, name: str, place: str | None) -> _Line:
        part = self.catalog.parts[name]
        days = max(self.catalog.parts[x].lead_days for x in (part.id, *part.members))
        placed = None if place is None or part.members else Placement(name, place)
        head = b'{"part":%b,"name":%b,"asked_for":%b,"placed":' % (
            to_json(part.id),
            to_json(part.name),
            to_json(place),
        )
        tail = b',"colour":%b,"lead_days":%d},' % (to_json(part.colour), days)
        there = b"" if placed is None else self._one(placed)
        opening = b'%b[%b],"again":false,"rules":' % (head, there)
        line = _Line(
            number=PLACELESS if placed is None else self._number(placed),
            head=head,
            there=there,
            open=opening,
            tail=tail,
            whole=b"%b[]%b" % (opening, tail),
        )
        return self._lines.put((name, place), line)

    def _names(self, rules: tuple[str, ...]) -> bytes:
        """Name rules in the order of the findings, each once."""
        return self._rules.get(rules) or self._rules.put(rules, to_json(list(dict.fromkeys(rules))))

    def _placed(self, placements: Iterable[Placement]) -> bytes:
        return b"[%b]" % b",".join(map(self._one, sorted(placements, key=_BY_PLACE)))

    def _one(self, placed: Placement) -> bytes:
        told = self._placements.get(placed)
        if told is None:
            told = self._placements[placed] = _dumped(PlacementTold.from_domain(placed, self.catalog))
        return told

    def _line(self, line: Line) -> bytes:
        return self._money.get(line) or self._money.put(
            line, _dumped(LineTold.from_domain(line, self.catalog))
        )

    def _findings_of(self, findings: tuple[Finding, ...]) -> list[_Told]:
        kept = self._findings
        try:
            return [kept[id(x)] for x in findings]
        except KeyError:
            return [kept.get(id(x)) or self._kept_finding(x) for x in findings]

    def _kept_finding(self, finding: Finding) -> _Told:
        written = self._encoded(finding)
        shared = self._written.get(written) or self._written.put(written, written)
        numbers = tuple([self._number(x) for x in finding.present])
        told = _Told(finding, shared, (finding.rule,), numbers)
        return self._findings.put(id(finding), told)

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


class _Named:
    """The rules that the findings of an answer name, by the parts that have a part in them."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self._numbers: dict[Placement, list[int]] = {}
        self._rules = [x.rule for x in findings]
        numbers = self._numbers
        for number, finding in enumerate(findings):
            for placed in finding.present:
                if placed in numbers:
                    numbers[placed].append(number)
                else:
                    numbers[placed] = [number]

    def about(self, pieces: tuple[str, ...], place: str | None) -> tuple[str, ...]:
        """Name those about some parts, at a place or anywhere."""
        found = {
            number
            for placed, numbers in self._numbers.items()
            if placed.part in pieces and place in (None, placed.place)
            for number in numbers
        }
        return tuple([self._rules[x] for x in sorted(found)])


def _dumped(model: Told) -> bytes:
    return model.model_dump_json().encode()
