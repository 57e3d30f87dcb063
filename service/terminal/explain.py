"""`loomway explain`: what a word means, where a bike's fact comes from, or what a verdict rests on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import date
from typing import get_args

from rules.catalog.case import CarryOverCase, FitCase
from rules.catalog.catalog import Catalog
from rules.catalog.part import Kind
from rules.catalog.rule import MeasuredException, Rule, RuleEntry
from rules.check.cases import BUILT_IN
from rules.nearest import nearest
from rules.question import FitQuestion
from rules.registry import CODES
from rules.verdict import Verdict
from service.authoring.csv_table import CODES as TABLE_CODES
from service.authoring.emit import flow
from service.authoring.filler import as_written
from service.problems import KINDS
from service.serving import Serving
from service.terminal.explain_fact import fact_lines, shown, value_at
from service.terminal.explain_verdict import verdict_lines
from service.terminal.mistakes import WrongCommand
from service.terminal.output import say, say_json, source_words

VERDICTS = {
    Verdict.FITS: "The part can be fitted as asked, and needs nothing else, not even a preset.",
    Verdict.FITS_WITH: "The part can be fitted with extras or presets; the cheapest are listed.",
    Verdict.NOT_VERIFIED: "A fact is missing that decides. The answer names it and says how to measure it.",
    Verdict.DOES_NOT_FIT: "No extras make it fit. The answer has every reason.",
}
LISTS: dict[str, Callable[[Catalog], list[str]]] = {
    "bikes": lambda catalog: sorted(catalog.bikes),
    "families": lambda catalog: sorted({bike.family for bike in catalog.bikes.values()}),
    "kinds": lambda _: [
        *(f"rule: {kind}" for kind in _kinds()),
        *(f"part: {kind}" for kind in get_args(Kind)),
    ],
    "lines": lambda catalog: sorted(set(catalog.lines.values())),
    "parts": lambda catalog: sorted(catalog.parts),
    "places": lambda catalog: sorted(catalog.places),
    "prices": lambda catalog: [one.price_list for one in catalog.price_lists],
    "rules": lambda catalog: sorted(catalog.rules),
}
"""Words that list everything of a kind."""

_ALL_CODES = {**CODES, **{code.name: code for code in TABLE_CODES}}


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """What a word means, in a few lines."""

    what: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WordAsked:
    """A word, and, for a bike or part, which fact of it or, for a bike, which part on it."""

    word: str
    more: str | None
    place: str | None
    on: date


def explain_word(serving: Serving, asked: WordAsked, *, as_json: bool) -> None:
    """Tell every meaning of a word, in lines or in JSON.

    Raises:
        WrongCommand: Nothing has this name; with the nearest word.
    """
    meanings = _meanings(serving, asked)
    if not meanings:
        near = nearest(asked.word, _known(serving.catalog))
        more = f"did you mean {near}?" if near else f"`loomway explain` with {', '.join(LISTS)} lists ids"
        raise WrongCommand(f"nothing here has this name; {more}")
    if as_json:
        say_json({"word": asked.word, "meanings": [asdict(meaning) for meaning in meanings]})
    for meaning in meanings if not as_json else ():
        say(f"{asked.word}: {meaning.what}", *(f"  {line}" for line in meaning.lines))


def _known(catalog: Catalog) -> set[str]:
    words = {*VERDICTS, *_kinds(), *_ALL_CODES, *_problems(), *LISTS, *BUILT_IN, *catalog.places}
    return words | {*catalog.rules, *catalog.parts, *catalog.bikes, *catalog.ambiguous}


def _meanings(serving: Serving, asked: WordAsked) -> list[Meaning]:
    catalog, word, more = serving.catalog, asked.word, asked.more
    if (word in catalog.bikes or word in catalog.ambiguous) and more in catalog.parts:
        question = FitQuestion(bike=word, part=str(more), place=asked.place, on=asked.on)
        return [Meaning(what=f"with {more} on {asked.on}", lines=verdict_lines(serving, question))]
    if word in catalog.bikes:
        return [_bike(catalog, word, more)]
    if word in catalog.ambiguous and more is not None:
        return [_bike(catalog, side, more) for side in catalog.ambiguous[word].sides]
    if word in catalog.parts and more is not None:
        return [_part_fact(catalog, word, more)]
    found = [explain(catalog, word) for explain in _EXPLAINERS]
    return [meaning for meaning in found if meaning]


def _list(catalog: Catalog, word: str) -> Meaning | None:
    if word not in LISTS:
        return None
    return Meaning(what="all that this catalog has", lines=tuple(LISTS[word](catalog)))


def _verdict(_: Catalog, word: str) -> Meaning | None:
    if word not in VERDICTS:
        return None
    return Meaning(what="a verdict", lines=(VERDICTS[Verdict(word)],))


def _rule(catalog: Catalog, word: str) -> Meaning | None:
    rule = catalog.rules.get(word)
    if rule is None:
        return None
    source = source_words(rule.source) if rule.source else "common practice"
    lines = (
        rule.says,
        *(f"{key}: {flow(value)}" for key, value in as_written(rule).items() if key not in _TOLD),
        f"source: {source}",
        f"written at {_position(catalog, f'rule:{word}')}",
        *_exceptions(catalog, word),
        *_cases(catalog, rule),
    )
    return Meaning(what=f"a rule about {catalog.topics[word]}", lines=lines)


_TOLD = ("id", "says", "source")


def _exceptions(catalog: Catalog, overridden: str) -> list[str]:
    return [
        f"overridden by {rule.id} at {_position(catalog, f'rule:{rule.id}')}"
        for rule in catalog.rules.values()
        if isinstance(rule, MeasuredException) and rule.overrides == overridden
    ]


def _cases(catalog: Catalog, rule: Rule) -> list[str]:
    named = [
        case.name
        for case in catalog.cases
        if rule.id in (getattr(case, "rules", None) or ())
        or (isinstance(case, FitCase) and rule.id in (case.advice or ()))
    ]
    return [f"case: {name}" for name in named]


def _kinds() -> dict[str, type[RuleEntry]]:
    return {get_args(kind.model_fields["kind"].annotation)[0]: kind for kind in RuleEntry.__subclasses__()}


def _kind(catalog: Catalog, word: str) -> Meaning | None:
    kind = _kinds().get(word)
    if kind is None:
        return None
    written = sorted(name for name, rule in catalog.rules.items() if rule.kind == word)
    text = " ".join((kind.__doc__ or "").split())
    return Meaning(what="a kind of rule", lines=(text, f"rules of this kind: {', '.join(written) or 'none'}"))


def _built_in(_: Catalog, word: str) -> Meaning | None:
    if word not in BUILT_IN:
        return None
    line = "It comes from no rule of the catalog: docs/definitions.md says when it refuses."
    return Meaning(what="a check that always applies", lines=(line,))


def _code(_: Catalog, word: str) -> Meaning | None:
    code = _ALL_CODES.get(word)
    if code is None:
        return None
    lines = (code.about, f"why: {code.why}", f"hint: {code.hint}", *("example:", *code.example.splitlines()))
    return Meaning(what=f"a fault of a catalog ({code.severity})", lines=lines)


def _problems() -> dict[str, tuple[str, ...]]:
    return {kind.code: (f"{kind.title}.", kind.detail, kind.cure) for kind in KINDS}


def _problem(_: Catalog, word: str) -> Meaning | None:
    lines = _problems().get(word)
    return Meaning(what="a problem that the API answers with", lines=lines) if lines else None


def _place(catalog: Catalog, word: str) -> Meaning | None:
    place = catalog.places.get(word)
    if place is None:
        return None
    slots = ", ".join(f"{slot} {most}" for slot, most in place.slots.items())
    pair = "left and right" if place.pair else "one"
    return Meaning(what="a place", lines=(place.name, pair, f"slots: {slots}"))


def _part(catalog: Catalog, word: str) -> Meaning | None:
    part = catalog.parts.get(word)
    if part is None:
        return None
    lines = (
        part.name,
        f"{part.kind.replace('_', ' ')} by {catalog.makers[word]}, line {catalog.lines[word]}",
        f"source: {source_words(part.source)}",
        f"written at {_position(catalog, f'part:{word}')}",
    )
    return Meaning(what="a part", lines=lines)


def _part_fact(catalog: Catalog, word: str, path: str) -> Meaning:
    part = catalog.parts[word]
    try:
        value = value_at(part.model_dump(), path)
    except KeyError as error:
        more = f"`loomway export parts {catalog.lines[word]} --catalog DIR` prints them"
        raise WrongCommand(f"this part has no such fact; {more}") from error
    lines = (
        f"{path}: {shown(value)}",
        f"source: {source_words(part.source)}",
        f"written at {_position(catalog, f'part:{word}')}",
    )
    return Meaning(what="a part", lines=lines)


def _ambiguous(catalog: Catalog, word: str) -> Meaning | None:
    name = catalog.ambiguous.get(word)
    return Meaning(what="a name of several bikes", lines=(name.ask, *name.sides)) if name else None


def _bike(catalog: Catalog, word: str, fact: str | None) -> Meaning:
    bike = catalog.bikes[word]
    what = f"{bike.maker} {bike.name}, model year {bike.year}"
    return Meaning(what=what, lines=fact_lines(catalog, bike, fact))


def _case(catalog: Catalog, word: str) -> Meaning | None:
    case = next((case for case in (*catalog.cases, *catalog.drafts) if case.name == word), None)
    if case is None:
        return None
    expects = "carries" if isinstance(case, CarryOverCase) else "verdict or outcome and money"
    lines = (f"kind: {case.kind}, expects {expects}", f"written at {_position(catalog, f'case:{word}')}")
    return Meaning(what="a draft of a case" if case.is_draft else "a case", lines=lines)


def _position(catalog: Catalog, key: str) -> str:
    position = catalog.positions.get(key)
    return f"{position.file}:{position.line}" if position else "an unknown place"


_EXPLAINERS = (
    _list,
    _verdict,
    _rule,
    _kind,
    _built_in,
    _code,
    _problem,
    _part,
    _place,
    _ambiguous,
    _case,
)
