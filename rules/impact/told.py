"""What people act on in an answer: the part of it that counts as changed or not between two releases.

Words and sources are left out: a better sentence, or another sheet that says the same, changes no answer.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields

from rules.answer import CarryOverAnswer, FitAnswer, Judgement, NoPlan, Plan, PresetMade
from rules.build import Placement
from rules.cases import CaseAnswer
from rules.examine import Examination
from rules.money import Line
from rules.next_bike import NextBike
from rules.verdict import Cause, Finding

_BREAKS = re.compile(r"[ @:,()']+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """An answer without its words. `total` is in minor units, None where there is no money to tell.

    `outcome` is the verdict; of a path `path` or why there is none; of what carries over nothing, since each part has its own
    word in `details`. `rules` are those that refuse, leave open, or advise.
    """

    outcome: str
    place: str | None = None
    extras: tuple[str, ...] = ()
    total: int | None = None
    rules: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    details: tuple[str, ...] = ()

    def differing(self, other: Told) -> tuple[str, ...]:
        """Give the names of what is not the same in two answers, in a fixed order."""
        names = (field.name for field in fields(self))
        return tuple(name for name in names if getattr(self, name) != getattr(other, name))

    def names(self) -> frozenset[str]:
        """Give every part, rule and place that the answer names."""
        words = (*self.extras, *self.rules, *self.missing, *self.advice, *self.details)
        return frozenset(name for text in words for name in _BREAKS.split(text))


def told_judgement(answer: Judgement, place: str | None = None) -> Told:
    """Tell a fit or a cart answer."""
    return Told(
        outcome=answer.verdict.value,
        place=place,
        extras=(*_placements(answer.extras), *_presets(answer.presets)),
        total=answer.total,
        rules=_rules(answer.findings),
        missing=_missing(answer.missing),
        advice=_rules(answer.advice),
        details=(
            *(f"out: {x}" for x in _placements(answer.displaced)),
            *_lines(answer.lines),
            *(["rewires"] if answer.rewires else []),
            *([f"ask: {answer.ask}"] if answer.ask else []),
        ),
    )


def told_fit(answer: FitAnswer) -> Told:
    """Tell a fit answer."""
    return told_judgement(answer, answer.place)


def told_build(examination: Examination) -> Told:
    """Tell whether a build is valid, open or refused."""
    if examination.is_valid:
        return Told(outcome="valid")
    found = examination.findings
    missing = _missing(cause for finding in found for cause in finding.missing)
    return Told(outcome="open" if examination.is_open else "refused", rules=_rules(found), missing=missing)


def told_path(answer: Plan | NoPlan) -> Told:
    """Tell a path, or why there is none."""
    if isinstance(answer, NoPlan):
        return Told(
            outcome=answer.reason,
            rules=_rules(answer.findings),
            missing=_missing(answer.missing),
            details=tuple(sorted(f"{x.kind}: {x.about}" for x in answer.conflicts)),
        )
    visits = [
        f"visit {index}: {word} {x}"
        for index, visit in enumerate(answer.visits, 1)
        for word, placements in (("adds", visit.adds), ("removes", visit.removes))
        for x in _placements(placements)
    ]
    lines = [
        f"visit {index}: {line}"
        for index, visit in enumerate(answer.visits, 1)
        for line in _lines(visit.lines)
    ]
    state = "path" if answer.proof.is_proven else "path, not proven"
    return Told(outcome=state, total=answer.total, details=(*visits, *lines))


def told_carry_over(answer: CarryOverAnswer) -> Told:
    """Tell which parts go along."""
    return Told(
        outcome="ask" if answer.ask else "told",
        details=tuple(
            f"{x.part}@{x.from_place}: {x.answer} {x.to_place} {_placements(x.extras)} {x.resale} {_rules(x.findings)}"
            for x in answer.parts
        ),
    )


def told_next_bike(answer: NextBike) -> Told:
    """Tell what goes along, what is sold, and what it comes to."""
    plan = told_path(answer.plan).details if answer.plan else ()
    return Told(
        outcome="ask" if answer.ask else "told",
        total=answer.net,
        details=(
            *(f"takes {x}" for x in _placements(answer.own)),
            *(f"sells {x}" for x in _placements(answer.sold)),
            f"all new: {answer.new_net}",
            *plan,
        ),
    )


def told(answer: CaseAnswer) -> Told:
    """Tell the answer to any kind of case."""
    match answer:
        case FitAnswer():
            return told_fit(answer)
        case CarryOverAnswer():
            return told_carry_over(answer)
        case NextBike():
            return told_next_bike(answer)
        case Plan() | NoPlan():
            return told_path(answer)
        case _:
            return told_judgement(answer)


def _placements(placements: Iterable[Placement]) -> tuple[str, ...]:
    return tuple(str(x) for x in sorted(placements))


def _presets(presets: Iterable[PresetMade]) -> tuple[str, ...]:
    return tuple(f"{x.service} for {x.amplifier}" for x in presets)


def _rules(findings: Iterable[Finding]) -> tuple[str, ...]:
    return tuple(sorted({x.rule for x in findings}))


def _missing(causes: Iterable[Cause]) -> tuple[str, ...]:
    # A bike's own facts go without its name: like bikes have like answers.
    return tuple(sorted({f"{x.fact} of {x.of}" if x.fact.startswith("part.") else x.fact for x in causes}))


def _lines(lines: Iterable[Line]) -> tuple[str, ...]:
    return tuple(f"{x.kind} {x.about} {x.of} {x.quantity}: {x.total}{' assumed' * x.assumed}" for x in lines)
