"""Changed answers, grouped by what causes them; and which of these changes nobody has acknowledged."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass

from pydantic import ValidationError

from rules.catalog.entry import Day, Entry, Text
from rules.impact.compare import Changed, Impact
from rules.impact.differences import Difference
from rules.impact.told import Told

EXAMPLES = 3
_DIGITS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """All answers that the same differences change.

    `fingerprint` follows from the differences and from every changed answer in full: one answer more, or another one, and an
    acknowledgement no longer holds. `turns` counts answers by what they turn from and into; `money` has the smallest and the
    largest change of a total, in minor units, None where no total changed.
    """

    causes: tuple[Difference, ...]
    changed: tuple[Changed, ...]
    fingerprint: str

    @property
    def turns(self) -> dict[tuple[str, str], int]:
        """Count changed answers by outcome before and after; `none` where there is nothing to ask."""
        found = Counter((_outcome(x.before), _outcome(x.after)) for x in self.changed)
        return dict(sorted(found.items()))

    @property
    def money(self) -> tuple[int, int] | None:
        """Give the smallest and largest change of a total."""
        amounts = [x.money for x in self.changed if x.money]
        return (min(amounts), max(amounts)) if amounts else None

    @property
    def examples(self) -> tuple[Changed, ...]:
        """Give a few, those first whose outcome is another one."""
        return tuple(
            sorted(self.changed, key=lambda x: (_outcome(x.before) == _outcome(x.after), str(x.asked)))
        )[:EXAMPLES]


def groups(impact: Impact) -> tuple[Group, ...]:
    """Group changed answers by cause, largest group first."""
    found: dict[tuple[Difference, ...], list[Changed]] = {}
    for one in impact.changed:
        found.setdefault(one.causes, []).append(one)
    made = [
        Group(causes=causes, changed=tuple(changed), fingerprint=_fingerprint(causes, changed))
        for causes, changed in found.items()
    ]
    return tuple(sorted(made, key=lambda x: (-len(x.changed), x.causes)))


def _fingerprint(causes: Iterable[Difference], changed: Iterable[Changed]) -> str:
    content = [
        [str(x) for x in causes],
        sorted([str(x.asked), *(x and asdict(x) for x in (x.before, x.after))] for x in changed),
    ]
    text = json.dumps(content, sort_keys=True, default=str)
    return f"c-{hashlib.sha256(text.encode()).hexdigest()[:_DIGITS]}"


def _outcome(answer: Told | None) -> str:
    return "none" if answer is None else answer.outcome


# --- acknowledgements ----------------------------------------------------------------------------------------


class Acknowledgement(Entry):
    """Somebody has looked at a change and wants it: which, who, when, and why."""

    change: Text
    who: Text
    on: Day
    why: Text


class AcknowledgementFile(Entry):
    """A file of acknowledgements, reviewed like code."""

    acknowledgements: tuple[Acknowledgement, ...]


def read_acknowledgements(content: object) -> tuple[Acknowledgement, ...]:
    """Read acknowledgements from plain data, as YAML or JSON gives it.

    Raises:
        ValueError: It is no such file; the text says what it needs, and repeats nothing of it.
    """
    try:
        return AcknowledgementFile.model_validate(content).acknowledgements
    except ValidationError as error:
        where = ".".join(str(step) for step in error.errors()[0]["loc"])
        raise ValueError(
            f"{where}: a file of acknowledgements is a list `acknowledgements` of change, who, on and why"
        ) from None


def unacknowledged(impact: Impact, acknowledgements: Iterable[Acknowledgement]) -> tuple[Group, ...]:
    """Give the groups of changes that nobody has acknowledged; a release with any of them does not go out."""
    known = {x.change for x in acknowledgements}
    return tuple(group for group in groups(impact) if group.fingerprint not in known)
