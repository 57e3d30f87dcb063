"""Answers to carts put together as bytes; the models of `service.shapes.carts` define them, and a test keeps the two equal."""

from __future__ import annotations

from collections.abc import Iterable

from pydantic_core import to_json

from rules.abouts import BY_PLACE, About
from rules.answer import CartAnswer, Change, Feed, Judgement
from rules.build import Placement
from rules.cart import SureCart, pieces_of, shared_out
from rules.catalog.catalog import Catalog
from rules.explain import cure, sentence
from rules.fitment import REFUSED
from rules.money import Line
from rules.passages import Passage
from rules.question import CartLines
from rules.ranks import CartLine, Ranks
from rules.verdict import Cause, Finding
from service.shapes.base import Told
from service.shapes.finding import CalculationTold, CauseTold
from service.shapes.placement import PlacementTold
from service.shapes.work import LineTold, PresetTold, changes_told, feeds_told
from service.storefront.encoded import Encoded


class CartWriter:
    """Writes answers to carts of one release."""

    def __init__(self, catalog: Catalog, ranks: Ranks) -> None:
        self.catalog = catalog
        self.ranks = ranks
        self._places: Encoded[Placement, bytes] = Encoded()
        self._rules: Encoded[tuple[str, ...], bytes] = Encoded()
        self._causes: Encoded[tuple[object, ...], tuple[Cause, bytes]] = Encoded()
        self._money: Encoded[Line, bytes] = Encoded()
        # By identity: what is kept of a bike is the same object each time. Each is held, so that no other takes its place.
        self._findings: Encoded[int, Passage] = Encoded()
        # Findings on like bikes are told alike, and what many carts have in common is near at hand.
        self._shared: Encoded[bytes, bytes] = Encoded()
        self._wirings: Encoded[int, tuple[tuple[Change, ...] | tuple[Feed, ...], bytes]] = Encoded()
        self._refused = self._before(REFUSED), self._after(REFUSED)

    def told(self, answer: CartAnswer | SureCart, cart: CartLines, release: bytes, currency: bytes) -> bytes:
        """Put an answer together, as `CartTold` has it.

        Args:
            release: Names the release, as `ReleaseNamed` does.
            currency: Names the currency, with a comma.
        """
        if isinstance(answer, SureCart):
            judged: Judgement = answer.judged
            passages = answer.passages or self._passages(judged.findings)
            placed = [x.told or self._place(x) for x in sorted(answer.asked, key=BY_PLACE)]
            lines = self._lines_surely(answer, cart, passages)
        else:
            judged, passages = answer, self._passages(answer.findings)
            placed, lines = self._places_of(answer.placed), self._share_out(answer, cart)
        before, after = self._refused if judged is REFUSED else (self._before(judged), self._after(judged))
        about = b'%b,"bike":%b,"on":"%b","fitter":"%b",%b"placed":[' % (
            release,
            to_json(cart.bike),
            cart.on.isoformat().encode(),
            cart.fitter.encode(),
            currency,
        )
        # After each line comes a comma, but after the last.
        lines[-1] = lines[-1][:-1]
        # In one go: most answers are long, and each further copy of one takes its time.
        return b"".join(
            (
                before,
                *_listed(self._texts_of(passages)),
                after,
                about,
                *_listed(placed),
                b'],"cart":[',
                *lines,
                b'],"later":null}',
            )
        )

    def _before(self, judged: Judgement) -> bytes:
        """Write what comes before the findings."""
        return (
            b'{"verdict":"%b","total_minor":%b,"lines":[%b],"extras":%b,"presets":[%b],"displaced":%b,"findings":['
            % (
                judged.verdict.encode(),
                b"null" if judged.total is None else b"%d" % judged.total,
                b",".join(map(self._price, judged.lines)),
                self._placed(judged.extras),
                b",".join(_dumped(PresetTold.from_domain(x, self.catalog)) for x in judged.presets),
                self._placed(judged.displaced),
            )
        )

    def _after(self, judged: Judgement) -> bytes:
        """Write what comes after them."""
        return b'],"missing":[%b],"ask":%b,"advice":[%b],"changes":[%b],"feeds":[%b],"rewires":%b,' % (
            b",".join(map(self._cause, judged.missing)),
            to_json(judged.ask),
            b",".join(self._texts_of(self._passages(judged.advice))),
            self._changes(judged.changes),
            self._feeds(judged.feeds),
            b"true" if judged.rewires else b"false",
        )

    def _lines_surely(self, answer: SureCart, cart: CartLines, passages: Iterable[Passage]) -> list[bytes]:
        """Write the lines, each with a comma, where each goes to a place of its own."""
        named: dict[int, tuple[str, ...]] = {}
        for passage in passages:
            for number in passage.named:
                named[number] = named.get(number, ()) + passage.rules
        lines: list[bytes] = []
        for asked, about in zip(cart.lines, answer.asked, strict=True):
            head, tail, sure = asked.told or self._line(asked)
            rules = named.get(about.order, ())
            lines += (
                sure or self._sure(head, about.placed),
                self._rules.get(rules) or self._names(rules),
                tail,
            )
        return lines

    def _place(self, about: About) -> bytes:
        about.told = self._there(about.placed)
        return about.told

    def _share_out(self, answer: CartAnswer, cart: CartLines) -> list[bytes]:
        """Write the lines, each with a comma, of which some may go to several places, or have the same place in mind."""
        named, question = _Named(answer.findings), cart.question
        told: list[bytes] = []
        seen: set[CartLine] = set()
        shares = shared_out(answer, question, self.catalog)
        for asked, want, placed in zip(cart.lines, question.wants, shares, strict=True):
            head, tail, _ = asked.told or self._line(asked)
            rules = self._names(named.about(pieces_of(want, self.catalog), want.place))
            again = b"true" if asked in seen else b"false"
            where = self._placed(placed)
            told.append(b'%b%b,"again":%b,"rules":%b%b' % (head, where, again, rules, tail))
            seen.add(asked)
        return told

    def _line(self, asked: CartLine) -> tuple[bytes, ...]:
        """Write what is told of a line in every cart: what was asked for, and what comes after its rules; and up to its rules.

        The last is left out of lines that name no place, or stand for several parts.
        """
        part, place = self.catalog.parts[asked.part], asked.place
        days = max(self.catalog.parts[x].lead_days for x in (part.id, *part.members))
        head = b'{"part":%b,"name":%b,"asked_for":%b,"placed":' % (
            to_json(part.id),
            to_json(part.name),
            to_json(place),
        )
        tail = self._near(b',"colour":%b,"lead_days":%d},' % (to_json(part.colour), days))
        sure = b"" if place is None or part.members else self._sure(head, Placement(part.id, place))
        asked.told = head, tail, sure
        return asked.told

    def _sure(self, head: bytes, placed: Placement) -> bytes:
        return b'%b[%b],"again":false,"rules":' % (head, self._there(placed))

    def _names(self, rules: tuple[str, ...]) -> bytes:
        """Name rules in the order of the findings, each once."""
        return self._rules.get(rules) or self._rules.put(rules, to_json(list(dict.fromkeys(rules))))

    def _placed(self, placements: Iterable[Placement]) -> bytes:
        return b"[%b]" % b",".join(self._places_of(placements))

    def _places_of(self, placements: Iterable[Placement]) -> list[bytes]:
        return [self._there(x) for x in sorted(placements, key=self.ranks.by_place)]

    def _there(self, placed: Placement) -> bytes:
        return self._places.get(placed) or self._places.put(
            placed, _dumped(PlacementTold.from_domain(placed, self.catalog))
        )

    def _price(self, line: Line) -> bytes:
        return self._money.get(line) or self._money.put(
            line, _dumped(LineTold.from_domain(line, self.catalog))
        )

    def _passages(self, findings: Iterable[Finding]) -> list[Passage]:
        kept = self._findings
        return [
            kept.get(id(x)) or kept.put(id(x), Passage((x,), map(self.ranks.by_part, x.present)))
            for x in findings
        ]

    def _texts_of(self, passages: Iterable[Passage]) -> list[bytes]:
        return [x.text or self._text(x) for x in passages]

    def _text(self, passage: Passage) -> bytes:
        passage.text = self._near(b",".join(map(self._encoded, passage.findings)))
        return passage.text

    def _near(self, text: bytes) -> bytes:
        return self._shared.get(text) or self._shared.put(text, text)

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


def _listed(texts: list[bytes]) -> list[bytes]:
    """Put a comma between texts."""
    listed = [b","] * (2 * len(texts) - 1)
    listed[::2] = texts
    return listed


def _dumped(model: Told) -> bytes:
    return model.model_dump_json().encode()
