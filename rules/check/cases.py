"""Cases ask about things that exist, and expect something."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from rules.catalog.case import CarryOverCase, CartCase, Case, FitCase, Found, NextBikeCase, PathCase
from rules.check.context import Context
from rules.check.facts import MISSING_UNIT, is_bare_number
from rules.check.ids import UNKNOWN_BIKE, UNKNOWN_PART, UNKNOWN_PLACE, UNKNOWN_RULE
from rules.check.parts import check_own_parts
from rules.diagnostics import Code, quote
from rules.draft import Written
from rules.shape import BAD_YEARS, OUT_OF_RANGE
from rules.yaml_nodes import Step, find, items

NO_EXPECTATION = Code(
    name="no-expectation",
    about="A case for a path that expects neither a total nor visits.",
    why="it would pass whatever the plan costs",
    hint="add `total` or `visits`",
    example="outcome: path  # and neither total nor visits",
)
VISITS_OUT_OF_ORDER = Code(
    name="visits-out-of-order",
    about="Visits of a case whose dates do not follow one another.",
    why="what is fitted at a visit builds on the visits before",
    hint="sort the visits by date, each on a later day than the one before",
    example="stages: [{date: 2026-05-01}, {date: 2026-04-01}]",
)
DRAFTED_CASE = Code(
    name="drafted-case",
    about="A case that was drafted from an answer, and of which nobody has written why.",
    why="it repeats what the engine says, right or wrong, so it counts for nothing and `loomway cases` fails",
    hint="check the answer, and write in `why` what makes it right; or delete the case",
    example='why: {unknown: "say why this is right"}',
    severity="warning",
)
BAD_MEASURED = Code(
    name="bad-measured",
    about="A measured fact whose name does not begin with `facts.`, `places.` or `loom.`.",
    why="it would replace nothing",
    hint="write the dotted path of the fact, such as `places.rear_pods.geometry.depth_mm`",
    example="measured: {depth_mm: 61.0}",
)

CODES = (NO_EXPECTATION, VISITS_OUT_OF_ORDER, DRAFTED_CASE, BAD_MEASURED)

BUILT_IN = frozenset(
    (
        "slot_taken",
        "carrier_missing",
        "host_missing",
        "unknown_work",
        "plug_without_mate",
        "speaker_not_fed",
        "preset_not_offered",
        "on_hold",
        "no_place_for_it",
    )
)
"""Findings that come from no rule of the catalog: see docs/definitions.md, checks that always apply."""

Path = tuple[Step, ...]
Named = Iterator[tuple[Path, str]]


def check_cases(context: Context) -> None:
    """Report every fault of every case."""
    for case in context.draft.cases:
        _check_names(_with_own_parts(context, case), case)
        _check_found(context, case)
        if case.what.is_draft:
            context.report(DRAFTED_CASE, case.key_at("why"), "nobody has written why this answer is right")
        if isinstance(case.what, PathCase):
            _check_path(context, case, case.what)
        if isinstance(case.what, NextBikeCase):
            _check_visits(context, case, case.what)


def _with_own_parts(context: Context, case: Written[Case]) -> Context:
    """Check the rider's own parts, and give a context that knows them: in this case they are named like any part."""
    own = case.what.found.own_parts if case.what.found else ()
    if not own:
        return context
    listed, _ = find(case.node, ("found", "own_parts"))
    check_own_parts(context, [Written(part, node) for part, node in zip(own, items(listed), strict=True)])
    return context.beside(part.id for part in own)


def _check_names(context: Context, case: Written[Case]) -> None:
    who = "this case"
    for path, bike in _bikes(case.what):
        _check_bike(context, case, path, bike)
    for path, part in _parts(case.what):
        span = case.where_key(*path) if path[0] == "carries" else case.where(*path)
        context.name(UNKNOWN_PART, "part", part, span, who)
    for path, place in _places(case.what):
        context.name(UNKNOWN_PLACE, "place", place, case.where(*path), who)
    for path, rule in _rules(case.what):
        if rule not in BUILT_IN:
            context.name(UNKNOWN_RULE, "rule", rule, case.where(*path), who)


def _check_bike(context: Context, case: Written[Case], path: Path, bike: str) -> None:
    known = [*context.resolution.bikes, *context.resolution.ambiguous]
    if bike not in known and context.is_whole("bikes"):
        message = f"this case names bike {quote(bike)}, which is not in the catalog"
        hint = context.draft.names.suggest_word(bike, known)
        context.report(UNKNOWN_BIKE, case.at(*path), message, hint)


def _bikes(case: Case) -> Named:
    yield ("bike",), case.bike
    if isinstance(case, CarryOverCase | NextBikeCase):
        yield ("next_bike",), case.next_bike


def _parts(case: Case) -> Named:
    match case:
        case FitCase():
            yield ("part",), case.part
            yield from _listed("extras", case.extras)
        case CartCase():
            yield from _listed("parts", case.parts)
            yield from _listed("extras", case.extras)
        case NextBikeCase():
            yield from _wanted_parts(case)
            yield from _listed("takes", case.takes)
            yield from _listed("sells", case.sells)
        case PathCase():
            yield from _wanted_parts(case)
            yield from ((("locked", index, "part"), item.part) for index, item in enumerate(case.locked))
            yield from _listed("excluded", case.excluded)
            yield from _listed("allow_rewiring", case.allow_rewiring)
            yield from _visited(case)
        case CarryOverCase():
            yield from ((("carries", part), part) for part in case.carries)
    yield from _found_parts(case.found)


def _wanted_parts(case: PathCase | NextBikeCase) -> Named:
    return (
        (("wanted", index, "part"), item.part)
        for index, item in enumerate(case.wanted)
        if item.part is not None
    )


def _visited(case: PathCase) -> Named:
    for index, visit in enumerate(case.visits or ()):
        for key, parts in (("adds", visit.adds), ("removes", visit.removes)):
            yield from ((("visits", index, *path), part) for path, part in _listed(key, parts))


def _found_parts(found: Found | None) -> Named:
    if found is None:
        return
    for key, placed in (("fitted", found.fitted), ("removed", found.removed)):
        yield from ((("found", key, index, "part"), item.part) for index, item in enumerate(placed))
    yield from ((("found", *path), part) for path, part in _listed("presets", found.presets))


def _places(case: Case) -> Named:
    if isinstance(case, FitCase) and case.place is not None:
        yield ("place",), case.place
    if isinstance(case, PathCase | NextBikeCase):
        for index, item in enumerate(case.wanted):
            if item.place is not None:
                yield ("wanted", index, "place"), item.place
    if isinstance(case, PathCase):
        yield from ((("locked", index, "place"), item.place) for index, item in enumerate(case.locked))
    found = case.found
    if found is not None:
        for key, placed in (("fitted", found.fitted), ("removed", found.removed)):
            yield from ((("found", key, index, "place"), item.place) for index, item in enumerate(placed))
        yield from ((("found", *path), place) for path, place in _listed("unknown_work", found.unknown_work))


def _rules(case: Case) -> Named:
    if isinstance(case, FitCase | CartCase):
        yield from _listed("rules", case.rules)
    if isinstance(case, FitCase):
        yield from _listed("advice", case.advice)


def _listed(key: str, words: Iterable[str] | None) -> Named:
    return (((key, index), word) for index, word in enumerate(words or ()))


def _check_found(context: Context, case: Written[Case]) -> None:
    measured = case.what.found.measured if case.what.found else {}
    for name, value in measured.items():
        span = case.where_key("found", "measured", name)
        if name.partition(".")[0] not in ("facts", "places", "loom"):
            context.report(BAD_MEASURED, span, f"{quote(name)} is not the dotted path of a fact")
        elif is_bare_number(name.rpartition(".")[2], value):
            context.report(MISSING_UNIT, span, f"fact {quote(name)} is a number without a unit")


def _check_path(context: Context, case: Written[Case], path: PathCase) -> None:
    if path.outcome == "path" and path.total is None and path.visits is None:
        context.report(NO_EXPECTATION, case.at("name"), "this case expects neither a total nor visits")
    _check_visits(context, case, path)
    for year in path.year_budgets:
        if not (year.isascii() and year.isdecimal() and len(year) == len("2026")):
            span = case.key_at("year_budgets", year)
            context.report(BAD_YEARS, span, f"{quote(year)} is not a calendar year")


def _check_visits(context: Context, case: Written[Case], path: PathCase | NextBikeCase) -> None:
    for index, (one, other) in enumerate(pairwise(path.stages)):
        if other.date <= one.date:
            message = f"this visit does not come after the one on {one.date}"
            context.report(VISITS_OUT_OF_ORDER, case.at("stages", index + 1, "date"), message)
    for index, wanted in enumerate(path.wanted):
        if wanted.by_visit is not None and not 1 <= wanted.by_visit <= len(path.stages):
            message = f"there is no visit {wanted.by_visit} in this case"
            context.report(OUT_OF_RANGE, case.at("wanted", index, "by_visit"), message)
