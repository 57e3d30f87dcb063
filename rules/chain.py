"""Which presets are in force and which must be made, as builds and wirings follow one another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rules.bench import Bench
from rules.build import Build, Placement
from rules.wiring import Option

Chain = tuple[frozenset[Placement], Placement, frozenset[Placement]]
"""What a preset is made for: the head unit with what it hosts, the amplifier, and the speakers that it feeds."""


def chain(bench: Bench, build: Build, option: Option, amplifier: Placement) -> Chain:
    """Give an amplifier's chain in a wired build."""
    return heads_of(bench, build), amplifier, _fed(option, amplifier)


def heads_of(bench: Bench, build: Build) -> frozenset[Placement]:
    """Give the head unit of a build with what it hosts."""
    heads = {x for x in build if bench.part(x).kind == "head_unit"}
    hosted = {x for x in build if any(y.part in bench.part(x).host and y.place == x.place for y in heads)}
    return frozenset(heads | hosted)


def _fed(option: Option, amplifier: Placement) -> frozenset[Placement]:
    return frozenset(sink.speaker for sink, feed in option.feeds.items() if feed.owner == amplifier)


InForce = frozenset[Chain]
"""The chains whose preset is in force."""


def in_force_as_found(bench: Bench, option: Option | None) -> InForce:
    """Give the presets that the bike came with, for the chains of its present wiring."""
    if option is None:
        return frozenset()
    return frozenset(
        chain(bench, bench.present, option, x) for x in bench.present if x.part in bench.found.presets
    )


def presets_to_make(
    bench: Bench, build: Build, option: Option, in_force: InForce
) -> tuple[frozenset[Placement], InForce]:
    """Give the amplifiers that need a preset made for this wired build, and what is in force once they have it."""
    return chains_of(bench, build, (option,))[0].presets_to_make(in_force)


@dataclass(frozen=True, slots=True)
class Chains:
    """The chains of a wired build, by amplifier, and the amplifiers that need a preset for theirs."""

    now: Mapping[Placement, Chain]
    needing: frozenset[Placement]

    def presets_to_make(self, in_force: InForce) -> tuple[frozenset[Placement], InForce]:
        """Give the amplifiers that need a preset made, and what is in force once they have it."""
        to_make = frozenset(x for x in self.needing if self.now[x] not in in_force)
        kept = (x for amplifier, x in self.now.items() if x in in_force or amplifier in to_make)
        return to_make, frozenset(kept)


def chains_of(bench: Bench, build: Build, options: Iterable[Option]) -> list[Chains]:
    """Give the chains of a build in each of some wirings."""
    heads, always = heads_of(bench, build), chained(bench, build)
    amplifiers = [x for x in build if bench.part(x).kind == "amplifier"]
    return [
        Chains({x: (heads, x, _fed(option, x)) for x in amplifiers}, option.capped | always)
        for option in options
    ]


def chained(bench: Bench, build: Build) -> frozenset[Placement]:
    """Give the amplifiers of a build that are only sound with a preset, whatever they feed."""
    return frozenset(
        placed for placed in build if bench.part(placed).kind == "amplifier" and bench.is_chained(placed)
    )
