"""`loomway release`, `rollback`, `history`, `hold` and `lift`: a catalog manager's work, on the database itself."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

from rules.diagnostics import full
from rules.errors import UnknownPart
from service.plans.standing import StandingWord
from service.releasing.files import FilesRefused, read_directory, write_archive
from service.releasing.manager import Manager
from service.releasing.opening import open_release
from service.releasing.outcome import ChangeGroup, PlanStands, Refused
from service.settings import read_settings
from service.shapes.releases import EventTold, RefusedTold
from service.store.events import Event
from service.terminal.database import open_database, whoever
from service.terminal.days import read_day
from service.terminal.impact import read_file
from service.terminal.mistakes import WrongCommand
from service.terminal.output import hint, say, say_json, show_table

REFUSED = 1
_DONE = {
    "checked": "the catalog is sound",
    "kept": "it is kept",
    "cases asked": "its cases come out as they should",
    "impact seen": "what it changes is known",
    "served": "it is served from now on",
}


def release(
    source: Path,
    why: str,
    by: str | None,
    *,
    activate: bool,
    as_json: bool,
    on: date | None = None,
    acknowledged: Path | None = None,
) -> int:
    """Take in a directory or an archive, and serve it if it passes every step.

    Returns: The exit code: 1 if it was refused.
    """
    archive, known = _archive(source), read_file(acknowledged) if acknowledged else ()
    with open_database() as database:
        manager = Manager(database=database, by=whoever(by), tell=_tell)
        kept = manager.take_in(archive, why)
        if isinstance(kept, Refused):
            return _tell_refused(kept, as_json=as_json)
        name = kept.release.id
        if not activate:
            _tell_kept(name, is_new=kept.is_new, as_json=as_json)
            return 0
        if manager.history.standing().release == name:
            say(f"{name} is served already.")
            return 0
        outcome = manager.activate(name, why, on=on or read_day(None), acknowledgements=known)
        if isinstance(outcome, Refused):
            return _tell_refused(outcome, as_json=as_json)
        tell_event(outcome, as_json=as_json)
        return 0


def _archive(source: Path) -> bytes:
    try:
        if source.is_dir():
            return write_archive(read_directory(source))
        return source.read_bytes()
    except FilesRefused as error:
        raise WrongCommand(f"{source}: {error}") from error
    except OSError as error:
        raise WrongCommand(f"{source}: this cannot be read; name a directory or an archive") from error


def _tell(step: str) -> None:
    if step in _DONE:
        hint(_DONE[step])


def _tell_kept(name: str, *, is_new: bool, as_json: bool) -> None:
    if as_json:
        say_json({"outcome": "kept" if is_new else "was_kept_before", "release": name})
    else:
        say(f"{name} is kept, and not served yet." if is_new else f"{name} was kept before.")


def _tell_refused(refused: Refused, *, as_json: bool) -> int:
    if as_json:
        say_json({"outcome": "refused", "refused": RefusedTold.from_domain(refused).model_dump(mode="json")})
        return REFUSED
    hint(*(full(diagnostic) for diagnostic in refused.diagnostics))
    for case in refused.failed:
        hint(case.name, *(f"  {difference}" for difference in case.differences))
    for group in refused.impact.waiting if refused.impact else ():
        hint(*_group_lines(group))
    for plan in refused.impact.plans.changed if refused.impact else ():
        hint(*_plan_lines(plan))
    say(f"Refused at the step `{refused.step}`: {refused.says}. What was served is served on.")
    return REFUSED


def _group_lines(group: ChangeGroup) -> list[str]:
    return [
        f"{group.change}: {group.answers} answers",
        *(f"  because {cause}" for cause in group.because),
        *(f"  {count} from {before} to {after}" for before, after, count in group.turns),
        *(f"  for example {example}" for example in group.examples),
    ]


_WORDS: dict[StandingWord, str] = {
    "cheaper_now": "can be had for less",
    "dearer_now": "costs more",
    "changes": "cannot be done as planned",
    "no_path": "has no way any more",
}


def _plan_lines(plan: PlanStands) -> list[str]:
    at = (
        ""
        if plan.visit is None
        else f" from visit {plan.visit} on"
        if plan.visit
        else ", since the bike is another"
    )
    return [
        f"saved plan {plan.plan} for {plan.bike} {_WORDS.get(plan.word, plan.word)}{at}",
        *(f"  because of {said}" for said in plan.because),
    ]


def roll_back(to: str | None, why: str, by: str | None, *, as_json: bool) -> None:
    """Serve an earlier release again."""
    with open_database() as database:
        event = Manager(database=database, by=whoever(by)).roll_back(why, to and to.partition(".")[0])
    tell_event(event, as_json=as_json)


def hold(
    part: str, why: str, by: str | None, first: str | None, through: str | None, *, as_json: bool
) -> None:
    """Stop selling a part."""
    begins = read_day(first, "--from")
    last = read_day(through, "--through") if through is not None else None
    if last is not None and last < begins:
        raise WrongCommand("the last day is before the first; give a later last day")
    with open_database() as database:
        manager = Manager(database=database, by=whoever(by))
        served = manager.history.standing().release
        if served is not None:
            parts = open_release(database, served).catalog.parts
            if part not in parts:
                raise UnknownPart(part, parts)
        event = manager.hold(part, why, begins, last)
    tell_event(event, as_json=as_json)


def lift(number: int, why: str, by: str | None, *, as_json: bool) -> None:
    """Sell a part again."""
    with open_database() as database:
        event = Manager(database=database, by=whoever(by)).lift(number, why)
    tell_event(event, as_json=as_json)


def show_history(limit: int, *, as_json: bool) -> None:
    """Tell what happened, the latest first."""
    with open_database() as database:
        events = Manager(database=database, by="").history.newest(limit)
    if as_json:
        say_json([EventTold.from_domain(event).model_dump(mode="json") for event in events])
        return
    rows = [(str(event.number), _moment(event.at), event.by, _what(event), event.why) for event in events]
    show_table("What happened, the latest first", ("", "when", "who", "what", "why"), rows)


def tell_event(event: Event, *, as_json: bool) -> None:
    """Tell what was done."""
    if as_json:
        say_json(EventTold.from_domain(event))
    else:
        say(f"{event.number}: {_what(event)}.")


def _moment(at: datetime) -> str:
    return at.astimezone(read_settings().zone).strftime("%Y-%m-%d %H:%M")


def _what(event: Event) -> str:
    match event.kind:
        case "activated":
            return f"{event.release} is served"
        case "rolled_back":
            return f"back to {event.release}"
        case "refused":
            return f"{event.release or 'an upload'} refused: {event.detail}"
        case "held":
            until = f"through {event.last}" if event.last else "until it is lifted"
            return f"{event.part} is not sold from {event.first} {until}"
        case "lifted":
            return f"hold {event.lifts} is lifted"
