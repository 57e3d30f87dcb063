"""Checks that a family's model years add up: entries without gap or overlap, trims and splits inside them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from itertools import pairwise

from rules.catalog.bike import Family, Split
from rules.catalog.facts import YearSpan
from rules.diagnostics import Code, Collector, quote
from rules.draft import Written
from rules.nearest import did_you_mean
from rules.yaml_nodes import Mapping, find

SPAN_GAP = Code(
    name="span-gap",
    about="Model years between two entries of a family that no entry covers.",
    why="bikes of these years would be missing from the catalog",
    hint="extend the entry before, with a source that says nothing changed, or add an entry",
    example="years: 2016-2018, and then years: 2020-2021",
)
SPAN_OVERLAP = Code(
    name="span-overlap",
    about="Two entries of a family that cover the same model year.",
    why="it would not be clear which of them holds",
    hint="let one end in the year before the other begins",
    example="years: 2016-2018, and then years: 2018-2021",
)
SPAN_BEYOND = Code(
    name="span-beyond",
    about="Model years of a trim that no entry of its family covers.",
    why="nothing is recorded for these years, and nothing is ever assumed",
    hint="shorten the trim's years, or add an entry for them",
    example="years: 2016-2024, while the last entry ends in 2022",
)
UNKNOWN_TRIM = Code(
    name="unknown-trim",
    about="A trim that its family does not list.",
    why="what is said of it would apply to no bike",
    hint="add it to the family's trims, or correct the word",
    example="trims: {turing: {}}",
)
UNKNOWN_SIDE = Code(
    name="unknown-side",
    about="A side that none of the family's splits lists.",
    why="what is said of it would apply to no bike",
    hint="add it to a split, or correct the word",
    example="splits: {erly: {}}",
)
NEVER_APPLIES = Code(
    name="never-applies",
    about="A change or split that applies to no bike, since its trim was not sold in these years.",
    why="what it says would be lost",
    hint="check the years of the trim, the split and the entry",
    example="a change for a trim in an entry that begins after the trim was last sold",
)
SPLIT_OVERLAP = Code(
    name="split-overlap",
    about="Two splits that cover the same trim in the same year.",
    why="a bike's name could not say on which side of both it is",
    hint="write one split with a side for each combination",
    example="two splits with years: 2019 and trims: [touring]",
)
SPLIT_DATES = Code(
    name="split-dates",
    about="Production dates of a split's sides with a gap or an overlap.",
    why="a bike built on such a day would be on no side, or on two",
    hint="let each side begin on the day after the one before it ends",
    example="built_through: 2019-03-31, and then built_from: 2019-05-01",
)

CODES = (
    SPAN_GAP,
    SPAN_OVERLAP,
    SPAN_BEYOND,
    UNKNOWN_TRIM,
    UNKNOWN_SIDE,
    NEVER_APPLIES,
    SPLIT_OVERLAP,
    SPLIT_DATES,
)


def overlap(one: YearSpan, other: YearSpan) -> bool:
    """Tell whether two spans share a model year."""
    return one.first <= other.last and other.first <= one.last


def check_spans(family: Written[Family], collector: Collector) -> None:
    """Report everything about a family's years, trims and splits that does not add up."""
    _check_entries(family, collector)
    _check_trims(family, collector)
    _check_named_trims(family, collector)
    for index, split in enumerate(family.what.splits):
        _check_split(family, index, split, collector)
        _check_dates(family, index, split, collector)


def _check_entries(family: Written[Family], collector: Collector) -> None:
    in_order = sorted(enumerate(family.what.entries), key=lambda pair: pair[1].years)
    for (before, one), (index, other) in pairwise(in_order):
        span, first = family.at("entries", index, "years"), family.at("entries", before, "years")
        if other.years.first <= one.years.last:
            message = f"years {other.years} overlap {one.years} at {first.place}"
            collector.report(SPAN_OVERLAP, span, message)
        elif other.years.first > one.years.last + 1:
            missing = YearSpan(one.years.last + 1, other.years.first - 1)
            collector.report(SPAN_GAP, span, f"no entry covers {missing}, between {first.place} and here")


def _check_trims(family: Written[Family], collector: Collector) -> None:
    first = min(entry.years.first for entry in family.what.entries)
    last = max(entry.years.last for entry in family.what.entries)
    for index, trim in enumerate(family.what.trims):
        if trim.years.first < first or trim.years.last > last:
            message = (
                f"trim {quote(trim.id)} has years {trim.years}, but entries cover {YearSpan(first, last)}"
            )
            collector.report(SPAN_BEYOND, family.at("trims", index, "years"), message)


def _check_named_trims(family: Written[Family], collector: Collector) -> None:
    trims = [trim.id for trim in family.what.trims]
    sides = [side.id for split in family.what.splits for side in split.sides]
    for index in range(len(family.what.entries)):
        _check_keys(family, ("entries", index, "trims"), trims, UNKNOWN_TRIM, "trim", collector)
        _check_keys(family, ("entries", index, "splits"), sides, UNKNOWN_SIDE, "side", collector)


def _check_keys(
    family: Written[Family],
    path: tuple[str | int, ...],
    known: Iterable[str],
    code: Code,
    what: str,
    collector: Collector,
) -> None:
    found, left = find(family.node, path)
    for name in found.entries if isinstance(found, Mapping) and not left else ():
        if name not in known:
            message = f"family {quote(family.what.family)} has no {what} {quote(name)}"
            collector.report(code, family.key_at(*path, name), message, did_you_mean(name, known))


def _check_split(family: Written[Family], index: int, split: Split, collector: Collector) -> None:
    years = {trim.id: trim.years for trim in family.what.trims}
    for at, trim in enumerate(split.trims):
        span = family.at("splits", index, "trims", at)
        if trim not in years:
            message = f"family {quote(family.what.family)} has no trim {quote(trim)}"
            collector.report(UNKNOWN_TRIM, span, message, did_you_mean(trim, years))
        elif not overlap(years[trim], split.years):
            message = f"trim {quote(trim)} was not sold in {split.years}"
            collector.report(NEVER_APPLIES, span, message)
    for before, other in enumerate(family.what.splits[:index]):
        if overlap(other.years, split.years) and set(other.trims) & set(split.trims):
            first = family.at("splits", before, "years").place
            message = f"the split at {first} covers the same trim in the same years"
            collector.report(SPLIT_OVERLAP, family.at("splits", index, "years"), message)


def _check_dates(family: Written[Family], index: int, split: Split, collector: Collector) -> None:
    if split.by != "production":
        return
    for at, (one, other) in enumerate(pairwise(split.sides)):
        if one.built_through is None or other.built_from != one.built_through + timedelta(days=1):
            message = f"side {quote(other.id)} does not begin on the day after {quote(one.id)} ends"
            collector.report(SPLIT_DATES, family.at("splits", index, "sides", at + 1, "built_from"), message)
