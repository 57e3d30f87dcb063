"""`loomway coverage`: which rule, span and outcome no case of a catalog exercises."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from rules.coverage import Coverage, Covered, RuleCover, outcome_cover, span_cover
from rules.load import read_documents
from rules.strength.workshop import Workshop
from service.terminal.looking import look_at_cases, open_pool
from service.terminal.output import say, say_json


def tell_coverage(directory: Path, *, jobs: int | None, as_json: bool) -> int:
    """Tell what no case exercises.

    Returns: The exit code: 1 if a case fails as it is, or if there is none: then nothing can be said.
    """
    workshop = Workshop(read_documents(directory))
    looks = look_at_cases(workshop, jobs)
    if looks is None:
        return 1
    _shared.cover = RuleCover(workshop, looks)
    with open_pool(jobs) as pool:
        rules = pool.map(_decided, sorted(workshop.catalog.rules), chunksize=1)
    coverage = Coverage(
        rules=tuple(rules),
        spans=_by_name(span_cover(workshop)),
        outcomes=_by_name(outcome_cover(workshop.catalog, looks)),
    )
    _tell(coverage, as_json=as_json)
    return 0


@dataclass(slots=True)
class _Shared:
    """What the processes have in common: it is there before they part."""

    cover: RuleCover | None = None


_shared = _Shared()


def _decided(rule: str) -> Covered:
    assert _shared.cover is not None  # noqa: S101 - set before the processes part
    return _shared.cover.of(rule)


def _by_name(found: Iterable[Covered]) -> tuple[Covered, ...]:
    return tuple(sorted(found, key=lambda x: x.what))


def _tell(coverage: Coverage, *, as_json: bool) -> None:
    kinds = {"rules": coverage.rules, "spans": coverage.spans, "outcomes": coverage.outcomes}
    if as_json:
        say_json({kind: _counts(found) for kind, found in kinds.items()})
        return
    for kind, found in kinds.items():
        missing = [x.what for x in found if not x.by]
        say(f"{len(found) - len(missing)} of {len(found)} {kind} are exercised.")
        say(*(f"  no case exercises {what}" for what in missing))


def _counts(found: tuple[Covered, ...]) -> dict[str, object]:
    return {
        "of": len(found),
        "covered": sum(bool(x.by) for x in found),
        "missing": [x.what for x in found if not x.by],
        "by": {x.what: x.by for x in found if x.by},
    }
