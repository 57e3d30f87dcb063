"""What becomes of a saved plan under another catalog: it holds, it changes at a visit because of a rule, or it has another price.

docs/definitions.md, 8, says what the words mean.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, get_args

from rules.answer import NoPlan, Plan
from rules.catalog.catalog import Catalog
from rules.catalog.rule import ChannelLimit, PresetChain, SupplyLimit
from rules.checker import Checker, Clause, Fault, Index, Replay
from rules.engine import Engine
from rules.errors import MalformedQuestion, UnknownId
from rules.impact.compare import Asker, days_that_matter
from rules.question import PathQuestion, Stage

PlanWord = Literal["holds", "cheaper_now", "dearer_now", "changes", "no_path"]
PLAN_WORDS: tuple[PlanWord, ...] = get_args(PlanWord)

FIGURES_ONLY = frozenset(
    {
        Clause.PURCHASES,
        Clause.LABOUR,
        Clause.PRESET_LINES,
        Clause.FREIGHT,
        Clause.RESALE,
        Clause.TOTAL,
        Clause.LOAD_TOLD,
    }
)
"""Clauses that say only that a line has another price, or a channel another load: a plan that breaks them may be done as it is."""

_NAMES_ITS_RULE = frozenset(
    {
        Clause.CLEARANCE,
        Clause.REQUIRES,
        Clause.FLASH_NEEDED,
        Clause.EXCLUDES,
        Clause.MEASURED_EXCEPTION,
        Clause.MASS,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstacle:
    """Why a plan cannot be done as it is any more.

    Attributes:
        visit: Counted from 1; 0 is the bike as it is now, None the plan as a whole.
        clause: Of the definitions, such as `clearance`.
        rules: Of the catalog that say so; none where the clause always applies.
        about: The placement, plug, want or amount.
    """

    visit: int | None
    clause: str
    rules: tuple[str, ...]
    about: str

    def __str__(self) -> str:
        return f"{self.clause}: {' '.join((*self.rules, self.about))}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSeen:
    """What becomes of a plan. Money in minor units, less resale.

    Attributes:
        visit: Of `changes`, the first visit that cannot be done as planned: from 1; 0 if the bike itself is another now.
        obstacles: Everything in the way at that visit, and later.
        planned: What the plan came to when it was made.
        same: What the very same visits come to now; None if they cannot all be done.
        cheapest: What the cheapest plan comes to now; None if there is none.
    """

    word: PlanWord
    visit: int | None = None
    obstacles: tuple[Obstacle, ...] = ()
    planned: int
    same: int | None = None
    cheapest: int | None = None

    @property
    def rules(self) -> tuple[str, ...]:
        """Give the rules because of which the plan changes at its first changed visit."""
        there = (x for x in self.obstacles if x.visit == self.visit)
        return tuple(sorted({rule for x in there for rule in x.rules}))


class PlanReader:
    """Looks plans over, one after another, under one catalog."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self._checker = Checker(Index(engine.catalog))

    def see(self, question: PathQuestion, plan: Plan) -> PlanSeen:
        """Tell what becomes of a plan that was made under another catalog. Nothing is changed.

        Args:
            question: That the plan answers. Of a plan whose first visits are done: what is left to ask.
            plan: As it was made. Of a plan whose first visits are done: `left_of` it.
        """
        told = PlanSeen(word="no_path", planned=plan.total)
        try:
            cheapest = self.engine.path(question)
        except (UnknownId, MalformedQuestion):
            # The bike itself, or something that is on it or wanted, is not in this catalog.
            return told
        replays = self._replays(question, plan)
        told = replace(told, obstacles=self._obstacles(question, replays))
        if isinstance(cheapest, NoPlan):
            return told
        if told.obstacles:
            visits = [x.visit for x in told.obstacles if x.visit is not None]
            return replace(told, word="changes", visit=min(visits, default=None), cheapest=cheapest.total)
        same = _same(replays)
        now = cheapest.total if same is None else min(cheapest.total, same)
        return replace(told, word=_money(plan.total, now), same=same, cheapest=now)

    def _replays(self, question: PathQuestion, plan: Plan) -> tuple[Replay, ...]:
        """Follow the plan on the bike; of a name that stands for two, on each."""
        return tuple(
            self._checker.replay(replace(question, bike=bike), plan)
            for bike in self.engine.bikes_meant(question.bike)
        )

    def _obstacles(self, question: PathQuestion, replays: tuple[Replay, ...]) -> tuple[Obstacle, ...]:
        faults = [fault for one in replays for fault in (*one.faults, *_over_budget(question, one))]
        found = (self._obstacle(question, x) for x in faults if x.clause not in FIGURES_ONLY)
        return tuple(dict.fromkeys(found))

    def _obstacle(self, question: PathQuestion, fault: Fault) -> Obstacle:
        _, _, clause = fault.clause.value.partition(" ")
        rules, about = self._rules(question, fault)
        return Obstacle(visit=fault.visit, clause=clause, rules=rules, about=about)

    def _rules(self, question: PathQuestion, fault: Fault) -> tuple[tuple[str, ...], str]:
        """Give the rules behind a fault, and what it is about besides."""
        catalog = self.engine.catalog
        if fault.clause in _NAMES_ITS_RULE:
            rule, _, about = fault.about.partition(" ")
            return (rule,), about
        if fault.clause is Clause.HOLD and fault.visit:
            on = question.stages[fault.visit - 1].on
            hold = self.engine.tables.hold(fault.about.partition("@")[0], on)
            return ((hold.id,) if hold else ()), fault.about
        word = fault.clause.value.partition(" ")[2]
        limits = [x for x in catalog.rules.values() if isinstance(x, ChannelLimit | SupplyLimit)]
        found = [x.id for x in limits if x.limit == word]
        if fault.clause is Clause.PRESET:
            found = [x.id for x in catalog.rules.values() if isinstance(x, PresetChain)]
        return tuple(sorted(found)), fault.about


def left_of(plan: Plan, done: int, stages: tuple[Stage, ...]) -> Plan:
    """Give what is left of a plan after its first visits were done as planned.

    Args:
        done: How many of its visits are over, those on which nothing was to be done too.
        stages: Of the question that is left, one for each visit to come; a visit that was put off has another day there.

    Raises:
        ValueError: There is another number of visits to come.
    """
    visits = tuple(
        replace(visit, on=stage.on, fitter=stage.fitter)
        for visit, stage in zip(plan.visits[done:], stages, strict=True)
    )
    start = plan.visits[done - 1].wiring if done else plan.start_wiring
    spent, resale = sum(x.spent for x in visits), sum(x.resale for x in visits)
    return replace(plan, visits=visits, spent=spent, resale=resale, start_wiring=start)


def _same(replays: tuple[Replay, ...]) -> int | None:
    """Give what the visits of a plan come to now; of two bikes that the name may mean, on the dearer one."""
    dues = [one.due for one in replays]
    totals = [sum(spent - back for spent, back in due) for due in dues if due is not None]
    return max(totals) if len(totals) == len(dues) else None


def _money(planned: int, now: int) -> PlanWord:
    if now == planned:
        return "holds"
    return "cheaper_now" if now < planned else "dearer_now"


def _over_budget(question: PathQuestion, replay: Replay) -> Iterator[Fault]:
    """Name the budgets that the same visits exceed at the prices of now."""
    if replay.due is None:
        return
    costs = [spent - (back if question.resale_counts else 0) for spent, back in replay.due]
    years: Counter[int] = Counter()
    for number, (stage, cost) in enumerate(zip(question.stages, costs, strict=True), 1):
        years[stage.on.year] += cost
        if stage.budget is not None and cost > stage.budget:
            yield Fault(visit=number, clause=Clause.STAGE_BUDGET, about=str(cost))
    for year, cap in question.year_budgets.items():
        if years[year] > cap:
            yield Fault(visit=None, clause=Clause.YEAR_BUDGET, about=f"{year}: {years[year]}")
    if question.budget is not None and sum(costs) > question.budget:
        yield Fault(visit=None, clause=Clause.PATH_BUDGET, about=str(sum(costs)))


def touched_plans(
    old: Catalog, new: Catalog, on: date, questions: Mapping[str, PathQuestion]
) -> frozenset[str]:
    """Give the names of the plans whose questions may have another answer under a newer catalog; all others stand as they did.

    Args:
        on: The day from which answers count.
        questions: What is left to ask of each plan, by its name.
    """
    surveyor = Asker(old, new, days_that_matter(old, new, on)).surveyor
    return frozenset(asked.name for asked in surveyor.paths(questions))
