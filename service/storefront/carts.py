"""Answers to carts put together as bytes; the models of `service.shapes.carts` define them, and a test keeps the two equal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pydantic_core import to_json

from rules.abouts import About
from rules.answer import CartAnswer, Change, Feed, Judgement
from rules.build import Placement
from rules.cart import SureCart, pieces_of, shared_out, told_apart
from rules.cart_from_pieces import Refused
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

_NO_RULES = b'],"rules":[]},'
"""The end of a line that has no part in what is found on several."""


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
            shared, lines = self._told_surely(answer, cart)
        else:
            judged = answer
            shared, lines = self._told_any(answer, cart)
        before, after = self._refused if judged is REFUSED else (self._before(judged), self._after(judged))
        about = b'%b,"bike":%b,"on":"%b","fitter":"%b",%b"cart":[' % (
            release,
            to_json(cart.bike),
            cart.on.isoformat().encode(),
            cart.fitter.encode(),
            currency,
        )
        # After each line comes a comma, but after the last.
        lines[-1] = lines[-1][:-1]
        # In one go: most answers are long, and each further copy of one takes its time.
        return b"".join((before, *_listed(shared), after, about, *lines, b'],"later":null}'))

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

    def _told_surely(self, answer: SureCart, cart: CartLines) -> tuple[list[bytes], list[bytes]]:
        """Write what is found on several lines, and the lines, each of which goes to a place of its own."""
        refused, asked = answer.refused or self._refused_for(answer), answer.asked
        at = {x.order: number for number, x in enumerate(asked)}
        shared, own, rules = self._sorted(refused, asked, at)
        lines = [_NO_RULES] * (3 * len(asked))
        lines[::3] = [
            x.told or self._there_surely(x, y.placed) for x, y in zip(cart.lines, asked, strict=True)
        ]
        lines[1::3] = self._left_aside(asked, refused)
        for order, told in own.items():
            if order in at:
                lines[3 * at[order] + 1] = b",".join(told)
        for order, named in rules.items():
            if order in at:
                lines[3 * at[order] + 2] = self._rules.get(named) or self._names(named)
        return shared, lines

    def _left_aside(self, asked: Iterable[About], refused: Refused) -> list[bytes]:
        """Write what is left aside of each line."""
        if refused.is_need:
            return [b",".join(self._alone(x, refused)) for x in asked]
        for x in asked:
            if x.told is None:
                x.told = self._near(b",".join(self._alone(x, refused)))
        return [x.told or b"" for x in asked]

    def _sorted(
        self, refused: Refused, asked: Sequence[About], at: dict[int, int]
    ) -> tuple[list[bytes], dict[int, list[bytes]], dict[int, tuple[str, ...]]]:
        """Write what is found on several lines, or none, and what on one, by its order; and name the rules of the former.

        A line on which nothing is found but what is left aside has no list.
        """
        shared, own = list[bytes](), {x.order: list[bytes]() for x in refused.apart}
        rules: dict[int, tuple[str, ...]] = {}
        for passage in refused.passages:
            named = passage.named
            if len(named) == 1 and named[0] in at:
                order = named[0]
                mine = own.get(order)
                if mine is None:
                    mine = own[order] = self._alone(asked[at[order]], refused)
                mine.append(passage.reason or self._reason_of(passage))
            else:
                shared.append(passage.text or self._text(passage))
                for order in named:
                    rules[order] = rules[order] + passage.rules if order in rules else passage.rules
        return shared, own, rules

    def _alone(self, about: About, refused: Refused) -> list[bytes]:
        """Write what is left aside of a line."""
        return self._reasons_of(about.alone.needs if refused.is_need else about.alone.limits)

    def _refused_for(self, answer: SureCart) -> Refused:
        """Give what is found where that is no plain refusal."""
        return Refused(self._passages(answer.judged.findings), apart=list(answer.asked), is_need=False)

    def _told_any(self, answer: CartAnswer, cart: CartLines) -> tuple[list[bytes], list[bytes]]:
        """Write the same where some lines may go to several places, or have the same place in mind."""
        question = cart.question
        shares = shared_out(answer, question, self.catalog)
        own, shared = told_apart(answer.findings, shares)
        named = _Named(shared)
        lines: list[bytes] = []
        seen: set[CartLine] = set()
        for asked, want, placed in zip(cart.lines, question.wants, shares, strict=True):
            head, tail = self._ends(asked)
            again = b"true" if asked in seen else b"false"
            found = self._passages([y for x in placed for y in own.get(x, ())])
            rules = named.about(pieces_of(want, self.catalog), want.place)
            lines += (
                b'%b%b,"again":%b%b' % (head, self._placed(placed), again, tail),
                b",".join(self._reasons_of(found)),
                self._names(rules) if rules else _NO_RULES,
            )
            seen.add(asked)
        return self._texts_of(self._passages(shared)), lines

    def _ends(self, asked: CartLine) -> tuple[bytes, bytes]:
        """Write what is told of a line in every cart up to what is found on it: before and after where it goes."""
        if not asked.ends[0]:
            part = self.catalog.parts[asked.part]
            days = max(self.catalog.parts[x].lead_days for x in (part.id, *part.members))
            asked.ends = (
                b'{"part":%b,"name":%b,"asked_for":%b,"placed":'
                % (to_json(part.id), to_json(part.name), to_json(asked.place)),
                self._near(b',"colour":%b,"lead_days":%d,"findings":[' % (to_json(part.colour), days)),
            )
        return asked.ends

    def _there_surely(self, asked: CartLine, placed: Placement) -> bytes:
        """Write the same of a line that goes to a place of its own; that stays so only where it names the place."""
        head, tail = self._ends(asked)
        told = b'%b[%b],"again":false%b' % (head, self._there(placed), tail)
        if asked.place is not None:
            asked.told = told
        return told

    def _names(self, rules: tuple[str, ...]) -> bytes:
        """End a line with rules in the order of the findings, each once, and a comma."""
        return self._rules.get(rules) or self._rules.put(
            rules, b'],"rules":%b},' % to_json(list(dict.fromkeys(rules)))
        )

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
        passage.text = self._near(b",".join(map(self._found, passage.findings)))
        return passage.text

    def _reasons_of(self, passages: Iterable[Passage]) -> list[bytes]:
        return [x.reason or self._reason_of(x) for x in passages]

    def _reason_of(self, passage: Passage) -> bytes:
        passage.reason = self._near(b",".join([b"%b}" % self._reason(x) for x in passage.findings]))
        return passage.reason

    def _near(self, text: bytes) -> bytes:
        return self._shared.get(text) or self._shared.put(text, text)

    def _found(self, finding: Finding) -> bytes:
        """Write a finding, as `FindingTold` has it."""
        return b'%b,"present":%b}' % (self._reason(finding), self._placed(finding.present))

    def _reason(self, finding: Finding) -> bytes:
        """Write a finding, as `BareFindingTold` has it, up to its last brace."""
        worked, causes = finding.calculation, finding.causes
        return b'{"rule":%b,"status":"%b","sentence":%b,"causes":[%b],"calculation":%b,"cure":%b' % (
            to_json(finding.rule),
            finding.status.encode(),
            to_json(sentence(finding, self.catalog)),
            b",".join(map(self._cause, causes)),
            b"null" if worked is None else _dumped(CalculationTold.from_domain(worked, causes)),
            to_json(cure(finding, self.catalog)),
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
