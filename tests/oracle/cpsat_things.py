"""The checks of things in the CP-SAT model: what surely passes, in every stage from the first visit on."""

from __future__ import annotations

from rules.build import Placement
from rules.catalog.condition import All, AnyOf, Comparison, Fitted, Not
from tests.oracle.reading import exact, known


class Things:
    """Adds the checks of things to a path model."""

    def __init__(self, path) -> None:
        self.path, self.world, self.logic = path, path.world, path.logic
        for stage in path.stages:
            for one in path.universe:
                for passes in self._checks(one, stage):
                    self.logic.demand(passes, where=[path.started[stage], path.here[one, stage]])
            self._slots(stage)
            self._masses(stage)

    def _here(self, stage: int, matches):
        return self.logic.any_of([self.path.here[one, stage] for one in self.path.universe if matches(one)])

    def _checks(self, one: Placement, stage: int):
        part, world = self.world.part(one), self.world
        if one.place in world.found.unknown_work and one not in world.present:
            yield False
        if known(world.has.places[one.place].carrier_needed) is not False and part.slot != "carrier":
            yield self._here(
                stage, lambda other: other.place == one.place and world.part(other).slot == "carrier"
            )
        if part.host:
            yield self._here(stage, lambda other: other.place == one.place and other.part in part.host)
        for rule in world.rules():
            if rule.kind in {"clearance", "requires", "flash_needed", "excludes"} and world.selects_placed(
                rule.subject, one
            ):
                yield self._after_exceptions(rule, one, stage)

    def _after_exceptions(self, rule, one: Placement, stage: int):
        allowed, refused = [], []
        for other in self.world.rules():
            if (
                other.kind == "measured_exception"
                and other.overrides == rule.id
                and self.world.selects_placed(other.subject, one)
            ):
                if other.outcome == "allow":
                    allowed.append(self.when(other.when, one, stage, sure=True))
                else:
                    refused.append(self.when(other.when, one, stage, sure=False))
        passes = self.logic.any_of([self._passes(rule, one, stage), *allowed])
        return self.logic.all_of([passes, *(self.logic.neg(literal) for literal in refused)])

    def _passes(self, rule, one: Placement, stage: int):
        if rule.kind == "clearance" and one in self.world.stock:
            return True
        spared = self.logic.neg(self.when(rule.when, one, stage, sure=False))
        if rule.kind == "clearance":
            return self.logic.any_of([spared, self._clears(rule, one, stage)])
        if rule.kind == "excludes":
            alone = rule.together_with is not None and self.logic.neg(
                self._other(rule.together_with, one, stage, same_place=rule.same_place)
            )
            return self.logic.any_of([spared, alone])
        near = rule.kind == "flash_needed" or rule.same_place
        return self.logic.any_of([spared, self._other(rule.needs, one, stage, same_place=near)])

    def _other(self, selector, one: Placement, stage: int, *, same_place: bool):
        return self._here(
            stage,
            lambda other: (
                other != one
                and self.world.selects_placed(selector, other)
                and (other.place == one.place or not same_place)
            ),
        )

    def when(self, condition, one: Placement, stage: int, *, sure: bool):
        """Give a literal: the condition certainly holds (`sure`), or it may hold."""
        logic = self.logic
        match condition:
            case None:
                return True
            case All():
                return logic.all_of([self.when(part, one, stage, sure=sure) for part in condition.all])
            case AnyOf():
                return logic.any_of([self.when(part, one, stage, sure=sure) for part in condition.any])
            case Not():
                return logic.neg(self.when(condition.not_, one, stage, sure=not sure))
            case Fitted():
                return self._other(condition.fitted, one, stage, same_place=condition.same_place)
            case Comparison():
                return self.compare(condition, one, sure=sure)

    def compare(self, comparison: Comparison, one: Placement, *, sure: bool) -> bool:
        of, name = comparison.fact.split(".")
        if of == "bike":
            value = self.world.bike_fact(name)
        else:
            value = self.world.geometry(one.place, name) if of == "place" else self.world.part_fact(one, name)
        if value is None:
            return not sure
        tests = (
            (comparison.equals, lambda wanted: value == wanted),
            (comparison.one_of, lambda wanted: value in wanted),
            (comparison.at_least, lambda wanted: value >= wanted),
            (comparison.at_most, lambda wanted: value <= wanted),
            (comparison.has, lambda wanted: wanted in value),
        )
        return next(test(wanted) for wanted, test in tests if wanted is not None)

    def _clears(self, rule, one: Placement, stage: int):
        size, room = self.world.part_fact(one, rule.spec), self.world.geometry(one.place, rule.geometry)
        if size is None or room is None:
            return False
        relief = [
            other
            for other in self.path.universe
            if self.world.slot(other) == (one.place, rule.relieved_by_slot)
        ]
        helps = {other: exact(self.world.part_fact(other, rule.relieved_by_spec)) for other in relief}
        unclear = self._here(stage, lambda other: other in helps and helps[other] is None)
        # In tenths of a millimetre: extra room by relief, against what is missing without it.
        terms = [
            (int(10 * gain), self.path.here[other, stage])
            for other, gain in helps.items()
            if gain is not None
        ]
        missing = 10 * (exact(size) - exact(room))
        margin = 10 * exact(rule.margin)
        enough = self.logic.neg(self.logic.at_most(terms, int(missing + margin) - 1))
        if rule.relation == "at_most":
            fits = enough
        elif rule.relation == "at_least":
            fits = self.logic.at_most(terms, int(missing - margin))
        else:
            not_less = self.logic.neg(self.logic.at_most(terms, int(missing - margin) - 1))
            fits = self.logic.all_of([not_less, self.logic.at_most(terms, int(missing + margin))])
        return self.logic.all_of([fits, self.logic.neg(unclear)])

    def _slots(self, stage: int) -> None:
        slots: dict[tuple[str, str], list[Placement]] = {}
        for one in self.path.universe:
            slots.setdefault(self.world.slot(one), []).append(one)
        for slot, ones in slots.items():
            fits = self.logic.at_most(
                [(1, self.path.here[one, stage]) for one in ones], self.world.capacity(slot)
            )
            self.logic.demand(fits, where=[self.path.started[stage]])

    def _masses(self, stage: int) -> None:
        for rule in self.world.rules():
            if rule.kind != "mass_limit":
                continue
            places = [place for place in self.world.has.places if place in rule.at or not rule.at]
            if rule.fact:
                self._mass(places, exact(self.world.bike_fact(rule.fact)), stage)
            else:
                for place in places:
                    if self.world.mass_limit(place) is not ...:
                        self._mass([place], self.world.mass_limit(place), stage)

    def _mass(self, places, limit, stage: int) -> None:
        """Masses in grams. Without a known limit or mass nothing may be there."""
        started = self.path.started[stage]
        ones = [one for one in self.path.universe if one.place in places]
        masses = {one: exact(self.world.part(one).mass_kg) for one in ones}
        for one in ones:
            if masses[one] is None or (limit is None and masses[one] > 0):
                self.logic.demand(self.logic.neg(self.path.here[one, stage]), where=[started])
        if limit is not None:
            terms = [
                (int(1000 * masses[one]), self.path.here[one, stage])
                for one in ones
                if masses[one] is not None
            ]
            self.logic.demand(self.logic.at_most(terms, int(1000 * limit)), where=[started])
