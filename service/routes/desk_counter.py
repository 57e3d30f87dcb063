"""What every page over saved plans is given, and what each of them shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request, Response
from fastapi.responses import RedirectResponse

from service.dependencies import ServingDep, TodayDep
from service.desk.asked import Fields
from service.desk.bygone import readable
from service.desk.kept import STATES, tell_done
from service.desk.measured import tell_found
from service.desk.pages import HEADERS
from service.desk.session import Seller
from service.desk.telling import tell_wants
from service.desk.view import PlanView
from service.plans.saved import SavedPlan
from service.routes.counter import Counter
from service.shapes.plans import figures_then


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk(Counter):
    """What every page over saved plans needs."""

    @property
    def every(self) -> dict[str, object]:
        """Give what every page shows."""
        return {"shop": self.serving.catalog.shop, "keeps_plans": True, "today": self.today}

    def view(self, saved: SavedPlan) -> PlanView:
        """Put a saved plan in words, with the names and figures of the release that it was made under."""
        pinned = self.pinned(saved)
        figures = figures_then(saved, pinned)
        if pinned is not None:
            return PlanView(saved.question, saved.plan, figures, pinned)
        return PlanView(*readable(saved.question, saved.plan, self.serving.catalog), figures, self.serving)


def _desk(request: Request, key: Seller, serving: ServingDep, today: TodayDep) -> Desk:
    return Desk(request=request, by=key.name, serving=serving, today=today)


DeskDep = Annotated[Desk, Depends(_desk)]


def to(path: str) -> Response:
    """Send the browser on to another page, which it may load again."""
    return RedirectResponse(path, 303, headers=HEADERS)


def saved_values(desk: Desk, saved: SavedPlan, view: PlanView) -> dict[str, object]:
    """Give what every page of one plan shows."""
    return {
        **desk.every,
        "saved": saved,
        "state": STATES[saved.state],
        "bike": view.bike,
        "wanted": tell_wants(saved.question, view.catalog),
        "known": tell_found(saved.found_now, view.catalog),
        "done": tell_done(saved, view),
        "next": saved.to_come[0] if saved.to_come else None,
        "release": view.serving.name,
    }


def revision_in(fields: Fields) -> int:
    """Read which revision the page was made from; one that no plan has, if it is none."""
    return fields.count("revision")
