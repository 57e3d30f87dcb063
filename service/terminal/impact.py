"""`loomway impact`: which answers a catalog would change, because of what, and whether somebody has acknowledged it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

import yaml

from rules.catalog.catalog import Catalog
from rules.catalog.shop import Shop
from rules.impact import (
    Acknowledgement,
    Changed,
    Group,
    Impact,
    groups,
    impact,
    read_acknowledgements,
    unacknowledged,
)
from rules.impact.compare import Answers, Asker
from rules.impact.space import Asked
from rules.impact.told import Told
from rules.load import load_catalog
from service.terminal.looking import open_pool
from service.terminal.mistakes import WrongCommand
from service.terminal.output import amount, say, say_json

PORTION = 120
"""Questions that a process takes at once; what it learns of a bike makes the next ones quicker."""

SHOWN = 40
"""Groups that are told to a person; JSON has all."""


def tell_impact(
    old: Path, new: Path, on: date, *, acknowledged: Path | None, jobs: int | None, as_json: bool
) -> int:
    """Compare two catalogs and tell what changes.

    Returns: The exit code: 1 if something changes that nobody has acknowledged, or a case fails.
    """
    known = () if acknowledged is None else read_file(acknowledged)
    before, after = load_catalog(old), load_catalog(new)
    found = impact(before, after, on, ask_all=_Spread(jobs))
    waiting = unacknowledged(found, known)
    if as_json:
        say_json(to_json(found, waiting))
    else:
        _say(found, waiting, after)
    return 1 if waiting or found.failing else 0


def read_file(path: Path) -> tuple[Acknowledgement, ...]:
    """Read a file of acknowledgements.

    Raises:
        WrongCommand: It cannot be read, or is no such file.
    """
    try:
        content = yaml.load(path.read_text(encoding="utf-8"), Loader=_Plain)  # noqa: S506 - a safe loader
        return read_acknowledgements(content)
    except (OSError, UnicodeDecodeError, yaml.YAMLError):
        raise WrongCommand("the file of acknowledgements cannot be read") from None
    except ValueError as error:
        raise WrongCommand(str(error)) from None


class _Plain(yaml.SafeLoader):
    """Reads every value as text: days and fingerprints stay as they are written."""


_Plain.yaml_implicit_resolvers = {}


@dataclass(slots=True)
class _Shared:
    """What the processes have in common: it is there before they part."""

    asker: Asker | None = None


_shared = _Shared()


class _Spread:
    """Shares questions out over processes, bike by bike."""

    def __init__(self, jobs: int | None) -> None:
        self.jobs = jobs

    def __call__(
        self, whole: Mapping[str, tuple[Asked, ...]], asker: Asker
    ) -> Iterator[tuple[Asked, Answers]]:
        _shared.asker = asker
        with open_pool(self.jobs) as pool:
            for answered in pool.imap(_ask, _portions(whole.values()), chunksize=1):
                yield from answered


def _portions(whole: Iterable[tuple[Asked, ...]]) -> Iterator[tuple[Asked, ...]]:
    """Give the questions of one bike after the other, in portions small enough to keep all processes busy."""
    for asked in whole:
        for start in range(0, len(asked), PORTION):
            yield asked[start : start + PORTION]


def _ask(asked: tuple[Asked, ...]) -> list[tuple[Asked, Answers]]:
    assert _shared.asker is not None  # noqa: S101 - set before the processes part
    return list(_shared.asker.ask(asked))


# --- telling -------------------------------------------------------------------------------------------------


def to_json(found: Impact, waiting: Iterable[Group]) -> dict[str, object]:
    """Give an impact as plain data."""
    open_ones = {x.fingerprint for x in waiting}
    return {
        "days": [str(day) for day in found.days],
        "space": found.size,
        "asked": found.asked,
        "changed": len(found.changed),
        "differences": [str(x) for x in found.differences],
        "failing_cases": list(found.failing),
        "groups": [_group(group, acknowledged=group.fingerprint not in open_ones) for group in groups(found)],
    }


def _group(group: Group, *, acknowledged: bool) -> dict[str, object]:
    return {
        "change": group.fingerprint,
        "acknowledged": acknowledged,
        "causes": [str(x) for x in group.causes],
        "answers": len(group.changed),
        "turns": [{"from": a, "to": b, "answers": n} for (a, b), n in group.turns.items()],
        "money_minor": None if group.money is None else list(group.money),
        "examples": [_changed(x) for x in group.examples],
    }


def _changed(one: Changed) -> dict[str, object]:
    return {
        "question": str(one.asked),
        "from": one.before and asdict(one.before),
        "to": one.after and asdict(one.after),
    }


def _say(found: Impact, waiting: tuple[Group, ...], catalog: Catalog) -> None:
    all_groups = groups(found)
    say(
        f"{len(found.changed)} answers change. Of {found.size} fit questions {found.asked} had to be asked; "
        "the others depend on nothing that differs."
    )
    for group in all_groups[:SHOWN]:
        mark = "not acknowledged" if group in waiting else "acknowledged"
        say("", f"{group.fingerprint} ({mark}): {len(group.changed)} answers")
        say(*(f"  because of {cause}" for cause in group.causes[:SHOWN]))
        say(*(f"  {count} from {before} to {after}" for (before, after), count in group.turns.items()))
        say(*_money(group, catalog.shop))
        say(*(f"  {_sentence(x, catalog.shop)}" for x in group.examples))
    if len(all_groups) > SHOWN:
        say(f"and {len(all_groups) - SHOWN} more groups; --json has all")
    say(*(f"this case fails in the newer catalog: {name}" for name in found.failing))
    if waiting:
        say("", f"{len(waiting)} of {len(all_groups)} groups are not acknowledged; a release waits for that.")


def _money(group: Group, shop: Shop) -> tuple[str, ...]:
    if group.money is None:
        return ()
    least, most = (amount(x, shop) for x in group.money)
    return (f"  totals change by {least} to {most}",)


def _sentence(one: Changed, shop: Shop) -> str:
    what = ", ".join(one.before.differing(one.after)) if one.before and one.after else ""
    return f"{one.asked}: {_words(one.before, shop)}, then {_words(one.after, shop)}{f' ({what})' if what else ''}"


def _words(answer: Told | None, shop: Shop) -> str:
    if answer is None:
        return "not listed"
    return answer.outcome if answer.total is None else f"{answer.outcome} for {amount(answer.total, shop)}"
