"""The figures of a visit as they are answered: each with its calculation, inputs and their sources, or what is missing."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, Self

from rules.calculations.registry import calculation
from rules.figures import Given, Label, Limit, VisitFigure, VisitFigures
from rules.figures.figure import Relation
from rules.presets.polarity import PolarityStep
from service.shapes.base import Told
from service.shapes.calculations import CautionTold, Shown, cautions_told
from service.shapes.finding import CauseTold, causes_told
from service.shapes.placement import read_placement


class SourcedTold(Told):
    """One input of a figure: the facts behind it, or what it was stated or worked out from."""

    name: str
    value: Shown | None
    unit: str
    causes: tuple[CauseTold, ...]
    stated: str

    @classmethod
    def from_domain(cls, given: Given) -> Self:
        """Write an input."""
        return cls(
            name=given.name,
            value=given.known.value,
            unit=given.unit,
            causes=causes_told(given.known.causes),
            stated=given.known.stated,
        )


class HeldTold(Told):
    """What a result is held against, in the same unit, and whether it stands."""

    value: float
    relation: Relation
    stands: bool
    causes: tuple[CauseTold, ...]
    stated: str

    @classmethod
    def from_domain(cls, limit: Limit) -> Self:
        """Write a limit."""
        return cls(
            value=limit.value,
            relation=limit.relation,
            stands=limit.stands,
            causes=causes_told(limit.known.causes),
            stated=limit.known.stated,
        )


class NamedFigureTold(Told):
    """One of several figures that a calculation gives."""

    name: str
    value: Shown | None
    unit: str


class VisitFigureTold(Told):
    """What a calculation says of parts, channels (`PART@PLACE:CHANNEL`), sides or places of the bike as it is ridden then.

    `calculation` is its id in `/v1/calculations`, which has equation, validity and source. Where it is not verified, `result`
    is null, and `missing` names the facts, or `why` the reason.
    """

    about: tuple[str, ...]
    calculation: str
    title: str
    status: Literal["verified", "not_verified"]
    result: Shown | None
    unit: str
    limit: HeldTold | None
    inputs: tuple[SourcedTold, ...]
    figures: tuple[NamedFigureTold, ...]
    missing: tuple[CauseTold, ...]
    why: str
    cautions: tuple[str, ...]

    @classmethod
    def from_domain(cls, one: VisitFigure) -> Self:
        """Write a figure."""
        return cls(
            about=one.about,
            calculation=one.calculation,
            title=calculation(one.calculation).title,
            status="verified" if one.is_verified else "not_verified",
            result=one.result,
            unit=one.unit,
            limit=HeldTold.from_domain(one.limit) if one.limit else None,
            inputs=tuple(map(SourcedTold.from_domain, one.inputs)),
            figures=tuple(
                NamedFigureTold(name=name, value=x.value, unit=x.unit) for name, x in one.figures.items()
            ),
            missing=causes_told(one.missing),
            why=one.why,
            cautions=one.cautions,
        )


class LabelTold(Told):
    """The label of a preset that is made in a visit, line by line; blanks are filled in at the bench."""

    part: str
    place: str
    status: Literal["verified", "not_verified"]
    lines: tuple[str, ...]
    sentence: str
    missing: tuple[CauseTold, ...]
    why: str

    @classmethod
    def from_domain(cls, label: Label) -> Self:
        """Write a label."""
        placed = read_placement(str(label.amplifier))
        return cls(
            part=placed.part,
            place=placed.place,
            status="verified" if label.lines else "not_verified",
            lines=label.lines,
            sentence=label.sentence,
            missing=causes_told(label.missing),
            why=label.why,
        )


class SharedTold(Told):
    """Zones on the same channels, and what that means."""

    zones: tuple[str, ...]
    says: str


class PolarityStepTold(Told):
    """One comparison: what to do, what is right, and what to do if it is not."""

    compare: str
    how: str
    right: str
    cure: str

    @classmethod
    def from_domain(cls, step: PolarityStep) -> Self:
        """Write a step."""
        return cls(compare=step.compare, how=step.how, right=step.right, cure=step.cure)


class FiguresTold(Told):
    """The figures of the bike as it is ridden after a visit; none where nothing is done in it.

    `sound` is for choosing between systems: never a promise to a rider, and never a reason for more. `missing` names every
    fact without which some figure is not verified. `cautions` must be shown wherever the figures are.
    """

    electrical: tuple[VisitFigureTold, ...]
    mass: tuple[VisitFigureTold, ...]
    sound: tuple[VisitFigureTold, ...]
    presets: tuple[VisitFigureTold, ...]
    labels: tuple[LabelTold, ...]
    shared: tuple[SharedTold, ...]
    polarity: tuple[PolarityStepTold, ...]
    labour: tuple[VisitFigureTold, ...]
    warranty: tuple[VisitFigureTold, ...]
    missing: tuple[CauseTold, ...]
    cautions: tuple[CautionTold, ...]

    @classmethod
    def from_domain(cls, figures: VisitFigures) -> Self:
        """Write them all."""
        return cls(
            electrical=_told(figures.electrical),
            mass=_told(figures.mass),
            sound=_told(figures.sound),
            presets=_told(figures.presets),
            labels=tuple(map(LabelTold.from_domain, figures.labels)),
            shared=tuple(SharedTold(zones=x.zones, says=x.says) for x in figures.shared),
            polarity=tuple(map(PolarityStepTold.from_domain, figures.polarity)),
            labour=_told(figures.labour),
            warranty=_told(figures.warranty),
            missing=causes_told(figures.missing),
            cautions=cautions_told(figures.cautions),
        )


def _told(figures: Iterable[VisitFigure]) -> tuple[VisitFigureTold, ...]:
    return tuple(map(VisitFigureTold.from_domain, figures))
