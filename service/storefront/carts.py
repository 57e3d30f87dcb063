"""Answers to carts put together as bytes; the models of `service.shapes.carts` define them, and a test keeps the two equal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import repeat

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
from rules.question import CartLines, Fitter
from rules.ranks import Ranks
from rules.verdict import Cause, Finding
from service.shapes.base import Told
from service.shapes.finding import CalculationTold, CauseTold
from service.shapes.placement import PlacementTold
from service.shapes.work import LineTold, PresetTold, changes_told, feeds_told
from service.storefront.encoded import Encoded

_LAST = repeat(-1)
"""For whatever is in no list of lines."""


class CartWriter:
    """Writes answers to carts of one release."""

    def __init__(self, catalog: Catalog, ranks: Ranks) -> None:
        self.catalog = catalog
        self.ranks = ranks
        self._abouts: Encoded[tuple[bytes, str, date, Fitter, bytes], bytes] = Encoded()
        self._places: Encoded[Placement, bytes] = Encoded()
        # Of lines, by their number: what is told up to what is found, before and after where it goes.
        self._ends: Encoded[int, tuple[bytes, bytes]] = Encoded()
        self._anywhere: Encoded[tuple[int, About], tuple[bytes, bytes]] = Encoded()
        self._tails: Encoded[tuple[str, ...], bytes] = Encoded()
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
        about = self._abouts.of((release, cart.bike, cart.on, cart.fitter, currency), _about)
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
        refused, asked = answer.refused, answer.asked
        if refused is None:
            shared, own, rules = self._sorted(self._passages(answer.judged.findings), answer.at)
        else:
            shared, own, rules = self._sorted(refused.passages, answer.at)
            self._put_aside(own, refused, answer)
        lines = [b""] * (2 * len(asked))
        lines[::2] = self._begun(cart, asked, limited=refused is not None and not refused.is_need)
        lines[1::2] = self._tails.all(rules, self._tail)
        for number, told in own.items():
            lines[2 * number] = self._beginnings(cart.numbers[number], asked[number])[1] + b",".join(told)
        return shared, lines

    def _sorted(
        self, passages: Iterable[Passage], at: Mapping[int, int]
    ) -> tuple[list[bytes], dict[int, list[bytes]], list[tuple[str, ...]]]:
        """Write what is found on several lines, or none, and what on one, by its number; of the former, name by line the rules."""
        shared, own = list[bytes](), dict[int, list[bytes]]()
        # What is there already is no line: the last stands for all of that.
        rules: list[tuple[str, ...]] = [()] * (len(at) + 1)
        for passage in passages:
            named = passage.named
            if len(named) == 1 and named[0] in at:
                number = at[named[0]]
                if number not in own:
                    own[number] = []
                own[number].append(passage.reason or self._reason_of(passage))
            else:
                shared.append(passage.text or self._text(passage))
                more = passage.rules
                for number in map(at.get, named, _LAST):
                    rules[number] += more
        rules.pop()
        return shared, own, rules

    def _put_aside(self, own: dict[int, list[bytes]], refused: Refused, answer: SureCart) -> None:
        """Put what was left aside of lines before what else is found on them alone.

        Where limits are told, a line on which nothing else is found begins with those left aside: then it is not in `own`.
        """
        asked, at = answer.asked, answer.at
        apart = {at[x.order] for x in refused.apart if x.order in at}
        for number in range(len(asked)) if refused.is_need else [*own]:
            if number not in apart:
                alone = asked[number].alone
                aside = self._reasons_of(alone.needs if refused.is_need else alone.limits)
                own[number] = aside + own.get(number, [])
        for number in apart:
            own.setdefault(number, [])

    def _begun(self, cart: CartLines, asked: Sequence[About], *, limited: bool) -> list[bytes]:
        """Write how lines begin to be told, with the limits found on each alone or with nothing found."""
        begun = [x.limited for x in asked] if limited else [x.plain for x in asked]
        if all(begun) and self.ranks.anywhere.isdisjoint(cart.numbers):
            return begun
        both = map(self._beginnings, cart.numbers, asked)
        return [with_limits if limited else plain for with_limits, plain in both]

    def _beginnings(self, number: int, about: About) -> tuple[bytes, bytes]:
        """Write how a line begins to be told, with the limits found on it alone and with nothing found, once."""
        if number in self.ranks.anywhere:
            return self._anywhere.of((number, about), self._begin)
        if not about.plain:
            about.limited, about.plain = self._begin((number, about))
        return about.limited, about.plain

    def _begin(self, line: tuple[int, About]) -> tuple[bytes, bytes]:
        number, about = line
        head, tail = self._ends.of(number, self._end)
        plain = b'%b[%b],"again":false%b' % (head, self._there(about.placed), tail)
        limits = b",".join(self._reasons_of(about.alone.limits))
        return self._near(plain + limits), self._near(plain)

    def _told_any(self, answer: CartAnswer, cart: CartLines) -> tuple[list[bytes], list[bytes]]:
        """Write the same where some lines may go to several places, or have the same place in mind."""
        question = cart.question
        shares = shared_out(answer, question, self.catalog)
        own, shared = told_apart(answer.findings, shares)
        named = _Named(shared)
        lines: list[bytes] = []
        seen: set[int] = set()
        for number, want, placed in zip(cart.numbers, question.wants, shares, strict=True):
            head, tail = self._ends.of(number, self._end)
            again = b"true" if number in seen else b"false"
            found = self._passages([y for x in placed for y in own.get(x, ())])
            rules = named.about(pieces_of(want, self.catalog), want.place)
            lines += (
                b'%b%b,"again":%b%b' % (head, self._placed(placed), again, tail),
                b",".join(self._reasons_of(found)),
                self._tails.of(rules, self._tail),
            )
            seen.add(number)
        return self._texts_of(self._passages(shared)), lines

    def _end(self, number: int) -> tuple[bytes, bytes]:
        asked = self.ranks.lines[number]
        part = self.catalog.parts[asked.part]
        days = max(self.catalog.parts[x].lead_days for x in (part.id, *part.members))
        return (
            b'{"part":%b,"name":%b,"asked_for":%b,"placed":'
            % (to_json(part.id), to_json(part.name), to_json(asked.place)),
            self._near(b',"colour":%b,"lead_days":%d,"findings":[' % (to_json(part.colour), days)),
        )

    def _tail(self, rules: tuple[str, ...]) -> bytes:
        """End a line with the rules of what is found on several, in the order of the findings, each once, and a comma."""
        return b'],"rules":%b},' % to_json(list(dict.fromkeys(rules)))

    def _placed(self, placements: Iterable[Placement]) -> bytes:
        return b"[%b]" % b",".join(self._places_of(placements))

    def _places_of(self, placements: Iterable[Placement]) -> list[bytes]:
        return [self._there(x) for x in sorted(placements, key=self.ranks.by_place)]

    def _there(self, placed: Placement) -> bytes:
        return self._places.of(placed, lambda x: _dumped(PlacementTold.from_domain(x, self.catalog)))

    def _price(self, line: Line) -> bytes:
        return self._money.of(line, lambda x: _dumped(LineTold.from_domain(x, self.catalog)))

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
        return self._shared.of(text, lambda x: x)

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


def _about(asked: tuple[bytes, str, date, Fitter, bytes]) -> bytes:
    """Write which release was asked, of which bike and day, who fits, and the currency."""
    release, bike, on, fitter, currency = asked
    return b'%b,"bike":%b,"on":"%b","fitter":"%b",%b"cart":[' % (
        release,
        to_json(bike),
        on.isoformat().encode(),
        fitter.encode(),
        currency,
    )


def _listed(texts: list[bytes]) -> list[bytes]:
    """Put a comma between texts."""
    listed = [b","] * (2 * len(texts) - 1)
    listed[::2] = texts
    return listed


def _dumped(model: Told) -> bytes:
    return model.model_dump_json().encode()
