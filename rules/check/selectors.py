"""Selectors and conditions: what they name must exist, and something must match them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rules.catalog.condition import All, AnyOf, Comparison, Condition, Fitted, Not, Selector
from rules.catalog.part import Part
from rules.check.context import BIKE_WORDS, PART_WORDS, Context
from rules.check.ids import (
    UNKNOWN_FACT,
    UNKNOWN_LINE,
    UNKNOWN_PART,
    UNKNOWN_PLACE,
    UNKNOWN_SLOT,
    UNKNOWN_TAG,
)
from rules.diagnostics import Code, quote
from rules.draft import Written
from rules.yaml_nodes import Step

SELECTS_NOTHING = Code(
    name="selects-nothing",
    about="A selector that no part of the catalog matches, although each of its words exists.",
    why="the rule would never apply",
    hint="take out the word that does not go with the others",
    example="subject: {kind: harness, tag: pod}",
)

CODES = (SELECTS_NOTHING,)

Path = tuple[Step, ...]


def check_selector(
    context: Context, written: Written[object], path: Path, selector: Selector, who: str
) -> None:
    """Report a selector's unknown words, or that no part matches all of them."""
    are_known = all(list(_check_words(context, written, path, selector, who)))
    if not are_known or not context.is_whole("parts", "places"):
        return
    if not any(_matches(context, selector, part) for part in _candidates(context, selector)):
        message = f"no part in the catalog is what {who} selects here"
        context.report(SELECTS_NOTHING, written.key_at(*path), message)


def _check_words(
    context: Context, written: Written[object], path: Path, selector: Selector, who: str
) -> Iterator[bool]:
    for index, part in enumerate(selector.part):
        yield context.name(UNKNOWN_PART, "part", part, written.where(*path, "part", index), who)
    for index, place in enumerate(selector.at):
        yield context.name(UNKNOWN_PLACE, "place", place, written.where(*path, "at", index), who)
    if selector.line is not None:
        yield context.name(UNKNOWN_LINE, "part line", selector.line, written.where(*path, "line"), who)
    if selector.tag is not None and context.is_whole("parts"):
        yield context.word(UNKNOWN_TAG, "tag", selector.tag, context.tags, written.where(*path, "tag"), who)
    if selector.slot is not None and context.is_whole("places"):
        yield context.word(
            UNKNOWN_SLOT, "slot", selector.slot, context.slots, written.where(*path, "slot"), who
        )


def _candidates(context: Context, selector: Selector) -> Iterable[Part]:
    """Give the parts that are worth a look: those named, where some are named."""
    if not selector.part:
        return context.parts.values()
    return (context.parts[name] for name in selector.part if name in context.parts)


def _matches(context: Context, selector: Selector, part: Part) -> bool:
    return (
        (not selector.part or part.id in selector.part)
        and selector.kind in (None, part.kind)
        and selector.line in (None, context.lines[part.id])
        and (selector.tag is None or selector.tag in part.tags)
        and selector.slot in (None, part.slot)
        and (not selector.at or any(context.can_go(part, place) for place in selector.at))
    )


def check_condition(
    context: Context, written: Written[object], path: Path, condition: Condition, who: str
) -> None:
    """Report facts that nobody records, and selectors that do not do."""
    for leaf, at in _leaves(condition, path):
        if isinstance(leaf, Fitted):
            check_selector(context, written, (*at, "fitted"), leaf.fitted, who)
        else:
            owner, _, name = leaf.fact.partition(".")
            check_fact(context, written, (*at, "fact"), owner, name, who)


def _leaves(condition: Condition, path: Path) -> Iterator[tuple[Comparison | Fitted, Path]]:
    match condition:
        case All():
            for index, member in enumerate(condition.all):
                yield from _leaves(member, (*path, "all", index))
        case AnyOf():
            for index, member in enumerate(condition.any):
                yield from _leaves(member, (*path, "any", index))
        case Not():
            yield from _leaves(condition.not_, (*path, "not"))
        case _:
            yield condition, path


def check_fact(
    context: Context, written: Written[object], path: Path, owner: str, name: str, who: str
) -> None:
    """Report a fact that no bike, place or part records.

    Args:
        owner: Whose fact it is: `bike`, `place` or `part`.
    """
    if not context.is_whole("bikes", "parts", "rules"):
        return
    known = {
        "bike": context.facts | BIKE_WORDS,
        "place": context.geometry,
        "part": context.specs | PART_WORDS,
    }
    if name not in known[owner]:
        words = sorted(known[owner])
        context.word(UNKNOWN_FACT, f"{owner} fact", name, words, written.at(*path), who)


def shown(rule_id: str) -> str:
    """A rule as messages name it."""
    return f"rule {quote(rule_id)}"
