"""What has become of a saved plan under the release that is served now: whether it still holds, or where it changes, and why."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from threading import Lock
from typing import Literal

from rules.answer import Conflict, NoPlan, Plan
from rules.errors import LoomwayError
from rules.question import PathQuestion, Want
from rules.verdict import Finding
from service.plans.asking import answer_to, left_to_ask
from service.plans.saved import SavedPlan
from service.serving import Serving

StandingWord = Literal["holds", "cheaper_now", "dearer_now", "changes", "no_path", "nothing_left"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a plan stands.

    `holds`: what is left can be done as planned, and the cheapest way comes to the same money. `cheaper_now`, `dearer_now`: it
    can be done as planned, but the cheapest way comes to less, or more. `changes`: at visit `visit` it cannot be done as planned
    any more, because of `findings` and `conflicts`; there is another way. `no_path`: there is none. `nothing_left`: all is done.

    Attributes:
        release: Under which it was looked at, and `on` which day.
        planned: What was left of the plan to pay, less resale [minor units].
        now: What the cheapest way comes to now, None where there is none.
        visit: Of the plan, counted from 1.
    """

    word: StandingWord
    release: str
    on: date
    planned: int = 0
    now: int | None = None
    visit: int | None = None
    conflicts: tuple[Conflict, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def by(self) -> int:
        """What the cheapest way costs more now than what was planned; below zero if less [minor units]."""
        return 0 if self.now is None else self.now - self.planned


def standing_of(saved: SavedPlan, serving: Serving, today: date) -> Standing:
    """Look a plan over, planning again what is left of it.

    The plan's own visits are asked for one after another, each with what the plan fits until then, so the first that cannot be
    had is the one that changes; what is in its way are the rules.
    """
    about = Standing(word="nothing_left", release=serving.name, on=today)
    if not saved.to_come:
        return about
    planned = sum(visit.spent - visit.resale for _, visit in saved.to_come)
    if _is_untouched(saved, serving, today):
        return replace(about, word="holds", planned=planned, now=planned)
    try:
        return _looked_over(saved, serving, today, replace(about, planned=planned))
    except LoomwayError:
        # A part, a place or the bike itself is not in this release any more.
        return replace(about, word="no_path", planned=planned)


def _is_untouched(saved: SavedPlan, serving: Serving, today: date) -> bool:
    """Tell whether the same question has the same answer: the same release, no day gone by, and all done as planned."""
    days = [visit.on for _, visit in saved.to_come]
    return saved.pinned.release == serving.name and saved.is_as_planned and min(days) >= today


def _looked_over(saved: SavedPlan, serving: Serving, today: date, about: Standing) -> Standing:
    question = left_to_ask(saved, today)
    cheapest = answer_to(saved, question, serving).plan
    if isinstance(cheapest, NoPlan):
        return replace(about, word="no_path", conflicts=cheapest.conflicts, findings=cheapest.findings)
    about = replace(about, now=cheapest.total)
    for number, asked in _as_planned(saved, question):
        same = answer_to(saved, asked, serving).plan
        if isinstance(same, NoPlan):
            return replace(
                about, word="changes", visit=number, conflicts=same.conflicts, findings=same.findings
            )
    return replace(about, word=_money(about, cheapest))


def _money(about: Standing, cheapest: Plan) -> StandingWord:
    if cheapest.total == about.planned:
        return "holds"
    return "cheaper_now" if cheapest.total < about.planned else "dearer_now"


def _as_planned(saved: SavedPlan, question: PathQuestion) -> Iterator[tuple[int, PathQuestion]]:
    """Ask for what the plan fits until each of its visits to come, at the places where it fits it."""
    first, last = saved.to_come[0][0], saved.to_come[-1][0]
    wants: tuple[Want, ...] = ()
    for number, visit in saved.to_come:
        by = min(number - first + 1, len(question.stages))
        stays = [placed for placed in visit.adds if placed in saved.plan.visits[-1].build]
        wants += tuple(Want(parts=(placed.part,), place=placed.place, by=by) for placed in stays)
        yield number, replace(question, wants=(*wants, *(question.wants if number == last else ())))


class Standings:
    """Remembers how plans stand: the same plan, release and day stand alike."""

    def __init__(self, most: int = 500) -> None:
        self._most = most
        self._known: OrderedDict[tuple[str, int, str, date], Standing] = OrderedDict()
        self._lock = Lock()

    def of(self, saved: SavedPlan, serving: Serving, today: date) -> Standing:
        """Give how a plan stands."""
        key = (saved.id, saved.revision, serving.name, today)
        with self._lock:
            if key in self._known:
                return self._known[key]
        found = standing_of(saved, serving, today)
        with self._lock:
            self._known[key] = found
            while len(self._known) > self._most:
                self._known.popitem(last=False)
        return found
