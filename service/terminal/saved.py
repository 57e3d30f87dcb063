"""`loomway plans` and `loomway riders`: looking saved plans up on the database itself."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rules.explain import placement_name
from service.plans.keeper import PlanKeeper
from service.plans.saved import SavedPlan
from service.releasing.opening import open_named, open_standing
from service.serving import Serving
from service.shapes.sharing import RiderExportTold
from service.store.history import History
from service.terminal.database import open_database, whoever
from service.terminal.mistakes import WrongCommand
from service.terminal.output import amount, say, say_json, show_table


@contextmanager
def _keeper() -> Iterator[PlanKeeper]:
    with open_database() as database:
        yield PlanKeeper(database=database, by=whoever(None))


def list_plans(*, archived: bool, limit: int) -> None:
    """List plans, the last that was changed first."""
    with _keeper() as keeper:
        found = keeper.listed(limit, archived=archived)
    rows = [
        (
            x.id,
            x.bike,
            x.state.replace("_", " "),
            x.rider.name if x.rider else "",
            f"{x.changed_at:%Y-%m-%d}",
        )
        for x in found
    ]
    show_table("Plans", ("id", "bike", "state", "rider", "changed"), rows)


def show_plan(plan: str) -> None:
    """Show a plan under the release that it was made under, or that is served, if that cannot be opened any more."""
    with _keeper() as keeper:
        saved = keeper.get(plan)
        _tell(saved, _serving(keeper, saved.pinned.release))


def _serving(keeper: PlanKeeper, name: str) -> Serving:
    serving = open_named(keeper.database, name) or open_standing(
        keeper.database, History(keeper.database).standing()
    )
    if serving is None:
        raise WrongCommand(
            "no release was ever served from this database, so nobody knows what its parts are"
        )
    return serving


def _tell(saved: SavedPlan, serving: Serving) -> None:
    catalog = serving.catalog_of(saved.question.found)
    rider = f"{saved.rider.name} ({saved.rider.id})" if saved.rider else "nobody"
    say(
        f"{saved.bike}, for {rider}: {saved.state.replace('_', ' ')}, revision {saved.revision}",
        f"planned on {saved.pinned.on} under {saved.pinned.release}",
    )
    done = [
        (
            x.on.isoformat(),
            x.by,
            "; ".join(placement_name(y.placement, catalog) for y in x.fitted),
            amount(x.paid, catalog.shop),
        )
        for x in saved.done
    ]
    if done:
        show_table("Done", ("on", "by", "fitted", "paid"), done, money=1)
    ahead = [
        (
            x.on.isoformat(),
            x.fitter,
            "; ".join(placement_name(y, catalog) for y in x.adds),
            amount(x.spent, catalog.shop),
        )
        for _, x in saved.to_come
    ]
    if ahead:
        show_table("To come", ("on", "by", "what comes on", "to pay"), ahead, money=1)


def show_history(plan: str) -> None:
    """Show every change of a plan, the newest first."""
    with _keeper() as keeper:
        rows = [
            (str(x.number), x.kind.replace("_", " "), x.by, f"{x.at:%Y-%m-%d %H:%M}", x.why)
            for x in keeper.history(plan)
        ]
    show_table("History", ("revision", "what", "by", "at", "why"), rows)


def export_rider(rider: str) -> None:
    """Write everything that is kept of a rider, as the API does."""
    with _keeper() as keeper:
        known, plans = keeper.riders.exported(rider)
        serving = _serving(keeper, plans[0][0].plan.pinned.release if plans else "")
        say_json(RiderExportTold.from_domain(known, plans, serving))


def erase_rider(rider: str) -> None:
    """Forget a rider."""
    with _keeper() as keeper:
        keeper.riders.erase(rider)
    say("The rider is forgotten; plans stay, and are nobody's. Backups made before still hold the name.")
