"""Wishes, promises and the checks of things in the mixed-integer model."""

from __future__ import annotations

from typing import Any

from rules.build import Placement
from rules.catalog.condition import All, AnyOf, Comparison, Fitted, Not
from tests.oracle.milp_model import Frame
from tests.oracle.reading import exact, known


class Things:
    """Adds what must hold of placements alone."""

    def __init__(self, frame: Frame) -> None:
        self.frame, self.world, self.question = frame, frame.world, frame.question
        self._some: dict[Any, Any] = {}
        self._wishes()
        for stage in frame.stages:
            self._slots(stage)
            self._masses(stage)
            for one in frame.placements:
                self._keep_unless_wanted(one, stage)
                self._companions(one, stage)
                for rule in self.world.rules("clearance", "requires", "flash_needed", "excludes"):
                    if self.world.selects_placed(rule.subject, one):
                        self._ruled(rule, one, stage)

    def _need(self, one: Placement, stage: int, holds) -> None:
        """Require a term where the placement is there, once the path has begun."""
        frame = self.frame
        frame.demand(holds >= frame.here(one, stage) + frame.started[stage] - 1)

    # Wishes ---------------------------------------------------------------------------------------

    def _serves(self, want, one: Placement) -> bool:
        return one.part in want.parts and want.place in (None, one.place)

    def _wishes(self) -> None:
        frame = self.frame
        for want in self.question.wants:
            serving = [one for one in frame.placements if self._serves(want, one)]
            for stage in range(want.by or frame.last, frame.last + 1):
                frame.demand(frame.sum(frame.here(one, stage) for one in serving) >= 1)

    def _keep_unless_wanted(self, one: Placement, stage: int) -> None:
        if one in self.question.may_go or one.part in self.question.allowed_rewiring:
            return
        wanted = [
            self.frame.add(other, stage)
            for other in self.frame.placements
            if other.place == one.place and any(self._serves(want, other) for want in self.question.wants)
        ]
        self.frame.demand(self.frame.remove(one, stage) <= self.frame.sum(wanted))

    # Slots, masses, companions --------------------------------------------------------------------

    def _slots(self, stage: int) -> None:
        slots: dict[tuple[str, str], list[Placement]] = {}
        for one in self.frame.placements:
            slots.setdefault(self.world.slot(one), []).append(one)
        for slot, ones in slots.items():
            room, started = self.world.capacity(slot), self.frame.started[stage]
            held = self.frame.sum(self.frame.here(one, stage) for one in ones)
            self.frame.demand(held <= room + len(ones) * (1 - started))

    def _masses(self, stage: int) -> None:
        for rule in self.world.rules("mass_limit"):
            places = [place for place in self.world.has.places if not rule.at or place in rule.at]
            if rule.fact:
                self._mass(places, exact(self.world.bike_fact(rule.fact)), stage)
                continue
            for place in places:
                if self.world.mass_limit(place) is not ...:
                    self._mass([place], self.world.mass_limit(place), stage)

    def _mass(self, places: list[str], limit, stage: int) -> None:
        masses = {
            one: exact(self.world.part(one).mass_kg) for one in self.frame.placements if one.place in places
        }
        whole = sum(masses.values())
        load = self.frame.sum(
            float(mass) * self.frame.here(one, stage) for one, mass in masses.items() if mass
        )
        self.frame.demand(load <= float(limit) + float(whole) * (1 - self.frame.started[stage]))

    def _companions(self, one: Placement, stage: int) -> None:
        part, world = self.world.part(one), self.world
        if world.has.places[one.place].carrier_needed and part.slot != "carrier":
            carriers = [
                x for x in self.frame.placements if x.place == one.place and world.part(x).slot == "carrier"
            ]
            self._need(one, stage, self.frame.sum(self.frame.here(x, stage) for x in carriers))
        if part.host:
            hosts = [x for x in self.frame.placements if x.place == one.place and x.part in part.host]
            self._need(one, stage, self.frame.sum(self.frame.here(x, stage) for x in hosts))

    # Rules ----------------------------------------------------------------------------------------

    def _ruled(self, rule, one: Placement, stage: int) -> None:
        """Require that a rule passes, by itself or by an exception, and that no exception refuses."""
        passes: list[Any] = [1 - self.when(rule.when, one, stage)]
        if rule.kind == "clearance":
            passes.append(1 if one in self.world.stock else self._clears(rule, one, stage))
        elif rule.kind != "excludes":
            near = rule.kind == "flash_needed" or rule.same_place
            passes.append(self._other(rule.needs, one, stage, same_place=near))
        elif rule.together_with is not None:
            passes.append(1 - self._other(rule.together_with, one, stage, same_place=rule.same_place))
        if rule.kind == "clearance" and one in self.world.stock:
            passes = [1]
        for other in self.world.rules("measured_exception"):
            if other.overrides == rule.id and self.world.selects_placed(other.subject, one):
                applies = self.when(other.when, one, stage)
                if other.outcome == "allow":
                    passes.append(applies)
                else:
                    self._need(one, stage, 1 - applies)
        self._need(one, stage, self.frame.sum(passes))

    def _other(self, selector, one: Placement, stage: int, *, same_place: bool):
        """Give a term: some other placed part matches."""
        matching = tuple(
            other
            for other in self.frame.placements
            if other != one
            and self.world.selects_placed(selector, other)
            and (other.place == one.place or not same_place)
        )
        if (matching, stage) not in self._some:
            terms = [self.frame.here(other, stage) for other in matching]
            self._some[matching, stage] = self.frame.any_of(terms) if terms else 0
        return self._some[matching, stage]

    def when(self, condition, one: Placement, stage: int):
        """Give a term: the condition holds of this placement."""
        frame = self.frame
        match condition:
            case None:
                return 1
            case All():
                return frame.all_of([self.when(part, one, stage) for part in condition.all])
            case AnyOf():
                return frame.any_of([self.when(part, one, stage) for part in condition.any])
            case Not():
                return 1 - self.when(condition.not_, one, stage)
            case Fitted():
                return self._other(condition.fitted, one, stage, same_place=condition.same_place)
            case Comparison():
                return int(self.compares(condition, one))

    def compares(self, comparison: Comparison, one: Placement):
        of, name = comparison.fact.split(".")
        if of == "bike":
            value = self.world.bike_fact(name)
        elif of == "place":
            value = self.world.geometry(one.place, name)
        else:
            value = self.world.part_fact(one, name)
        assert value is not None, "this model is for questions in which everything is known"
        if comparison.one_of is not None:
            return value in comparison.one_of
        if comparison.has is not None:
            return comparison.has in value
        if comparison.at_least is not None or comparison.at_most is not None:
            least = comparison.at_least is None or value >= comparison.at_least
            return least and (comparison.at_most is None or value <= comparison.at_most)
        return value == comparison.equals

    def _clears(self, rule, one: Placement, stage: int):
        """Give a term: the dimension fits, with what relief there is. Relief comes from one slot, part by part."""
        size, room = (
            exact(self.world.part_fact(one, rule.spec)),
            exact(self.world.geometry(one.place, rule.geometry)),
        )
        assert size is not None
        assert room is not None
        margin = exact(rule.margin)
        helps = [x for x in self.frame.placements if self.world.slot(x) == (one.place, rule.relieved_by_slot)]
        assert not helps or self.world.capacity(self.world.slot(helps[0])) == 1
        enough = [x for x in helps if _fits(rule.relation, size, room + self._gain(rule, x), margin)]
        alone = _fits(rule.relation, size, room, margin)
        others = self.frame.sum(self.frame.here(x, stage) for x in helps if x not in enough)
        if alone:
            return 1 - others
        return self.frame.sum(self.frame.here(x, stage) for x in enough)

    def _gain(self, rule, relief: Placement):
        gain = exact(known(self.world.part_fact(relief, rule.relieved_by_spec)))
        assert gain is not None
        return gain


def _fits(relation: str, size, room, margin):
    if relation == "at_most":
        return size + margin <= room
    return size >= room + margin if relation == "at_least" else abs(size - room) <= margin
