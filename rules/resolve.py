"""From families as they are written to bikes: one for each trim, model year and side of a split."""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Mapping as MappingType
from dataclasses import dataclass, field

from rules.catalog.bike import BikeFacts, Family, FamilyEntry, Split, SplitSide, Trim
from rules.catalog.catalog import Ambiguous, Bike, Origin
from rules.diagnostics import Collector, Span, quote
from rules.draft import Written
from rules.inherit import Branch, Effects, Removed, merge, origins, read_tree, to_node
from rules.names import DUPLICATE_ID
from rules.shape import WRONG_TYPE, read_entry
from rules.spans import NEVER_APPLIES, check_spans
from rules.yaml_nodes import find


@dataclass(slots=True, kw_only=True)
class Resolution:
    """The bikes of all families.

    `trees` holds each merged tree once, however many model years share it, with the ids of its bikes.
    """

    bikes: dict[str, Bike] = field(default_factory=dict)
    ambiguous: dict[str, Ambiguous] = field(default_factory=dict)
    trees: list[tuple[Written[BikeFacts], tuple[str, ...]]] = field(default_factory=list)
    complete: bool = True


@dataclass(frozen=True, slots=True)
class _Tree:
    """One merged tree: what bikes have, and where each value came from."""

    has: Written[BikeFacts]
    origins: MappingType[str, Origin]
    bikes: list[str] = field(default_factory=list)


def resolve(families: list[Written[Family]], collector: Collector) -> Resolution:
    """Work out every bike of every family.

    Returns: All bikes whose trees make sense; it is complete only if none was left out.
    """
    resolution = Resolution()
    for family in families:
        check_spans(family, collector)
        _Heirs(family, collector, resolution).add_all()
    resolution.bikes = dict(sorted(resolution.bikes.items()))
    resolution.ambiguous = dict(sorted(resolution.ambiguous.items()))
    return resolution


def bike_id(family: str, year: int, trim: str, side: SplitSide | None = None) -> str:
    """The id of a bike; without a side, the name that a split makes ambiguous."""
    return f"{family}-{year}-{trim}" if side is None else f"{family}-{year}-{trim}-{side.id}"


@dataclass(slots=True)
class _Changes:
    """One entry's trees."""

    entry: FamilyEntry
    index: int
    all: Branch | None
    trims: dict[str, Branch]
    splits: dict[str, Branch]


class _Heirs:
    """Everything that one family's bikes inherit."""

    def __init__(self, family: Written[Family], collector: Collector, resolution: Resolution) -> None:
        self.family = family
        self.collector = collector
        self.resolution = resolution
        self.effects = Effects()
        self.applied: set[Span] = set()
        self.shared: dict[tuple[int, str, str], _Tree | None] = {}
        self.repeated: dict[str, int] = {}
        self.trim_index = 0
        self.entries = [self.changes(index) for index in self.in_order()]

    def in_order(self) -> list[int]:
        entries = self.family.what.entries
        return sorted(range(len(entries)), key=lambda index: entries[index].years)

    def changes(self, index: int) -> _Changes:
        entry = self.family.what.entries[index]
        return _Changes(
            entry=entry,
            index=index,
            all=self.tree(index, "all"),
            trims=self.named(index, "trims", entry.trims),
            splits=self.named(index, "splits", entry.splits),
        )

    def named(self, index: int, key: str, names: MappingType[str, object]) -> dict[str, Branch]:
        trees = {name: self.tree(index, key, name) for name in names}
        return {name: tree for name, tree in trees.items() if tree is not None}

    def tree(self, index: int, *path: str) -> Branch | None:
        node, left = find(self.family.node, ("entries", index, *path))
        if left:
            return None
        entry = self.family.what.entries[index]
        read = read_tree(node, entry.source, entry.years, self.collector)
        if isinstance(read, Branch):
            return read
        if isinstance(read, Removed):
            self.collector.report(WRONG_TYPE, read.span, "a whole tree cannot be absent")
        return None

    def add_all(self) -> None:
        for index, trim in enumerate(self.family.what.trims):
            self.trim_index = index
            for year in range(trim.years.first, trim.years.last + 1):
                self.add_year(trim, year)
        for tree in self.shared.values():
            if tree is not None and tree.bikes:
                self.resolution.trees.append((tree.has, tuple(tree.bikes)))
        self.report()

    def add_year(self, trim: Trim, year: int) -> None:
        split = self.split(trim, year)
        if split is None:
            self.add_bike(trim, year, None)
            return
        for side in split.sides:
            self.add_bike(trim, year, side)
        name = bike_id(self.family.what.family, year, trim.id)
        sides = tuple(f"{name}-{side.id}" for side in split.sides)
        self.resolution.ambiguous[name] = Ambiguous(id=name, sides=sides, ask=split.ask)

    def split(self, trim: Trim, year: int) -> Split | None:
        """The split that covers a trim in a year; two of them are reported elsewhere."""
        return next(
            (split for split in self.family.what.splits if year in split.years and trim.id in split.trims),
            None,
        )

    def add_bike(self, trim: Trim, year: int, side: SplitSide | None) -> None:
        last = next((at for at, changes in enumerate(self.entries) if year in changes.entry.years), None)
        tree = None if last is None else self.shared_tree(last, trim, side)
        if tree is None:
            self.resolution.complete = False
            return
        bike = self.bike(trim, year, side, tree)
        if bike.id in self.resolution.bikes or bike.id in self.resolution.ambiguous:
            self.repeated[bike.id] = self.trim_index
            return
        self.resolution.bikes[bike.id] = bike
        tree.bikes.append(bike.id)

    def report_repeated(self) -> None:
        """Report two bikes with one id: a trim is listed twice, or hyphens in ids make them alike."""
        for bike, index in self.repeated.items():
            span = self.family.at("trims", index, "id")
            if not self.collector.blames(span):
                self.collector.report(DUPLICATE_ID, span, f"bike {quote(bike)} is already defined")

    def bike(self, trim: Trim, year: int, side: SplitSide | None, tree: _Tree) -> Bike:
        family = self.family.what
        return Bike(
            id=bike_id(family.family, year, trim.id, side),
            family=family.family,
            family_name=family.name,
            maker=family.maker,
            year=year,
            trim=trim.id,
            trim_name=trim.name,
            mount=family.mount,
            cooling=family.cooling,
            split=side,
            has=tree.has.what,
            origins=tree.origins,
        )

    def shared_tree(self, last: int, trim: Trim, side: SplitSide | None) -> _Tree | None:
        """Merge once for all model years that inherit the same entries."""
        key = (last, trim.id, side.id if side else "")
        if key not in self.shared:
            self.shared[key] = self.merged(last, trim, side)
        return self.shared[key]

    def merged(self, last: int, trim: Trim, side: SplitSide | None) -> _Tree | None:
        tree = Branch({}, self.family.at("family"))
        for changes in self.layers(last, trim, side):
            self.applied.add(changes.key)
            tree = merge(tree, changes, self.effects)
        node = to_node(tree)
        has, _ = read_entry(BikeFacts, node, self.collector)
        return None if has is None else _Tree(Written(has, node), dict(origins(tree)))

    def layers(self, last: int, trim: Trim, side: SplitSide | None) -> Iterator[Branch]:
        """What applies, in order: all trees of every entry, then the trim's, then the side's."""
        entries = self.entries[: last + 1]
        yield from (changes.all for changes in entries if changes.all is not None)
        yield from (changes.trims[trim.id] for changes in entries if trim.id in changes.trims)
        if side is not None:
            yield from (changes.splits[side.id] for changes in entries if side.id in changes.splits)

    def report(self) -> None:
        self.report_repeated()
        self.effects.report(self.collector)
        trims = {trim.id for trim in self.family.what.trims}
        sides = {side.id for split in self.family.what.splits for side in split.sides}
        for changes in self.entries:
            self.report_idle(changes.trims, trims, changes.index, "trims")
            self.report_idle(changes.splits, sides, changes.index, "splits")

    def report_idle(self, trees: dict[str, Branch], known: set[str], index: int, key: str) -> None:
        for name in trees:
            span = self.family.key_at("entries", index, key, name)
            if name in known and span not in self.applied:
                self.collector.report(NEVER_APPLIES, span, f"this applies to no bike of {quote(name)}")
