"""Why a part does or does not fit a bike: every finding with its rule, its facts, and where each was written."""

from __future__ import annotations

from collections.abc import Iterator

from rules.answer import FitAnswer
from rules.catalog.catalog import Bike, Catalog
from rules.explain import cure, sentence
from rules.question import FitQuestion
from rules.verdict import Cause, Finding
from service.serving import Serving
from service.terminal.explain_fact import shown
from service.terminal.output import source_words


def verdict_lines(serving: Serving, question: FitQuestion) -> tuple[str, ...]:
    """Ask a fit question, and tell the answer with all that it rests on."""
    answer = serving.fit(question)
    return tuple(_lines(answer, serving.catalog))


def _lines(answer: FitAnswer, catalog: Catalog) -> Iterator[str]:
    where = f" at {answer.place}" if answer.place else ""
    yield f"{answer.verdict.value}{where}"
    if answer.ask:
        yield f"ask first: {answer.ask}"
    bike = catalog.bikes.get(answer.bike)
    for finding in (*answer.findings, *answer.advice):
        yield from _finding(finding, catalog, bike)
    for cause in answer.missing:
        yield f"missing: {_cause(cause, catalog, bike)}"
    yield from _placed("needs besides", (str(placed) for placed in answer.extras))
    yield from _placed("takes the place of", (str(placed) for placed in answer.displaced))
    yield from _placed("preset", (f"{made.service} for {made.amplifier}" for made in answer.presets))


def _finding(finding: Finding, catalog: Catalog, bike: Bike | None) -> Iterator[str]:
    yield f"{finding.status.value}: {sentence(finding, catalog)}"
    yield f"  {_rule(finding.rule, catalog)}"
    yield from (f"  {_cause(cause, catalog, bike)}" for cause in finding.causes)
    if finding.calculation:
        sums = finding.calculation
        inputs = ", ".join(f"{entry.name} {entry.value:g}" for entry in sums.inputs)
        yield f"  {sums.equation}: {inputs}; gives {sums.result:g}, limit {sums.limit:g} {sums.unit}"
    remedy = cure(finding, catalog)
    if remedy:
        yield f"  what would change it: {remedy}"


def _rule(name: str, catalog: Catalog) -> str:
    rule = catalog.rules.get(name)
    if rule is None:
        return f"{name}: a check that always applies, see docs/definitions.md"
    position = catalog.positions.get(f"rule:{name}")
    where = f" at {position.file}:{position.line}" if position else ""
    return f"rule {name}, {rule.kind}{where}"


def _cause(cause: Cause, catalog: Catalog, bike: Bike | None) -> str:
    value = "not known" if cause.is_missing else shown(cause.value)
    source = f" ({source_words(cause.source)})" if cause.source else ""
    return f"{cause.fact} of {cause.of}: {value}{source}{_where(cause, catalog, bike)}"


def _where(cause: Cause, catalog: Catalog, bike: Bike | None) -> str:
    """Give where a fact was written: a bike's own at its value, a part's where the part begins."""
    origins = bike.origins if bike else {}
    scope, _, name = cause.fact.partition(".")
    paths = (cause.fact, f"places.{cause.of}.geometry.{name}", f"facts.{name}")
    found = next((origins[path] for path in paths if path in origins), None)
    if found is not None and scope != "part":
        return f" at {found.file}:{found.line}"
    position = catalog.positions.get(f"part:{cause.of}")
    return f" at {position.file}:{position.line}" if position else ""


def _placed(what: str, words: Iterator[str]) -> Iterator[str]:
    listed = ", ".join(words)
    if listed:
        yield f"{what}: {listed}"
