"""Whether a build is valid, open or refused, and why; each build is examined once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from rules.bench import Bench
from rules.build import Build
from rules.electrics import Electrics, check_electrics
from rules.things import check_things
from rules.troubles import check_presets, present_wirings
from rules.verdict import Finding, Status
from rules.wiring import Option


@dataclass(frozen=True, slots=True)
class Examination:
    """What was found on one build. It is valid if nothing was, and there is a sound wiring."""

    findings: tuple[Finding, ...]
    options: tuple[Option, ...]

    @property
    def is_valid(self) -> bool:
        """Tell whether the build is valid."""
        return not self.findings

    @property
    def is_open(self) -> bool:
        """Tell whether only missing facts stand between this build and validity."""
        return all(finding.status is Status.UNKNOWN for finding in self.findings)


class Examiner:
    """Examines builds on one bench."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._builds: dict[Build, Examination] = {}

    @cached_property
    def present_wirings(self) -> tuple[Option, ...]:
        """Give every way in which the bike may be wired now, sound or not."""
        return present_wirings(self.bench)

    def examine(self, build: Build) -> Examination:
        """Give every finding on a build, and its sound wirings."""
        if build not in self._builds:
            self.bench.tables.effort.count("builds")
            electrics = self.electrics(build)
            things = (*check_things(self.bench, build), *check_presets(self.bench, build))
            self._builds[build] = Examination((*things, *electrics.findings), electrics.options)
        return self._builds[build]

    def examined(self) -> tuple[Build, ...]:
        """Give the builds that were examined so far."""
        return tuple(self._builds)

    @property
    def kept(self) -> int:
        """How many builds were examined so far, and are kept."""
        return len(self._builds)

    def electrics(self, build: Build) -> Electrics:
        """Give the wiring part alone; it depends only on the parts that have plugs, or tags that wake a channel."""
        wired = frozenset(placed for placed in build if self.bench.is_wired(placed))
        known: dict[Build, Electrics] = self.bench.judged.builds
        if wired not in known:
            known[wired] = check_electrics(self.bench, wired)
        return known[wired]
