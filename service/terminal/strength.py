"""`loomway strength`: how many small mistakes in a catalog its cases would notice."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from multiprocessing.pool import Pool
from pathlib import Path

from rules.load import read_documents
from rules.strength.judge import Judge, Judged
from rules.strength.score import DRAWS_FOR_EACH, Draw, Strength, tally
from rules.strength.workshop import Workshop
from service.terminal.looking import look_at_cases, open_pool
from service.terminal.output import hint, say, say_json, stderr


def tell_strength(directory: Path, *, wanted: int, seed: int, jobs: int | None, as_json: bool) -> int:
    """Make mistakes in a catalog and tell which of them no case notices.

    Returns: The exit code: 1 if a case fails as it is, or if there is none: then nothing can be said.
    """
    began = time.monotonic()
    workshop = Workshop(read_documents(directory))
    looks = look_at_cases(workshop, jobs)
    if looks is None:
        return 1
    _shared.judge, _shared.draw = Judge(workshop, looks), Draw(workshop, seed)
    with open_pool(jobs) as pool:
        strength = tally(_told(_judged(pool, wanted), wanted), wanted)
        pool.terminate()
    _tell(strength, seconds=round(time.monotonic() - began, 1), as_json=as_json)
    return 0


@dataclass(slots=True)
class _Shared:
    """What the processes have in common: it is there before they part."""

    judge: Judge | None = None
    draw: Draw | None = None


_shared = _Shared()


def _judged(pool: Pool, wanted: int) -> Iterator[Judged]:
    for one in pool.imap(_judge, range(wanted * DRAWS_FOR_EACH)):
        if one is not None:
            yield one


def _judge(number: int) -> Judged | None:
    assert _shared.judge is not None  # noqa: S101
    assert _shared.draw is not None  # noqa: S101
    mutant = _shared.draw.mutant(number)
    return None if mutant is None else _shared.judge.judge(mutant)


def _told(judged: Iterable[Judged], wanted: int) -> Iterator[Judged]:
    """Say how far it has come, to somebody who watches."""
    for number, one in enumerate(judged, 1):
        if stderr().is_terminal and number % 25 == 0:
            hint(f"{number} mistakes made, until {wanted} count")
        yield one


def _tell(strength: Strength, *, seconds: float, as_json: bool) -> None:
    survivors = [
        {
            "place": x.slip.place,
            "kind": x.slip.kind,
            "change": x.slip.says,
            "altered": x.witness,
        }
        for x in strength.survivors
    ]
    if as_json:
        say_json(
            {
                "score": round(strength.score, 4),
                "mutants": len(strength.counted),
                "survivors": survivors,
                "drawn": strength.fates,
                "seconds": seconds,
            }
        )
        return
    say(*(f"{x['place']}: {x['change']}, and nobody notices: {x['altered']}" for x in survivors))
    noticed = len(strength.counted) - len(survivors)
    say(f"{noticed} of {len(strength.counted)} mistakes that alter an answer are noticed, in {seconds} s.")
    drawn = ", ".join(f"{count} {fate.replace('_', ' ')}" for fate, count in strength.fates.items())
    say(f"Of all that were made: {drawn}.")
