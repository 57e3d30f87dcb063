"""What has become of a saved plan under the release that is served now: whether it still holds, or where it changes, and why."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, replace
from datetime import date
from threading import Lock
from typing import Literal

from rules.answer import NoPlan
from rules.errors import LoomwayError
from rules.impact.plans import Obstacle, PlanReader, PlanSeen, left_of
from service.plans.asking import answer_to, left_to_ask
from service.plans.saved import SavedPlan
from service.serving import Serving

StandingWord = Literal["holds", "cheaper_now", "dearer_now", "changes", "no_path", "nothing_left"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How what is left of a plan stands; `rules.impact.plans` says what the words mean. `nothing_left`: all is done.

    Attributes:
        release: Under which it was looked at, and `on` which day.
        planned: What was left of the plan to pay, less resale [minor units].
        same: What the very same visits come to now, None if they cannot all be done.
        now: What the cheapest way comes to now, None where there is none.
        visit: Of the plan, counted from 1: the first that cannot be done as planned; 0 if the bike itself is another.
        obstacles: Everything in the way there, and later.
    """

    word: StandingWord
    release: str
    on: date
    planned: int = 0
    same: int | None = None
    now: int | None = None
    visit: int | None = None
    obstacles: tuple[Obstacle, ...] = ()

    @property
    def by(self) -> int:
        """What the cheapest way costs more now than what was planned; below zero if less [minor units]."""
        return 0 if self.now is None else self.now - self.planned


class Standings:
    """Looks plans over, and remembers how they stand: the same plan, release and day stand alike."""

    def __init__(self, most: int = 500) -> None:
        self._most = most
        self._known: OrderedDict[tuple[str, int, str, date], Standing] = OrderedDict()
        self._reader: tuple[Serving, PlanReader] | None = None
        self._lock = Lock()

    def of(self, saved: SavedPlan, serving: Serving, today: date) -> Standing:
        """Give how a plan stands."""
        key = (saved.id, saved.revision, serving.name, today)
        with self._lock:
            if key not in self._known:
                self._known[key] = self._look(saved, serving, today)
                while len(self._known) > self._most:
                    self._known.popitem(last=False)
            return self._known[key]

    def _look(self, saved: SavedPlan, serving: Serving, today: date) -> Standing:
        about = Standing(word="nothing_left", release=serving.name, on=today)
        if not saved.to_come:
            return about
        planned = sum(visit.spent - visit.resale for _, visit in saved.to_come)
        about = replace(about, planned=planned)
        if _is_untouched(saved, serving, today):
            return replace(about, word="holds", same=planned, now=planned)
        if saved.moved is not None and not saved.done:
            return _moved(saved, serving, today, about)
        return self._seen(saved, serving, today, about)

    def _seen(self, saved: SavedPlan, serving: Serving, today: date, about: Standing) -> Standing:
        over = max((x.visit for x in saved.done_here), default=0)
        question = left_to_ask(saved, today)
        seen = self._reader_of(serving).see(question, left_of(saved.plan, over, question.stages))
        return replace(
            about,
            word=seen.word,
            same=seen.same,
            now=seen.cheapest,
            visit=_counted(seen.visit, over),
            obstacles=tuple(replace(x, visit=_counted(x.visit, over)) for x in _in_the_way(seen)),
        )

    def _reader_of(self, serving: Serving) -> PlanReader:
        # What the checker knows of a catalog is worked out once for each release.
        if self._reader is None or self._reader[0] is not serving:
            self._reader = (serving, PlanReader(serving.engine))
        return self._reader[1]


def _is_untouched(saved: SavedPlan, serving: Serving, today: date) -> bool:
    """Tell whether the same question has the same answer: the same release and bike, no day gone by, and all done as planned."""
    days = [visit.on for _, visit in saved.to_come]
    same = saved.pinned.release == serving.name and saved.corrected_found is None
    return same and saved.is_as_planned and min(days) >= today


def _in_the_way(seen: PlanSeen) -> tuple[Obstacle, ...]:
    return seen.obstacles if seen.word in ("changes", "no_path") else ()


def _counted(visit: int | None, over: int) -> int | None:
    """Count a visit from the first of the plan, not from the first that is left."""
    return visit + over if visit else visit


def _moved(saved: SavedPlan, serving: Serving, today: date, about: Standing) -> Standing:
    """Plan again with the parts of the bike before: they are at no price in the catalog, so money alone is compared."""
    try:
        answer = answer_to(saved, left_to_ask(saved, today), serving).plan
    except LoomwayError:
        # One of the bikes, or a part, is not in this release any more.
        return replace(about, word="no_path")
    if isinstance(answer, NoPlan):
        return replace(about, word="no_path")
    words: dict[int, StandingWord] = {-1: "cheaper_now", 0: "holds", 1: "dearer_now"}
    sign = (answer.total > about.planned) - (answer.total < about.planned)
    return replace(about, word=words[sign], now=answer.total)
