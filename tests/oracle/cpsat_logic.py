"""Boolean and linear pieces for the CP-SAT model: literals that fold constants."""

from __future__ import annotations

from typing import Any

from ortools.sat.python import cp_model


class Logic:
    """Wraps a model. A literal is a Boolean variable, its negation, or a plain bool."""

    def __init__(self) -> None:
        self.model = cp_model.CpModel()
        self._wholes: dict[tuple[int, ...], Any] = {}

    def fresh(self):
        return self.model.new_bool_var("")

    def neg(self, literal):
        return not literal if isinstance(literal, bool) else literal.negated()

    def all_of(self, literals):
        """Give a literal that is true exactly when all are."""
        literals = list(literals)
        if any(one is False for one in literals):
            return False
        open_ones = list({one.index: one for one in literals if one is not True}.values())
        if any(-one.index - 1 in {other.index for other in open_ones} for one in open_ones):
            return False
        if len(open_ones) < 2:
            return open_ones[0] if open_ones else True
        key = tuple(sorted(one.index for one in open_ones))
        if key not in self._wholes:
            self._wholes[key] = self._whole(open_ones)
        return self._wholes[key]

    def _whole(self, literals):
        whole = self.fresh()
        self.model.add_bool_and(literals).only_enforce_if(whole)
        self.model.add_bool_or([*(self.neg(one) for one in literals), whole])
        return whole

    def any_of(self, literals):
        """Give a literal that is true exactly when one is."""
        return self.neg(self.all_of([self.neg(one) for one in literals]))

    def differ(self, one, two):
        """Give a literal that is true exactly when the two are not equal."""
        return self.any_of([self.all_of([one, self.neg(two)]), self.all_of([self.neg(one), two])])

    def demand(self, literal, *, where=()) -> None:
        """Require a literal, where the others hold."""
        clause = [literal, *(self.neg(other) for other in where)]
        if not any(one is True for one in clause):
            self.model.add_bool_or([one for one in clause if one is not False])

    def at_most(self, terms, limit: int):
        """Give a literal that is true exactly when the sum of weighted literals is at most the limit."""
        fixed = sum(weight for weight, literal in terms if literal is True)
        open_terms = [(weight, literal) for weight, literal in terms if not isinstance(literal, bool)]
        total = sum(weight * literal for weight, literal in open_terms) + fixed
        if not open_terms:
            return fixed <= limit
        holds = self.fresh()
        self.model.add(total <= limit).only_enforce_if(holds)
        self.model.add(total >= limit + 1).only_enforce_if(holds.negated())
        return holds

    def demand_at_most(self, terms, limit: int, *, where=()) -> None:
        """Require that the sum of weighted literals is at most the limit, where the others hold."""
        if not any(one is False for one in where):
            total = sum(weight * self.number(literal) for weight, literal in terms)
            self.model.add(total <= limit).only_enforce_if([one for one in where if one is not True])

    def number(self, literal):
        """Give the literal as a number in a linear sum."""
        return int(literal) if isinstance(literal, bool) else literal
