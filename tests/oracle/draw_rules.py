"""Random rules of every kind that bears on verdicts and paths."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random
from typing import Any

from rules.catalog.condition import All, AnyOf, Comparison, Condition, Fitted, Not, Selector
from rules.catalog.part import Part
from rules.catalog.rule import (
    ChannelLimit,
    Clearance,
    Excludes,
    FlashNeeded,
    Hold,
    MassLimit,
    MeasuredException,
    Operation,
    PresetChain,
    Requires,
    Rule,
    SupplyLimit,
)
from tests.oracle.draw_parts import SHEET

SAYS = "It is so."


class RuleBox:
    """Draws rules about the parts and places of one catalog."""

    def __init__(self, rng: Random, parts: dict[str, Part], places: tuple[str, ...], first: date) -> None:
        self.rng = rng
        self.parts = parts
        self.places = places
        self.first = first
        self.rules: dict[str, Rule] = {}

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def add(self, make, name: str, **more) -> None:
        number = sum(one.startswith(name) for one in self.rules)
        rule_id = f"{name}-{number}" if number else name
        self.rules[rule_id] = make(id=rule_id, says=SAYS, **more)

    def draw(self, replugs: int = 0) -> dict[str, Rule]:
        """Draw the rules; `replugs` is how many operations for moving plugs are sure to be among them.

        With such there is little else that could forbid a part: most plugs that move belong to a build of many parts.
        """
        self._limits()
        if not replugs or self.chance(0.25):
            self._clearances()
            self._needs()
            self._exceptions()
        tear = self._operations()
        for _ in range(replugs):
            drawn = self.selector(("harness", "amplifier", "speaker"))
            self._work("replug", self.rng.choice([Selector(kind="harness"), drawn]), tear)
        self._holds()
        return dict(sorted(self.rules.items()))

    # Who is meant ---------------------------------------------------------------------------------

    def fitted_parts(self) -> list[Part]:
        return [part for part in self.parts.values() if part.slot]

    def selector(self, kinds: tuple[str, ...] = ()) -> Selector:
        pool = [
            part for part in self.fitted_parts() if not kinds or part.kind in kinds
        ] or self.fitted_parts()
        part = self.rng.choice(pool)
        draws: list[dict[str, Any]] = [
            {"part": (part.id,)},
            {"part": (part.id,)},
            {"kind": part.kind},
            {"slot": part.slot},
        ]
        if part.tags:
            draws.append({"tag": part.tags[0]})
        draws.append({"line": "tern", "kind": part.kind})
        chosen = dict(self.rng.choice(draws))
        if self.chance(0.15):
            chosen["at"] = tuple(self.rng.sample(self.places, min(2, len(self.places))))
        return Selector(**chosen)

    def condition(self, depth: int = 2, fitted: bool = True) -> Condition:
        roll = self.rng.random()
        if depth and roll < 0.3:
            members = tuple(self.condition(depth - 1, fitted) for _ in range(self.rng.choice([1, 2, 2, 3])))
            return All(all=members) if self.chance(0.5) else AnyOf(any=members)
        if depth and roll < 0.42:
            return Not(not_=self.condition(depth - 1, fitted))
        if fitted and roll < 0.7:
            return Fitted(fitted=self.selector(), same_place=self.chance(0.3))
        return self.comparison()

    def comparison(self) -> Comparison:
        draws: list[dict[str, Any]] = [
            {"fact": "bike.year", "at_least": float(self.rng.choice([2028, 2029, 2030]))},
            {"fact": "bike.hinge", "equals": self.rng.choice(["long", "short"])},
            {"fact": "bike.mount", "one_of": ("fork", "frame")},
            {"fact": "bike.charging_headroom_a", "at_most": self.rng.choice([6.0, 16.0])},
            {"fact": "place.depth_mm", "at_least": self.rng.choice([55.0, 60.0])},
            {"fact": "part.depth_mm", "at_most": self.rng.choice([50.0, 60.0])},
            {"fact": "part.kind", "equals": self.rng.choice(["speaker", "amplifier", "harness"])},
            {"fact": "part.line", "equals": self.rng.choice(["tern", "samphire"])},
            {"fact": "part.colour", "equals": "black"},
            {"fact": "bike.never_recorded", "equals": True},
        ]
        return Comparison(**self.rng.choice(draws))

    def when(self, share: float = 0.35) -> Condition | None:
        return self.condition() if self.chance(share) else None

    # Rules ----------------------------------------------------------------------------------------

    def _limits(self) -> None:
        for limit, share in (("lowest_impedance", 0.8), ("speaker_power", 0.8), ("bridge", 0.8)):
            if self.chance(share):
                self.add(ChannelLimit, limit.replace("_", "-"), kind="channel_limit", limit=limit)
        for limit, share in (
            ("fuse", 0.6),
            ("ampacity", 0.6),
            ("voltage_drop", 0.6),
            ("charging", 0.6),
            ("idle", 0.3),
        ):
            if self.chance(share):
                most = self.rng.choice([0.3, 0.5, 0.9]) if limit == "voltage_drop" else None
                self.add(
                    SupplyLimit,
                    f"supply-{limit.replace('_', '-')}",
                    kind="supply_limit",
                    limit=limit,
                    most=most,
                )
        if self.chance(0.45):
            at = self.rng.choice([("tray",), ("tray", "rear_pods"), ("lid", "rear_pods"), ()])
            fact = "tail_limit_kg" if at and self.chance(0.6) else None
            self.add(MassLimit, "mass", kind="mass_limit", at=at, fact=fact)
        if self.chance(0.4):
            self.add(PresetChain, "preset-chain", kind="preset_chain", subject=self.selector(("amplifier",)))

    def _clearances(self) -> None:
        speakers = ("speaker",)
        if self.chance(0.55):
            relief = {"relieved_by_slot": "ring", "relieved_by_spec": "depth_mm"} if self.chance(0.6) else {}
            self._clearance(
                "too-deep", speakers, "depth_mm", "at_most", "depth_mm", self.rng.choice([0.0, 1.5]), **relief
            )
        if self.chance(0.35):
            self._clearance("too-small", speakers, "cutout_mm", "at_least", "opening_mm", 0.0)
        if self.chance(0.15):
            self._clearance(
                "wrong-size", speakers, "cutout_mm", "equals", "opening_mm", self.rng.choice([0.0, 2.0])
            )

    def _clearance(self, name, kinds, spec, relation, geometry, margin, **relief) -> None:
        subject = Selector(kind="speaker") if self.chance(0.6) else self.selector(kinds)
        if any(part.kind != "speaker" for part in self.fitted_parts() if _may_select(subject, part)):
            subject = Selector(kind="speaker")
        self.add(
            Clearance,
            name,
            kind="clearance",
            subject=subject,
            spec=spec,
            relation=relation,
            geometry=geometry,
            margin=margin,
            when=self.when(0.25),
            **relief,
        )

    def _needs(self) -> None:
        for _ in range(self.rng.choice([0, 0, 0, 1, 1, 2])):
            self.add(
                Requires,
                "needs",
                kind="requires",
                subject=self.selector(),
                needs=self.selector(),
                same_place=self.chance(0.3),
                when=self.when(),
            )
        for _ in range(self.rng.choice([0, 0, 0, 1])):
            together = self.selector() if self.chance(0.6) else None
            when = self.when(0.4) if together else self.condition()
            self.add(
                Excludes,
                "not-with",
                kind="excludes",
                subject=self.selector(),
                together_with=together,
                when=when,
                same_place=self.chance(0.3),
            )
        if any(part.kind == "flash" for part in self.parts.values()) and self.chance(0.5):
            needs = self.rng.choice([Selector(kind="flash"), Selector(tag="rear-open")])
            subject = self.selector(("head_unit",))
            self.add(
                FlashNeeded, "flash", kind="flash_needed", subject=subject, needs=needs, when=self.when(0.7)
            )

    def _exceptions(self) -> None:
        kinds = {"clearance", "requires", "excludes", "flash_needed"}
        rules: list[Any] = [rule for rule in self.rules.values() if rule.kind in kinds]
        if not rules or not self.chance(0.35):
            return
        rule = self.rng.choice(rules)
        matching = [part.id for part in self.fitted_parts() if _may_select(rule.subject, part)]
        if matching:
            subject = Selector(part=(self.rng.choice(matching),), at=rule.subject.at)
            outcome = "allow" if self.chance(0.65) else "refuse"
            self.add(
                MeasuredException,
                "measured",
                kind="measured_exception",
                overrides=rule.id,
                subject=subject,
                outcome=outcome,
                when=self.when(0.4),
                source=SHEET,
            )

    def _operations(self) -> list[str]:
        """Draw what is paid for; give the names of what is torn down."""
        tear = [f"strip-{number}" for number in range(self.rng.choice([0, 1, 2, 3]))]
        for number, name in enumerate(tear):
            after = tuple(one for one in tear[:number] if self.chance(0.5))
            hinged = Comparison(fact="bike.hinge", equals="long") if self.chance(0.2) else None
            self._operation(name, after=after, when=hinged, home=self.chance(0.9))
        for _ in range(self.rng.choice([2, 3, 4, 5])):
            action = self.rng.choice(["add", "add", "add", "remove", "remove", "preset", "replug"])
            subject = self.selector(("amplifier",) if action == "preset" else ())
            self._work(action, subject, [] if action == "preset" else tear)
        return tear

    def _work(self, action: str, subject: Selector, tear: list[str]) -> None:
        after = tuple(one for one in tear if self.chance(0.45))
        when = self.condition(1, fitted=False) if self.chance(0.25) else None
        self._operation(
            f"{action}-work", subject=subject, action=action, after=after, when=when, home=self.chance(0.9)
        )

    def _operation(self, name, **more) -> None:
        self.add(Operation, name, kind="operation", minutes=self.rng.choice([0, 7, 13, 25, 40, 55]), **more)

    def _holds(self) -> None:
        if self.chance(0.15):
            pool = [part for part in self.fitted_parts() if not part.stock_only]
            if pool:
                first = self.first + timedelta(days=self.rng.choice([-30, 100, 300]))
                last = first + timedelta(days=self.rng.choice([40, 250])) if self.chance(0.6) else None
                subject = Selector(part=(self.rng.choice(pool).id,))
                self.add(Hold, "hold", kind="hold", subject=subject, first=first, last=last)


def _may_select(selector: Selector, part: Part) -> bool:
    """Tell whether a selector may mean a part, its line and places aside."""
    return (
        (not selector.part or part.id in selector.part)
        and selector.kind in (None, part.kind)
        and selector.slot in (None, part.slot)
        and (selector.tag is None or selector.tag in part.tags)
    )
