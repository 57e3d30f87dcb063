"""`loomway explain`: what a word means, or where a bike's fact comes from."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import get_args

from rules.catalog.catalog import Bike, Catalog
from rules.catalog.rule import RuleEntry
from rules.nearest import nearest
from rules.registry import CODES
from rules.verdict import Verdict
from service.problems import KINDS
from service.terminal.mistakes import WrongCommand
from service.terminal.output import say, say_json, source_words

VERDICTS = {
    Verdict.FITS: "The part can be fitted as asked, and needs nothing else, not even a preset.",
    Verdict.FITS_WITH: "The part can be fitted with extras or presets; the cheapest are listed.",
    Verdict.NOT_VERIFIED: "A fact is missing that decides. The answer names it and says how to measure it.",
    Verdict.DOES_NOT_FIT: "No extras make it fit. The answer has every reason.",
}
LISTS = ("bikes", "parts", "places", "rules")


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """What a word means, in a few lines."""

    what: str
    lines: tuple[str, ...]


def explain_word(catalog: Catalog, word: str, fact: str | None, *, as_json: bool) -> None:
    """Tell every meaning of a word, in lines or in JSON.

    Raises:
        WrongCommand: Nothing has this name; with the nearest word.
    """
    meanings = _meanings(catalog, word, fact)
    if not meanings:
        near = nearest(word, _known(catalog))
        more = f"did you mean {near}?" if near else f"`loomway explain` with {', '.join(LISTS)} lists ids"
        raise WrongCommand(f"nothing here has this name; {more}")
    if as_json:
        say_json({"word": word, "meanings": [asdict(meaning) for meaning in meanings]})
    for meaning in meanings if not as_json else ():
        say(f"{word}: {meaning.what}", *(f"  {line}" for line in meaning.lines))


def _known(catalog: Catalog) -> set[str]:
    words = {*VERDICTS, *_kinds(), *CODES, *_problems(), *LISTS}
    return words | {*catalog.rules, *catalog.parts, *catalog.bikes, *catalog.ambiguous}


def _meanings(catalog: Catalog, word: str, fact: str | None) -> list[Meaning]:
    if word in catalog.bikes:
        return [_bike(catalog.bikes[word], fact)]
    found = [
        explain(catalog, word)
        for explain in (_list, _verdict, _rule, _kind, _code, _problem, _part, _ambiguous)
    ]
    return [meaning for meaning in found if meaning]


def _list(catalog: Catalog, word: str) -> Meaning | None:
    if word not in LISTS:
        return None
    return Meaning(what="all that this catalog has", lines=tuple(sorted(getattr(catalog, word))))


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
        f"kind: {rule.kind}",
        f"source: {source}",
        f"written at {_position(catalog, f'rule:{word}')}",
    )
    return Meaning(what=f"a rule about {catalog.topics[word]}", lines=lines)


def _kinds() -> dict[str, type[RuleEntry]]:
    return {get_args(kind.model_fields["kind"].annotation)[0]: kind for kind in RuleEntry.__subclasses__()}


def _kind(catalog: Catalog, word: str) -> Meaning | None:
    kind = _kinds().get(word)
    if kind is None:
        return None
    written = sorted(name for name, rule in catalog.rules.items() if rule.kind == word)
    text = " ".join((kind.__doc__ or "").split())
    return Meaning(what="a kind of rule", lines=(text, f"rules of this kind: {', '.join(written) or 'none'}"))


def _code(_: Catalog, word: str) -> Meaning | None:
    code = CODES.get(word)
    if code is None:
        return None
    lines = (code.about, f"why: {code.why}", f"hint: {code.hint}", *("example:", *code.example.splitlines()))
    return Meaning(what=f"a fault of a catalog ({code.severity})", lines=lines)


def _problems() -> dict[str, tuple[str, ...]]:
    return {kind.code: (f"{kind.title}.", kind.detail, kind.cure) for kind in KINDS}


def _problem(_: Catalog, word: str) -> Meaning | None:
    lines = _problems().get(word)
    return Meaning(what="a problem that the API answers with", lines=lines) if lines else None


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


def _ambiguous(catalog: Catalog, word: str) -> Meaning | None:
    name = catalog.ambiguous.get(word)
    return Meaning(what="a name of several bikes", lines=(name.ask, *name.sides)) if name else None


def _bike(bike: Bike, fact: str | None) -> Meaning:
    paths = sorted(path for path in bike.origins if fact is None or path.startswith(fact))
    if not paths:
        near = nearest(fact or "", bike.origins)
        more = f"did you mean {near}?" if near else f"`loomway explain {bike.id}` lists them"
        raise WrongCommand(f"this bike has no such fact; {more}")
    lines = tuple(_fact_line(bike, path) for path in paths)
    return Meaning(what=f"{bike.maker} {bike.name}, model year {bike.year}", lines=lines)


def _fact_line(bike: Bike, path: str) -> str:
    origin = bike.origins[path]
    value = _value(bike.has.model_dump(), path)
    written = f"model years {origin.years}; {origin.file}:{origin.line}"
    return f"{path}: {value} ({source_words(origin.source)}; {written})"


def _value(tree: object, path: str) -> object:
    """Walk down a dotted path, some of whose keys hold dots themselves (`stock.dash.head_unit`)."""
    if isinstance(tree, dict) and set(tree) == {"unknown"}:
        return f"not known; {tree['unknown']}"
    if not path or not isinstance(tree, dict):
        return tree
    steps = [key for key in tree if path == key or path.startswith(f"{key}.")]
    step = max(steps, key=len)
    return _value(tree[step], path[len(step) + 1 :])


def _position(catalog: Catalog, key: str) -> str:
    position = catalog.positions.get(key)
    return f"{position.file}:{position.line}" if position else "an unknown place"
