"""What a part at a place means to the answers on one bike: all that they take from the catalog, thresholds decided.

An answer is a function of the meanings of the placements that its builds may hold (`rules.impact.reach`). Two releases
in which these are equal give equal answers: nothing has to be asked again. Dimensions are compared by what they
decide, so that a pod that grows where everything had room before means the same; whatever is summed (mass, current,
power) is compared as it is written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date

from rules.build import Placement
from rules.catalog.condition import All, AnyOf, Comparison, Condition, Fitted, Not
from rules.catalog.facts import Unknown, Value
from rules.catalog.part import RUN_KINDS
from rules.catalog.rule import Clearance, Excludes, FlashNeeded, Requires
from rules.conditions import compares
from rules.desk import Desk
from rules.kinds import clearance
from rules.mating import faces_mate
from rules.tables import PartRule
from rules.verdict import Cause, Status
from rules.wires import Wires

Meaning = object
"""Anything that can be compared; None where there is nothing to mean."""

ACTIONS = ("add", "remove", "replug", "preset")


class Meanings:
    """Reads meanings on one bike.

    Args:
        watched: Parts that differ between the releases: what they relieve is told part by part.
        days: Days on which money is compared.
    """

    def __init__(self, desk: Desk, days: tuple[date, ...], watched: frozenset[str]) -> None:
        self.desk = desk
        self.bench = desk.bench
        self.days = days
        self.watched = watched
        self._outcomes: dict[tuple[str, str, Meaning], Meaning] = {}

    def ground(self) -> Meaning:
        """Give what every answer on the bike depends on: what is on it, and its own plugs."""
        bench = self.bench
        return bench.present, bench.stock, self.plugs(), bench.found

    def plugs(self) -> Meaning:
        """Give what the bike's own plugs are like."""
        return _plugs(self.bench.loom)

    def rules(self, placed: Placement) -> Meaning:
        """Give what the catalog's rules, its slot and its mass say of a placement."""
        bench, part = self.bench, self.bench.part(placed)
        if placed not in bench.universe and placed not in bench.present:
            return None
        slot = part.slot or ""
        return (
            (part.kind, slot, bench.capacity(placed.place, slot), part.kind in RUN_KINDS, part.rewires),
            (sorted(part.host), part.tags, part.colour, bench.tables.catalog.lines[part.id]),
            None if slot == "carrier" else _plain(bench.carrier_cause(placed.place)),
            tuple(self._masses(placed)),
            tuple(self._part_rules(placed)),
            tuple(
                (rule.id, self._condition(rule.when, placed))
                for rule in bench.tables.advice[part.id]
                if bench.selects(rule.subject, placed)
            ),
        )

    def is_refused(self, placed: Placement) -> bool:
        """Tell whether a part is refused at a place whatever else is fitted, so that no extras ever hold it."""
        if placed not in self.bench.universe:
            return True
        return any(_always_refuses(meaning) for meaning in self._part_rules(placed))

    def refusal(self, placed: Placement) -> Meaning:
        """Give all that is ever told of a part which is refused at a place outright; None where it may not be.

        Outright: by a finding that nothing else could clear, so that no search is made. Then no build holds it that anybody is told
        of. What relieves it, what it costs and what work it takes are not looked at; whether it is sold decides words.
        """
        bench, part = self.bench, self.bench.part(placed)
        if placed not in bench.universe or placed in bench.present or bench.found.own_parts:
            return None
        rules = [
            (rule, meaning)
            for rule in bench.tables.part_rules[placed.part]
            if bench.selects(rule.subject, placed)
            and (meaning := self._with_exceptions(rule, placed, bare=True)) is not None
        ]
        if any(self._is_relieved_now(rule, placed) for rule, _ in rules):
            return None
        lacks_mate = self._lacks_mate(placed)
        if not lacks_mate and not any(self._is_outright(rule, meaning) for rule, meaning in rules):
            return None
        return (
            (part.kind, part.slot, sorted(part.host), part.tags, part.channels, bench.is_chained(placed)),
            _plain(bench.carrier_cause(placed.place)),
            tuple(self._masses(placed)),
            tuple(meaning for _, meaning in rules),
            lacks_mate,
            tuple(self._sold(placed.part, day) for day in self.days),
        )

    def _sold(self, part: str, day: date) -> Meaning:
        hold = self.bench.tables.hold(part, day)
        return self.desk.pricer.price(part, day) is None, hold and hold.id

    @staticmethod
    def _is_outright(rule: PartRule, meaning: Meaning) -> bool:
        is_relieved = isinstance(rule, Clearance) and rule.relieved_by_slot is not None
        return not is_relieved and _always_refuses(meaning)

    def _is_relieved_now(self, rule: PartRule, placed: Placement) -> bool:
        """Tell whether something on the bike may relieve a part already: then its bare dimension does not decide."""
        slot = rule.relieved_by_slot if isinstance(rule, Clearance) else None
        return slot is not None and any(
            x.place == placed.place and self.bench.part(x).slot == slot for x in self.bench.present | {placed}
        )

    def _lacks_mate(self, placed: Placement) -> bool:
        """Tell whether a plug that must be mated has no mate on this bike, nor on any part that could come in."""
        bench = self.bench
        wires = bench.tables.wires[placed.part]
        if bench.part(placed).channels:
            return False
        for name, connector in wires.connectors.items():
            place, face = connector.place or placed.place, wires.faces[name]
            on_loom = any(
                (bench.loom.connectors[x].place == place and faces_mate(face, other))
                for x, other in bench.loom.faces.items()
            )
            if connector.needed and not on_loom and not bench.mateable(place, face) - {placed}:
                return True
        return False

    def wires(self, placed: Placement) -> Meaning:
        """Give what wirings, loads, supply and presets take from a placement."""
        bench, part, tables = self.bench, self.bench.part(placed), self.bench.tables
        if not bench.is_wired(placed):
            return None
        is_source = bool(part.supply or part.cable) or part.kind == "amplifier"
        return (
            _plugs(tables.wires[part.id]),
            (part.channels, part.speaker, part.supply, part.cable, part.kind),
            tables.needs_tags.intersection(part.tags),
            tuple((x.id, x.limit) for x in tables.channel_limits) if part.channels or part.speaker else (),
            tuple((x.id, x.limit, x.most) for x in tables.supply_limits) if is_source else (),
            self._charging() if part.kind == "amplifier" else (),
            bench.is_chained(placed),
            tables.services.get(part.id, ()),
        )

    def work(self, placed: Placement) -> Meaning:
        """Give the labour of a placement."""
        pricer = self.desk.pricer
        return tuple(
            sorted(
                (action, work.operation, work.of is None, rule.minutes, rule.home)
                for action in ACTIONS
                for work in pricer.operations(placed, action)
                for rule in [pricer.operation(work)]
            )
        )

    def money(self, placed: Placement) -> Meaning:
        """Give what a part costs and fetches, alone and in bundles, and whether it is sold at all."""
        parts, tables = self.bench.tables.catalog.parts, self.bench.tables
        bundles = [parts[name] for name in tables.bundles if placed.part in parts[name].members]
        presets = [parts[name] for name in tables.services.get(placed.part, ())]
        return tuple(
            (
                self._price(placed.part, day),
                tuple((x.id, x.members, self._price(x.id, day)) for x in bundles),
                tuple((x.id, x.preset, self._price(x.id, day)) for x in presets),
                self._rates(day),
            )
            for day in self.days
        )

    def _price(self, part: str, day: date) -> Meaning:
        pricer, hold = self.desk.pricer, self.bench.tables.hold(part, day)
        return pricer.price(part, day), pricer.resale(part, day), hold and hold.id

    def _rates(self, day: date) -> Meaning:
        found = self.desk.pricer.list_on(day)
        return found and (found[0].labour_per_hour, found[0].freight, found[1])

    def _charging(self) -> Meaning:
        names = ("charging_headroom_a", "idle_headroom_a")
        return tuple(_plain(self.bench.bike_cause(name)) for name in names)

    def _masses(self, placed: Placement) -> Iterator[Meaning]:
        bench = self.bench
        mass = _plain(bench.cause("part.mass_kg", placed))
        for rule in bench.tables.mass_limits if mass != 0 else ():
            if rule.fact is None:
                limit = bench.place_mass_cause(placed.place)
                if limit is not None and (not rule.at or placed.place in rule.at):
                    yield rule.id, mass, _plain(limit)
            elif not rule.at or placed.place in rule.at:
                yield rule.id, rule.at, mass, _plain(bench.bike_cause(rule.fact))

    def _part_rules(self, placed: Placement) -> Iterator[Meaning]:
        for rule in self.bench.tables.part_rules[placed.part]:
            if self.bench.selects(rule.subject, placed):
                meaning = self._with_exceptions(rule, placed)
                if meaning is not None:
                    yield meaning

    def _with_exceptions(self, rule: PartRule, placed: Placement, *, bare: bool = False) -> Meaning:
        meaning = self._part_rule(rule, placed, bare=bare)
        for exception in self.bench.tables.exceptions_for(rule.id, placed):
            when = self._condition(exception.when, placed)
            if exception.outcome == "refuse" and when is not False:
                meaning = (exception.id, when, None if when is True else meaning)
            elif meaning is not None and when is not False:
                meaning = None if when is True else (exception.outcome, when, meaning)
        return meaning

    def _part_rule(self, rule: PartRule, placed: Placement, *, bare: bool) -> Meaning:
        when = self._condition(rule.when, placed)
        if when is False:
            return None
        match rule:
            case Clearance():
                room = self._outcome(rule, placed, ()) if bare else self._room(rule, placed)
                room = room or None
                return None if room is None else (rule.id, when, room)
            case Requires():
                return rule.id, when, rule.needs, rule.same_place
            case FlashNeeded():
                return rule.id, when, rule.needs
            case Excludes():
                return rule.id, when, rule.together_with, rule.same_place

    def _room(self, rule: Clearance, placed: Placement) -> Meaning:
        """Give how a dimension comes out: bare, and with each part that may relieve it; None if it always clears."""
        if placed in self.bench.stock or self.bench.part(placed).slot == rule.relieved_by_slot:
            return self._room_anew(rule, placed)
        # Many parts have the same dimension, and what may relieve one relieves all.
        key = (rule.id, placed.place, _plain(self.bench.cause(f"part.{rule.spec}", placed)))
        if key not in self._outcomes:
            self._outcomes[key] = self._room_anew(rule, placed)
        return self._outcomes[key]

    def _room_anew(self, rule: Clearance, placed: Placement) -> Meaning:
        bare = self._outcome(rule, placed, ())
        if rule.relieved_by_slot is None or rule.relieved_by_spec is None:
            return bare or None
        if self.bench.capacity(placed.place, rule.relieved_by_slot) > 1:
            return self._raw(rule, placed)
        relief = self._relief_in(placed.place, rule.relieved_by_slot, rule.relieved_by_spec)
        outcomes = [self._outcome(rule, placed, (x,)) for x in relief if x != placed]
        if not bare and not any(outcomes):
            return None
        named = tuple(x.part if x.part in self.watched else "" for x in relief if x != placed)
        return bare, tuple(zip(named, outcomes, strict=True))

    def _raw(self, rule: Clearance, placed: Placement) -> Meaning:
        own = self.bench.cause(f"part.{rule.spec}", placed)
        room = self.bench.cause(f"place.{rule.geometry}", placed)
        return _plain(own), _plain(room), rule.margin, rule.relation, rule.relieved_by_spec

    def _outcome(self, rule: Clearance, placed: Placement, relief: tuple[Placement, ...]) -> Meaning:
        """Give what `rules.kinds.clearance.check` finds where the rule applies, without its words: status, and what is missing."""
        if placed in self.bench.stock:
            return ()
        look = self.bench.fact
        own, room = look(f"part.{rule.spec}", placed), look(f"place.{rule.geometry}", placed)
        clears = clearance.clears(rule, own, room, [look(f"part.{rule.relieved_by_spec}", x) for x in relief])
        if clears is not None:
            return () if clears else ((Status.REFUSED, ()),)
        causes = [self.bench.cause(f"part.{rule.spec}", placed)]
        causes.append(self.bench.cause(f"place.{rule.geometry}", placed))
        causes += [self.bench.cause(f"part.{rule.relieved_by_spec}", x) for x in relief]
        return ((Status.UNKNOWN, tuple(cause.fact for cause in causes if cause.is_missing)),)

    def _relief_in(self, place: str, slot: str, spec: str) -> tuple[Placement, ...]:
        """Give one part of each different relief, and each watched one."""
        key = (place, slot, spec, self.watched)
        if key not in self.bench.reliefs:
            found: dict[object, Placement] = {}
            for x in sorted(self.bench.in_slot(place, slot)):
                value = _plain(self.bench.cause(f"part.{spec}", x))
                found.setdefault(("watched", x) if x.part in self.watched else (str(value), ""), x)
            self.bench.reliefs[key] = tuple(found[key] for key in sorted(found, key=str))
        return self.bench.reliefs[key]

    def _condition(self, when: Condition | None, placed: Placement) -> Meaning:
        return True if when is None else decided(when, lambda name: self.bench.fact(name, placed))


def _always_refuses(meaning: Meaning) -> bool:
    """Tell whether what a rule means is a refusal that no part could clear."""
    match meaning:
        case (_, True, None):  # An exception that refuses, or an exclusion that needs nothing beside it.
            return True
        case (_, True, None, False):
            return True
        case (_, True, ((Status.REFUSED, _),)):
            return True
        case (_, True, (((Status.REFUSED, _),), outcomes)) if isinstance(outcomes, tuple):
            return all(outcome and outcome[0][0] is Status.REFUSED for _, outcome in outcomes)
    return False


def decided(when: Condition, look: Callable[[str], Value | Unknown | None]) -> Meaning:
    """Decide what the facts alone decide.

    Returns: True, False, or what is left: what is fitted, and which facts are not known.
    """
    match when:
        case Comparison():
            holds = compares(when, look(when.fact))
            return ("unknown", when.fact) if holds is None else holds
        case Fitted():
            return when
        case Not():
            inner = decided(when.not_, look)
            return not inner if isinstance(inner, bool) else ("not", inner)
        case All():
            return _joined("all", (decided(x, look) for x in when.all), decisive=False)
        case AnyOf():
            return _joined("any", (decided(x, look) for x in when.any), decisive=True)


def _joined(word: str, members: Iterable[Meaning], *, decisive: bool) -> Meaning:
    left: list[Meaning] = []
    for member in members:
        if member is decisive:
            return decisive
        if not isinstance(member, bool):
            left.append(member)
    return (word, *left) if left else not decisive


def _plain(cause: Cause) -> Meaning:
    """Give a fact's value; how somebody would find out an unknown one decides nothing."""
    return "unknown" if isinstance(cause.value, Unknown) else cause.value


def _plugs(wires: Wires) -> Meaning:
    plugs = tuple(
        (name, wires.faces[name], x.needed, x.place, x.accepts, x.presence is None)
        for name, x in sorted(wires.connectors.items())
    )
    return plugs, dict(wires.feeds), wires.sinks
