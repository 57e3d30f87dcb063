"""Channel allocation, answered again from section 7 of the definitions by CP-SAT, and compared with the engine.

`python -m tests.oracle.channels --cases 1000 --seed 1` prints `{"agree": [n, n]}`. From `rules` this takes questions and
answers as data, and nothing that decides: every load is one integer variable here, and loads on a channel are table rows.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, product
from math import lcm
from random import Random

from ortools.sat.python import cp_model

from rules.allocation import Allocation, Kept, NoAllocation, Output, Source, ZoneLoad, allocate

Load = tuple[str, str]
"""A zone and its side."""

Objective = tuple[int, int, Fraction]
"""Zones that share, loads above their rating, the least served share."""


@dataclass(frozen=True)
class Question:
    sources: tuple[Source, ...]
    zones: tuple[ZoneLoad, ...]
    kept: Kept


# Drawing ------------------------------------------------------------------------------------------


def draw(seed: int) -> Question:
    """Draw sources, zones and what is kept: small enough to be tight, so that each limit bites now and then."""
    random = Random(seed)
    sources = tuple(_source(random, f"source{i}") for i in range(random.choice([1, 1, 2])))
    zones = tuple(_zone(random, f"zone{i}") for i in range(random.choice([1, 2, 2, 3, 3, 4, 5])))
    return Question(sources, zones, _kept(random, sources, zones))


def _source(random: Random, name: str) -> Source:
    outputs: list[Output] = []
    for pair in range(random.randint(1, 3)):
        watts = random.choice(
            [{"4": 20.0}, {"4": 50.0, "2": 80.0}, {"4": 75.0, "2": 120.0}, {"8": 30.0, "4": 60.0}]
        )
        least = random.choice([4.0, 2.0, 2.0, 2.0, 1.0])
        tied = random.random() < 0.3
        outputs += [
            Output(id=f"pair{pair}_left", watts=watts, min_ohm=least, side="left" if tied else None),
            Output(id=f"pair{pair}_right", watts=watts, min_ohm=least, side="right" if tied else None),
        ]
        if random.random() < 0.4:
            made_of = (f"pair{pair}_left", f"pair{pair}_right")
            outputs.append(Output(id=f"bridge{pair}", watts={"4": 190.0}, min_ohm=4.0, made_of=made_of))
    if random.random() < 0.3:
        outputs.append(Output(id="bass", watts={"4": 180.0, "2": 280.0}, min_ohm=2.0))
    return Source(name=name, outputs=tuple(outputs), caps=random.random() < 0.5)


def _zone(random: Random, name: str) -> ZoneLoad:
    return ZoneLoad(
        name=name,
        impedance_ohm=random.choice([2.0, 3.2, 4.0, 4.0, 4.0, 8.0, 8.0]),
        rms_w=random.choice([25.0, 45.0, 60.0, 75.0, 100.0, 200.0, 300.0]),
        pair=random.random() < 0.8,
    )


def _kept(random: Random, sources: tuple[Source, ...], zones: tuple[ZoneLoad, ...]) -> Kept:
    kept: dict[str, tuple[str, tuple[str, ...]]] = {}
    for zone in zones:
        source = random.choice(sources)
        if random.random() < 0.2:
            # Mostly a pair as it is made; now and then whatever somebody joined.
            ids = [x.id for x in source.outputs if x.side is None or zone.pair]
            count = len(zone.sides)
            if len(ids) >= count:
                at = random.choice([0, random.randrange(len(ids) - count + 1)])
                kept[zone.name] = source.name, tuple(ids[at : at + count])
    return kept


# The second opinion -------------------------------------------------------------------------------


class Model:
    """All rules of section 7, but those that are lifted."""

    def __init__(self, question: Question, lifted: str | None = None) -> None:
        self.question, self.lifted = question, lifted
        self.model = cp_model.CpModel()
        self.channels = [(s, o) for s in question.sources for o in s.outputs]
        self.loads = [(zone, side) for zone in question.zones for side in zone.sides]
        self.on = {
            (zone.name, side, c): self.model.new_bool_var("")
            for zone, side in self.loads
            for c in range(len(self.channels))
        }
        self.over: list[cp_model.IntVar] = []
        self.served: list[tuple[cp_model.IntVar, Fraction]] = []
        self._one_channel_each()
        self._kept()
        self._bridges()
        self._pairs()
        self._sides()
        self._same_zones()
        for c in range(len(self.channels)):
            self._limits(c)

    def _one_channel_each(self) -> None:
        for zone, side in self.loads:
            self.model.add_exactly_one(self.on[zone.name, side, c] for c in range(len(self.channels)))

    def _kept(self) -> None:
        for zone, side in self.loads if self.lifted != "kept" else ():
            if zone.name in self.question.kept:
                name, outputs = self.question.kept[zone.name]
                wanted = outputs[zone.sides.index(side)]
                for c, (source, output) in enumerate(self.channels):
                    if (source.name, output.id) != (name, wanted):
                        self.model.add(self.on[zone.name, side, c] == 0)

    def _bridges(self) -> None:
        for one, other in combinations(range(len(self.channels)), 2):
            (s, a), (t, b) = self.channels[one], self.channels[other]
            exclude = a.id in b.made_of or b.id in a.made_of or set(a.made_of) & set(b.made_of)
            if s is t and exclude and self.lifted != "bridge":
                for x, y in product(self.loads, repeat=2):
                    self.model.add_at_most_one(self.on[x[0].name, x[1], one], self.on[y[0].name, y[1], other])

    def _pairs(self) -> None:
        for zone in self.question.zones:
            for left, right in product(range(len(self.channels)), repeat=2) if zone.pair else ():
                (s, a), (t, b) = self.channels[left], self.channels[right]
                alike = s is t and a.watts == b.watts and a.min_ohm == b.min_ohm
                if left == right or not (alike or self.lifted == "alike"):
                    self.model.add_at_most_one(
                        self.on[zone.name, "left", left], self.on[zone.name, "right", right]
                    )

    def _sides(self) -> None:
        for c, (_, output) in enumerate(self.channels):
            for zone, side in self.loads:
                if output.side not in (None, side):
                    self.model.add(self.on[zone.name, side, c] == 0)
            for x, y in combinations(self.loads, 2):
                if x[1] != y[1]:
                    self.model.add_at_most_one(self.on[x[0].name, x[1], c], self.on[y[0].name, y[1], c])

    def _same_zones(self) -> None:
        self.together: dict[tuple[str, str], cp_model.IntVar] = {}
        for one, other in combinations(self.question.zones, 2):
            shares = self.together[one.name, other.name] = self.model.new_bool_var("")
            for side in one.sides:
                for c in range(len(self.channels)):
                    first = self.on[one.name, side, c]
                    if side not in other.sides:
                        continue
                    second = self.on[other.name, side, c]
                    self.model.add(first == second).only_enforce_if(shares)
                    self.model.add_at_most_one(first, second).only_enforce_if(~shares)
            if one.pair != other.pair:
                self.model.add(shares == 0)

    def _limits(self, c: int) -> None:
        """Let a channel's load be one of the levels that some of the loads come to, and judge each level."""
        source, output = self.channels[c]
        parts = {(zone.name, side): 1 / Fraction(str(zone.impedance_ohm)) for zone, side in self.loads}
        unit = Fraction(1)
        for part in parts.values():
            unit = Fraction(1, lcm(unit.denominator, part.denominator))
        counts = {load: int(part / unit) for load, part in parts.items()}
        levels = _sums([counts[zone.name, zone.sides[0]] for zone in self.question.zones])
        at = {level: self.model.new_bool_var("") for level in levels}
        self.model.add_exactly_one(at.values())
        self.model.add(
            sum(counts[zone.name, side] * self.on[zone.name, side, c] for zone, side in self.loads)
            == sum(level * chosen for level, chosen in at.items())
        )
        for level, chosen in at.items():
            if level:
                self._level(c, source, output, 1 / (level * unit), chosen)

    def _level(self, c: int, source: Source, output: Output, ohms: Fraction, chosen: cp_model.IntVar) -> None:
        if ohms < Fraction(str(output.min_ohm)) and self.lifted != "lowest_impedance":
            self.model.add(chosen == 0)
            return
        rated = [(Fraction(z), Fraction(str(p))) for z, p in output.watts.items() if Fraction(z) <= ohms]
        if not rated:
            if self.lifted not in ("lowest_impedance", "speaker_power"):
                self.model.add(chosen == 0)
            return
        power = max(rated)[1]
        for zone, side in self.loads:
            share = power * ohms / Fraction(str(zone.impedance_ohm)) / Fraction(str(zone.rms_w))
            here = self._both(chosen, self.on[zone.name, side, c])
            if share > 1:
                if not source.caps and self.lifted != "speaker_power":
                    self.model.add(here == 0)
                self.over.append(here)
            self.served.append((here, min(share, Fraction(1))))

    def _both(self, one: cp_model.IntVar, other: cp_model.IntVar) -> cp_model.IntVar:
        both = self.model.new_bool_var("")
        self.model.add_bool_or(~one, ~other, both)
        self.model.add_implication(both, one)
        self.model.add_implication(both, other)
        return both

    def is_possible(self) -> bool:
        return self._solve(None) is not None

    def best(self) -> Objective | None:
        """Settle one aim after the other."""
        shares = [
            self._any([v for pair, v in self.together.items() if z.name in pair]) for z in self.question.zones
        ]
        sharing = self._solve(sum(shares))
        if sharing is None:
            return None
        self.model.add(sum(shares) == sharing)
        over = self._solve(sum(self.over)) or 0
        self.model.add(sum(self.over) == over)
        ranks = sorted({served for _, served in self.served} | {Fraction(1)})
        least = self.model.new_int_var(0, len(ranks) - 1, "")
        for here, served in self.served:
            self.model.add(least <= ranks.index(served)).only_enforce_if(here)
        return sharing, over, ranks[-(self._solve(-least) or 0)]

    def _any(self, flags: list[cp_model.IntVar]) -> cp_model.IntVar:
        some = self.model.new_bool_var("")
        self.model.add_max_equality(some, flags) if flags else self.model.add(some == 0)
        return some

    def _solve(self, aim: cp_model.LinearExprT | None) -> int | None:
        self.model.clear_objective()
        if aim is not None:
            self.model.minimize(aim)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(self.model)
        assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
        return None if status == cp_model.INFEASIBLE else round(solver.objective_value)


def _sums(counts: list[int]) -> list[int]:
    return sorted({sum(x) for n in range(len(counts) + 1) for x in combinations(counts, n)})


# Comparing ----------------------------------------------------------------------------------------


def worth(question: Question, answer: Allocation) -> Objective:
    """Measure the engine's allocation from its feeds alone, after checking them against the model."""
    zones = {zone.name: zone for zone in question.zones}
    on: dict[tuple[str, str], set[str]] = {}
    for fed in answer.feeds:
        on.setdefault((fed.source, fed.output), set()).add(fed.zone)
    sharing = len({zone for fed in on.values() if len(fed) > 1 for zone in fed})
    ratios = [Fraction(str(fed.share_w)) / Fraction(str(zones[fed.zone].rms_w)) for fed in answer.feeds]
    least = min((min(ratio, Fraction(1)) for ratio in ratios), default=Fraction(1))
    return sharing, sum(ratio > 1 for ratio in ratios), least


def is_legal(question: Question, answer: Allocation) -> bool:
    """Let the model say whether the engine's allocation keeps all rules."""
    model = Model(question)
    wanted = {(fed.zone, fed.side): (fed.source, fed.output) for fed in answer.feeds}
    for (zone, side, c), on in model.on.items():
        source, output = model.channels[c]
        model.model.add(on == int(wanted[zone, side] == (source.name, output.id)))
    return model.is_possible()


def agrees(question: Question) -> bool:
    """Compare one answer: how good it is; or why there is none."""
    answer = allocate(question.sources, question.zones, question.kept)
    best = Model(question).best()
    if isinstance(answer, NoAllocation):
        return best is None and _explains(question, answer)
    if best is None or not is_legal(question, answer):
        return False
    ours = worth(question, answer)
    return ours[:2] == best[:2] and abs(float(ours[2] - best[2])) < 1e-9


def _explains(question: Question, answer: NoAllocation) -> bool:
    def ask(names: set[str], lifted: str | None = None) -> bool:
        zones = tuple(zone for zone in question.zones if zone.name in names)
        kept = {zone: fed for zone, fed in question.kept.items() if zone in names}
        return Model(Question(question.sources, zones, kept), lifted).is_possible()

    named = set(answer.zones)
    if ask(named) or not all(ask(named - {zone}) for zone in named):
        return False
    lifts = ("kept", "bridge", "alike", "lowest_impedance", "speaker_power")
    return answer.would_help == tuple(limit for limit in lifts if ask(named, limit))


def kind(question: Question) -> str:
    """Name what sort of answer a question has."""
    answer = allocate(question.sources, question.zones, question.kept)
    if isinstance(answer, NoAllocation):
        return f"none: {', '.join(answer.would_help) or 'too few channels'}"
    return f"{'some share' if answer.shared else 'none shares'}{', capped' if answer.capped else ''}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--stats", action="store_true", help="say how often each sort of answer came up, and what disagreed"
    )
    asked = parser.parse_args()
    seeds = [asked.seed * 1_000_000 + number for number in range(asked.cases)]
    results = {seed: agrees(draw(seed)) for seed in seeds}
    if asked.stats:
        print(Counter(kind(draw(seed)) for seed in seeds).most_common())
        print("disagree:", [seed for seed, same in results.items() if not same])
    print(json.dumps({"agree": [sum(results.values()), len(results)]}))
    sys.exit(not all(results.values()))


if __name__ == "__main__":
    main()
