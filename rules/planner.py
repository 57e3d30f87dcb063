"""Plans by other measures than the least cost, or for a question a little changed; each is checked before it is used."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field

from rules.answer import Plan
from rules.desk import Desk
from rules.path import Aimed, find_plan
from rules.plan.cuts import Cut
from rules.question import PathQuestion

CHEAPEST = Aimed()


@dataclass(frozen=True, slots=True)
class Planner:
    """Asks one desk for plans, again and again; what one search learns, the next ones are taught.

    Args:
        check: Raises where a plan does not hold for its question.
    """

    desk: Desk
    check: Callable[[PathQuestion, Plan], None]
    _taught: dict[Hashable, list[Cut]] = field(default_factory=dict)

    def plan(self, question: PathQuestion, aim: Aimed = CHEAPEST) -> Plan | None:
        """Find the plan that is proven to be the least; None if there is none, none worth it, or no proof."""
        taught = self._taught.setdefault(_matter(question), [])
        found = find_plan(self.desk, question, aim, taught)
        taught.extend(found.lessons)
        if found.plan is not None:
            self.check(question, found.plan)
        return found.plan


def _matter(question: PathQuestion) -> Hashable:
    """Give what the lessons of a search depend on, besides the bike: days, wants, and what may be rewired."""
    return tuple(stage.on for stage in question.stages), question.wants, question.allowed_rewiring
