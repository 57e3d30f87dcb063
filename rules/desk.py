"""Everything that answers questions about one bike as found, and what has been learned about it so far."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from rules.bench import Bench
from rules.build import Placement
from rules.clash import NO_MATE
from rules.examine import Examination, Examiner
from rules.laws import HOPEFUL, VERIFIED, Laws
from rules.mating import faces_mate
from rules.pricing import Pricer
from rules.scene import Scene
from rules.things import check_placement
from rules.verdict import Cause, Finding, Status


@dataclass(frozen=True, slots=True)
class Desk:
    """A bench with its examiner, prices and laws. What it learns makes later answers faster, never different."""

    bench: Bench
    examiner: Examiner
    pricer: Pricer
    verified: Laws
    hopeful: Laws
    _auditions: dict[Placement, tuple[Finding, ...]] = field(default_factory=dict)
    _weighed: set[Placement] = field(default_factory=set)

    @classmethod
    def for_bench(cls, bench: Bench) -> Desk:
        """Set up a desk that has learned nothing yet."""
        verified, hopeful = Laws(VERIFIED, bench.like), Laws(HOPEFUL, bench.like)
        return cls(bench, Examiner(bench), Pricer(bench), verified, hopeful)

    def examine(self, build: frozenset[Placement]) -> Examination:
        """Examine a build and learn from it."""
        examination = self.examiner.examine(build)
        self.learn(examination.findings)
        return examination

    def learn(self, findings: tuple[Finding, ...]) -> None:
        """Keep what findings teach."""
        self.verified.learn(findings)
        self.hopeful.learn(findings)

    def audition(self, placed: Placement) -> tuple[Finding, ...]:
        """Give what one part would need on this bike, and learn it, before any build with it is tried."""
        if placed not in self._auditions:
            gone = displaced_by(self.bench, frozenset({placed}))
            scene = Scene(self.bench, (self.bench.present - gone) | {placed})
            self._auditions[placed] = (*check_placement(scene, placed), *self._plugs(placed))
            self.learn(self._auditions[placed])
        return self._auditions[placed]

    def weigh(self, placements: frozenset[Placement]) -> None:
        """Note what a search could have taken, whether it came to try it or not."""
        self._weighed.update(placements)

    def looked_at(self) -> frozenset[Placement]:
        """Give everything that was in a build which was examined here, was tried by itself, or was weighed against what was."""
        return frozenset().union(
            self.bench.present, self._auditions, self._weighed, *self.examiner.examined()
        )

    def _plugs(self, placed: Placement) -> Iterator[Finding]:
        """Give, for each connector that must be mated, what could take it; plugs on the loom ask for nothing."""
        wires = self.bench.tables.wires[placed.part]
        for name, connector in wires.connectors.items():
            if not connector.needed:
                continue
            place, face = connector.place or placed.place, wires.faces[name]
            on_loom = [
                node
                for node, other in self.bench.loom.faces.items()
                if self.bench.loom.connectors[node].place == place and faces_mate(face, other)
            ]
            unsure = [x for node in on_loom if (x := self.bench.loom.connectors[node].presence) is not None]
            if len(unsure) < len(on_loom):
                continue
            source = self.bench.part(placed).source
            plug = f"{face.type} {face.gender}"
            causes = [Cause(fact=f"part.connectors.{name}", of=placed.part, value=plug, source=source)]
            causes += [
                Cause(fact=f"loom.connectors.{node}.presence", of=self.bench.bike.id, value=x)
                for node, x in zip(on_loom, unsure, strict=True)
            ]
            yield Finding(
                rule=NO_MATE,
                status=Status.UNKNOWN if unsure else Status.REFUSED,
                present=frozenset({placed}),
                repairs=self.bench.mateable(place, face) - {placed},
                causes=tuple(causes),
                detail=f"{placed}:{name}",
                true_of="kin",
            )


def displaced_by(bench: Bench, new: frozenset[Placement]) -> frozenset[Placement]:
    """Give what must come out for new parts: occupants of slots that would overflow, and parts left without their host."""
    gone: set[Placement] = set()
    for slot in set(map(bench.slot, new)):
        held = {x for x in bench.present if (x.place, bench.part(x).slot) == slot}
        coming = sum(1 for x in new - held if (x.place, bench.part(x).slot) == slot)
        if len(held) + coming > bench.capacity(*slot):
            gone |= held - new
    while True:
        left = (bench.present - gone) | new
        orphans = {x for x in left - new if bench.part(x).host and not _has_host(bench, x, left)}
        if not orphans:
            return frozenset(gone)
        gone |= orphans


def _has_host(bench: Bench, placed: Placement, build: frozenset[Placement]) -> bool:
    return any(x.part in bench.part(placed).host and x.place == placed.place for x in build)
