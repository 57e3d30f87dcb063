"""The facts of a fit question, written for the declarative model in verdicts.lp."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import floor, lcm

from rules.build import Placement
from rules.catalog.condition import All, AnyOf, Comparison, Fitted, Not
from rules.question import FitQuestion
from tests.oracle.reading import Mate, Node, World, exact, known


class Facts:
    """Collects facts; `text` is the program."""

    def __init__(self, world: World, question: FitQuestion, base: frozenset[Placement]) -> None:
        self.world, self.question, self.base = world, question, base
        self.lines: list[str] = []
        self.edges: dict[str, Mate] = {}
        self.formulas = 0
        self.resale, self.undoable = 0, True
        removed = world.present - base
        extras = [
            one
            for one in world.placeable
            if one not in base | removed and world.for_sale(one.part, question.on)
        ]
        self.extras = frozenset(extras)
        self.universe = sorted(base | self.extras | world.present)
        self._placements()
        self._checks()
        self._sums()
        self._plugs()
        self._wired_now()
        self._channels()
        self._presets()
        self._kits()
        self._money(removed)

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    def say(self, name: str, *values) -> None:
        """Add a fact. Numbers stay numbers, everything else is quoted."""
        told = ",".join(str(value) if isinstance(value, int) else '"' + str(value) + '"' for value in values)
        self.lines.append(f"{name}({told})." if values else f"{name}.")

    def rules(self, kind: str):
        return self.world.rules(kind)

    # Placements -----------------------------------------------------------------------------------

    def _placements(self) -> None:
        for one in self.universe:
            slot = ".".join(self.world.slot(one))
            self.say("slot", one, slot)
            self.say("cap", slot, self.world.capacity(self.world.slot(one)))
            self.say("part", one, one.part)
            for name, holds in (
                ("base", one in self.base),
                ("present", one in self.world.present),
                ("extra", one in self.extras),
                ("vague_place", one.place in self.world.found.unknown_work),
                ("held", self.world.on_hold(one.part, self.question.on)),
                ("amplifier", self.world.part(one).kind == "amplifier"),
                ("in_chain", self.world.part(one).kind == "head_unit"),
                ("supplied", self.world.part(one).supply),
                ("kit", self.world.part(one).cable),
                ("splices", self.world.part(one).rewires),
                ("run", self._is_run(one)),
            ):
                if holds:
                    self.say(name, one)

    def _is_run(self, one: Placement) -> bool:
        """Tell whether a part runs through the bike and did not leave the works with it."""
        return self.world.part(one).kind in {"harness", "power_kit"} and one not in self.world.stock

    # Formulas -------------------------------------------------------------------------------------

    def _formula(self) -> int:
        self.formulas += 1
        return self.formulas

    def constant(self, value: bool | None) -> int:
        name = self._formula()
        self.say("const", name, {True: "true", False: "false", None: "unknown"}[value])
        self.lines[-1] = self.lines[-1].replace('"', "")
        return name

    def joined(self, kind: str, parts) -> int:
        name = self._formula()
        self.say(kind, name)
        for part in parts:
            self.say("arg", name, part)
        return name

    def negated(self, part: int) -> int:
        name = self._formula()
        self.say("neg", name, part)
        return name

    def placed(self, matches) -> int:
        """Give a formula: some placement that matches is there."""
        name = self._formula()
        for one in self.universe:
            if matches(one):
                self.say("alt", name, one)
        return name

    def condition(self, condition, one: Placement):
        match condition:
            case None:
                return self.constant(True)
            case All():
                return self.joined("conj", [self.condition(part, one) for part in condition.all])
            case AnyOf():
                return self.joined("disj", [self.condition(part, one) for part in condition.any])
            case Not():
                return self.negated(self.condition(condition.not_, one))
            case Fitted():
                return self.beside(condition.fitted, one, near=condition.same_place)
            case Comparison():
                return self.constant(self._compared(condition, one))

    def beside(self, selector, one: Placement, *, near: bool) -> int:
        world = self.world
        return self.placed(
            lambda other: (
                other != one
                and world.selects_placed(selector, other)
                and (not near or one.place == other.place)
            )
        )

    def _compared(self, comparison: Comparison, one: Placement) -> bool | None:
        of, _, name = comparison.fact.partition(".")
        readers = {
            "bike": lambda: self.world.bike_fact(name),
            "place": lambda: self.world.geometry(one.place, name),
            "part": lambda: self.world.part_fact(one, name),
        }
        value = readers[of]()
        if value is None:
            return None
        if comparison.has is not None:
            return comparison.has in value
        if comparison.equals is not None or comparison.one_of is not None:
            return value in (comparison.one_of or (comparison.equals,))
        low, high = comparison.at_least, comparison.at_most
        return (low is None or value >= low) and (high is None or value <= high)

    # Checks of things -----------------------------------------------------------------------------

    def _checks(self) -> None:
        for one in self.universe:
            self._carrier_and_host(one)
            for rule in self.world.rules("clearance", "requires", "flash_needed", "excludes"):
                if self.world.selects_placed(rule.subject, one):
                    self.say("demand", one, self._with_exceptions(rule, one))

    def _carrier_and_host(self, one: Placement) -> None:
        world, hosts = self.world, self.world.part(one).host
        if hosts:
            self.say(
                "demand", one, self.placed(lambda other: other.place == one.place and other.part in hosts)
            )
        if world.part(one).slot != "carrier":
            needed = self.constant(known(world.has.places[one.place].carrier_needed))
            carried = self.placed(
                lambda other: other.place == one.place and world.part(other).slot == "carrier"
            )
            self.say("demand", one, self.joined("disj", [self.negated(needed), carried]))

    def _with_exceptions(self, rule, one: Placement) -> int:
        spared = rule.kind == "clearance" and one in self.world.stock
        formula = self.constant(True) if spared else self._rule(rule, one)
        for other in self.rules("measured_exception"):
            if other.overrides == rule.id and self.world.selects_placed(other.subject, one):
                applies = self.condition(other.when, one)
                if other.outcome == "allow":
                    formula = self.joined("disj", [applies, formula])
                else:
                    formula = self.joined("conj", [self.negated(applies), formula])
        return formula

    def _rule(self, rule, one: Placement) -> int:
        when = self.condition(rule.when, one)
        if rule.kind == "excludes":
            together = (
                [self.beside(rule.together_with, one, near=rule.same_place)] if rule.together_with else []
            )
            return self.negated(self.joined("conj", [when, *together]))
        if rule.kind == "clearance":
            return self.joined("disj", [self.negated(when), self._clearance(rule, one)])
        near = rule.kind == "flash_needed" or rule.same_place
        return self.joined("disj", [self.negated(when), self.beside(rule.needs, one, near=near)])

    def _clearance(self, rule, one: Placement) -> int:
        size, room = (
            exact(self.world.part_fact(one, rule.spec)),
            exact(self.world.geometry(one.place, rule.geometry)),
        )
        if size is None or room is None:
            return self.constant(None)
        lacking, margin = size - room, exact(rule.margin)
        if rule.relation == "at_most":
            return self._gains("gain_least", lacking + margin, rule, one)
        if rule.relation == "at_least":
            return self._gains("gain_most", lacking - margin, rule, one)
        both = [
            self._gains("gain_least", lacking - margin, rule, one),
            self._gains("gain_most", lacking + margin, rule, one),
        ]
        return self.joined("conj", both)

    def _gains(self, kind: str, bound: Fraction, rule, one: Placement) -> int:
        """Bound the relief, in hundredths of a millimetre."""
        name = self._formula()
        self.say(kind, name, int(100 * bound))
        for other in self.universe:
            if rule.relieved_by_slot and self.world.slot(other) == (one.place, rule.relieved_by_slot):
                gain = exact(self.world.part_fact(other, rule.relieved_by_spec))
                if gain is None:
                    self.say("vague_gain", name, other)
                else:
                    self.say("gain", name, other, int(100 * gain))
        return name

    # Sums -----------------------------------------------------------------------------------------

    def _sums(self) -> None:
        for rule in self.rules("mass_limit"):
            places = [place for place in self.world.has.places if not rule.at or place in rule.at]
            if rule.fact:
                self._masses(rule.id, places, exact(self.world.bike_fact(rule.fact)))
            else:
                for place in places:
                    if self.world.mass_limit(place) is not ...:
                        self._masses(f"{rule.id} {place}", [place], self.world.mass_limit(place))
        for rule in self.rules("supply_limit"):
            if rule.limit == "charging":
                amplifiers = [one for one in self.universe if self.world.part(one).kind == "amplifier"]
                loads = {one: list(_draws(self.world.part(one))) for one in amplifiers}
                self._sum(rule.id, loads, exact(self.world.bike_fact("charging_headroom_a")))

    def _masses(self, name: str, places, limit) -> None:
        ones = [one for one in self.universe if one.place in places]
        self._sum(name, {one: [exact(self.world.part(one).mass_kg)] for one in ones}, limit)

    def _sum(self, name: str, loads, limit: Fraction | None) -> None:
        terms = [term for load in loads.values() for term in load if term is not None]
        scale = lcm(*(term.denominator for term in [*terms, limit or Fraction(1)]))
        for one, load in loads.items():
            whole = int(scale * sum(term for term in load if term is not None))
            assert whole < 2**30
            self.say("load", name, one, whole)
            if None in load:
                self.say("vague_load", name, one)
        if limit is None:
            self.say("vague_limit", name)
        else:
            self.say("limit", name, int(scale * limit))

    # Plugs ----------------------------------------------------------------------------------------

    def _plugs(self) -> None:
        nodes = self.world.nodes(self.universe)
        for node in nodes:
            self.say("accepts", node.name, self.world.connector(node).accepts)
            if node.owner is None:
                self.say("loom_node", node.name)
            else:
                self.say("node", node.name, node.owner)
                if self.world.connector(node).needed:
                    self.say("needed", node.name)
        for one, two in combinations(nodes, 2):
            if self.world.mate(one, two):
                edge = f"{one.name} - {two.name}"
                self.edges[edge] = frozenset((one, two))
                self.say("edge", edge, one.name, two.name)
                if self.world.unknown_mate(one, two):
                    self.say("vague_edge", edge)
        for owner in [None, *self.universe]:
            for fed, feeding in self.world.links(owner).items():
                here, there = Node(owner, fed.connector), Node(owner, feeding.connector)
                self.say("link", here.name, fed.lane, fed.side, there.name, feeding.lane, feeding.side)

    def _wired_now(self) -> None:
        if self.world.now is not None:
            self.say("wired")
            for edge, mate in self.edges.items():
                if mate in self.world.now:
                    self.say("now", edge)

    # Channels and speakers ------------------------------------------------------------------------

    def _channels(self) -> None:
        for rule in [*self.rules("channel_limit"), *self.rules("supply_limit")]:
            self.lines.append(f"rule({rule.limit}).")
        sinks = [sink for one in self.universe for sink in self.world.sinks(one)]
        ohms = {sink: exact(self.world.part(sink.speaker).speaker.impedance_ohm) for sink in sinks}
        scale = 24 * lcm(*((1 / ohm).denominator for ohm in ohms.values() if ohm is not None))
        for sink in sinks:
            self._sink(sink, ohms[sink], scale)
        for one in self.universe:
            for channel in self.world.part(one).channels:
                self._channel(one, channel, scale)

    def _sink(self, sink, ohm, scale: int) -> None:
        name = f"{sink.speaker} {sink.side}"
        paired = self.world.part(sink.speaker).connectors["terminals"].paired
        self.say(
            "sink",
            name,
            sink.speaker,
            Node(sink.speaker, "terminals").name,
            "drive",
            sink.side if paired else None,
        )
        self.say("zone", name, f"{sink.speaker.place} {sink.side}")
        self._known_or_vague(name, "conductance", "vague_ohm", None if ohm is None else int(scale / ohm))
        limit = exact(self.world.part(sink.speaker).speaker.rms_w)
        self._known_or_vague(name, "bears", "vague_bears", None if limit is None else int(limit))

    def _known_or_vague(self, name: object, fact: str, vague: str, value) -> None:
        if value is None:
            self.say(vague, name)
        else:
            self.say(fact, name, value)

    def _channel(self, one: Placement, channel, scale: int) -> None:
        name, (plug, lane) = f"{one} {channel.id}", channel.output.split(".")
        self.say("of", name, one)
        self.say("called", name, channel.id)
        self.say("out", Node(one, plug).name, lane, name)
        lowest, watts = exact(channel.min_ohm), known(channel.watts)
        self._known_or_vague(
            name, "most_conductance", "vague_min", None if lowest is None else floor(scale / lowest)
        )
        if watts is None:
            self.say("vague_watts", name)
        for ohm, power in (watts or {}).items():
            self.say("rated", name, floor(scale / Fraction(ohm)), int(power))
        for half in channel.bridges:
            self.say("bridges", name, f"{one} {half}")
        if channel.needs:
            self.say("wants_tag", name)
            for other in self.universe:
                if other.place == one.place and channel.needs in self.world.part(other).tags:
                    self.say("opens", name, other)

    # Presets --------------------------------------------------------------------------------------

    def _presets(self) -> None:
        world = self.world
        for one in self.universe:
            part = world.part(one)
            for head in self.universe:
                if (
                    world.part(head).kind == "head_unit"
                    and head.place == one.place
                    and head.part in part.host
                ):
                    self.say("hosts", head, one)
            if part.kind == "amplifier":
                if any(world.selects_placed(rule.subject, one) for rule in self.rules("preset_chain")):
                    self.say("chained", one)
                if one in world.present and one.part in world.found.presets:
                    self.say("in_force_now", one)

    # Power kits -----------------------------------------------------------------------------------

    def _kits(self) -> None:
        """Currents in tenths of an ampere."""
        most = next(
            (exact(rule.most) for rule in self.rules("supply_limit") if rule.limit == "voltage_drop"),
            Fraction(1),
        )
        for one in self.universe:
            supply, cable = self.world.part(one).supply, self.world.part(one).cable
            if supply:
                self._known_or_vague(one, "fuse", "vague_fuse", _tenths(supply.fuse_a))
                self._known_or_vague(one, "full", "vague_full", _tenths(supply.full_a))
            if cable:
                self._known_or_vague(one, "ampacity", "vague_ampacity", _tenths(cable.ampacity_a))
                length, area = exact(cable.length_m), exact(cable.area_mm2)
                loss = None if None in (length, area) else 2 * Fraction("0.0178") * length / area
                self._known_or_vague(
                    one, "droppable", "vague_cable", None if loss is None else floor(10 * most / loss)
                )
                for fuse in cable.fuses_a:
                    self.say("bag", one, _tenths(fuse))
                self.say("biggest", one, _tenths(max(cable.fuses_a)))

    # Money ----------------------------------------------------------------------------------------

    def _money(self, removed) -> None:
        prices = self.world.price_list(self.question.on)
        if prices is None:
            return
        home = self.question.fitter == "home"
        self.resale, self.undoable = self._fetched(prices, removed), False
        tears: set[str] = set()
        for one in self.universe:
            if one not in self.world.present:
                self.say("price", one, prices.prices.get(one.part, 0))
                tears |= self._work(one, "add", prices, home=home)
            else:
                tears |= self._work(one, "remove" if one in removed else "replug", prices, home=home)
        for name in tears:
            if not home or not self.world.rule(name).home:
                self.say("tear_down", name, self._worth(self.world.rule(name).minutes, prices))
        self._services(prices, home=home)
        self._bundles(prices)

    def _fetched(self, prices, removed) -> int:
        return sum(prices.resale.get(one.part, 0) for one in removed)

    def _worth(self, minutes: int, prices) -> int:
        return floor(Fraction(minutes * prices.labour_per_hour, 60) + Fraction(1, 2))

    def _operations(self, one: Placement, action: str):
        for rule in self.rules("operation"):
            if (
                rule.action == action
                and self.world.selects_placed(rule.subject, one)
                and self._may_apply(rule, one)
            ):
                yield rule

    def _may_apply(self, rule, one: Placement) -> bool:
        """Decide an operation's `when`, which never asks what is fitted; unknown counts as true."""
        return _static(rule.when, lambda comparison: self._compared(comparison, one)) is not False

    def _reached(self, rule, one: Placement) -> set[str]:
        names = {name for name in rule.after if self._may_apply(self.world.rule(name), one)}
        return names.union(*(self._reached(self.world.rule(name), one) for name in names))

    def _work(self, one: Placement, action: str, prices, *, home: bool) -> set[str]:
        """Say what a change is worth in labour (home work is free); give the tear-down that it reaches."""
        reached: set[str] = set()
        for rule in self._operations(one, action):
            tears = self._reached(rule, one)
            reached |= tears
            for name in tears:
                if action == "remove":
                    self.say("torn_by_removal", name)
                else:
                    self.say({"add": "reaches", "replug": "reaches_by_replug"}[action], one, name)
            if not home or not rule.home:
                self._line(one, rule, action, prices)
        return reached

    def _line(self, one: Placement, rule, action: str, prices) -> None:
        amount = self._worth(rule.minutes, prices)
        if action == "remove":
            self.resale -= amount
        else:
            self.say({"add": "work", "replug": "rework"}[action], one, rule.id, amount)

    def _services(self, prices, *, home: bool) -> None:
        for one in self.universe:
            services = self.world.services(one.part, self.question.on)
            if services and self.world.part(one).kind == "amplifier":
                minutes = self.world.minutes(services[0])
                amount = prices.prices[services[0]] + self._worth(minutes, prices)
                amount += sum(self._worth(rule.minutes, prices) for rule in self._operations(one, "preset"))
                self.say("service", one, amount)
        if home:
            self.say("freight", prices.freight)

    def _bundles(self, prices) -> None:
        for bundle in self.world.catalog.parts.values():
            if bundle.members and self.world.for_sale(bundle.id, self.question.on):
                self.say("bundle_price", bundle.id, prices.prices[bundle.id])
                self.say("most_bundles", bundle.id, sum(one.part in bundle.members for one in self.universe))
                for member in set(bundle.members):
                    self.say("holds_member", bundle.id, member, bundle.members.count(member))


def _static(condition, compare):
    """Evaluate a condition without `fitted`."""
    match condition:
        case None:
            return True
        case Comparison():
            return compare(condition)
        case Not():
            inner = _static(condition.not_, compare)
            return None if inner is None else not inner
        case All():
            values = [_static(one, compare) for one in condition.all]
            return False if False in values else None if None in values else True
        case AnyOf():
            values = [_static(one, compare) for one in condition.any]
            return True if True in values else None if None in values else False
    raise AssertionError(condition)


def _tenths(value) -> int | None:
    number = exact(value)
    return None if number is None else int(10 * number)


def _draws(part):
    supply = part.supply
    yield exact(supply.idle_a)
    for channel in part.channels:
        if not channel.bridges:
            table, efficiency = known(channel.watts), exact(supply.efficiency)
            if table is None or efficiency is None:
                yield None
            else:
                yield exact(table[max(table, key=Fraction)]) / (3 * efficiency * Fraction("13.8"))
