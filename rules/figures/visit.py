"""All figures of a visit, for whoever fits, sets, checks or chooses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from rules.allocation.answer import SHARING
from rules.answer import Plan, Visit
from rules.bench import Bench
from rules.cautions import CAUTIONS
from rules.figures.channels import channel_figures
from rules.figures.figure import VisitFigure, merged, missing_of
from rules.figures.mass import mass_figures
from rules.figures.polarity import polarity
from rules.figures.presets import Label, preset_figures
from rules.figures.ridden import Ridden
from rules.figures.sound import sound_figures
from rules.figures.supply import supply_figures
from rules.figures.work import labour_figures, warranty_figures
from rules.presets.polarity import PolarityStep
from rules.verdict import Cause

WORK = ("estimate", "wiring", "pass_through", "hot", "battery", "mass", "controls", "outside")
"""Said of any visit on which something is fitted."""

PAID = ("paid_work",)
"""Said where the workshop fits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """Zones on the same channels, and what that means for whoever sets them."""

    zones: tuple[str, ...]
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitFigures:
    """The figures of the bike as it is ridden after a visit, each with what it rests on.

    Attributes:
        electrical: Channels, amplifiers, power kits, charging, battery.
        mass: What is left of each limit.
        sound: For choosing between systems: never a promise, and no reason for more.
        presets: Pods, filters, volume, gains, tones.
        labels: Of the presets that are made in this visit.
        shared: Zones on the same channels, which cannot be set apart.
        polarity: Comparisons in their order.
        labour: Work that is paid for.
        warranty: Of what is fitted new.
        cautions: Ids of all that must be said with it, in one order.
    """

    electrical: tuple[VisitFigure, ...] = ()
    mass: tuple[VisitFigure, ...] = ()
    sound: tuple[VisitFigure, ...] = ()
    presets: tuple[VisitFigure, ...] = ()
    labels: tuple[Label, ...] = ()
    shared: tuple[Shared, ...] = ()
    polarity: tuple[PolarityStep, ...] = ()
    labour: tuple[VisitFigure, ...] = ()
    warranty: tuple[VisitFigure, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def all(self) -> Iterator[VisitFigure]:
        """Give every figure."""
        for group in (self.electrical, self.mass, self.sound, self.presets, self.labour, self.warranty):
            yield from group

    @property
    def missing(self) -> tuple[Cause, ...]:
        """Give the facts without which some figure is not verified, once each."""
        found = [*missing_of(self.all), *(cause for label in self.labels for cause in label.missing)]
        return tuple(dict.fromkeys(found))


def figures_of(bench: Bench, plan: Plan) -> tuple[VisitFigures, ...]:
    """Work out every visit of a plan; one on which nothing is done has no figures of its own."""
    return tuple(VisitFigures() if x.is_empty else visit_figures(bench, x) for x in plan.visits)


def visit_figures(bench: Bench, visit: Visit) -> VisitFigures:
    """Work out one visit."""
    ridden = Ridden(bench, visit)
    channels = tuple(channel_figures(ridden, which) for which in ridden.channels)
    presets = preset_figures(ridden, channels)
    checked = polarity(ridden, presets.zones)
    found = VisitFigures(
        electrical=merged((*(x for one in channels for x in one.all), *supply_figures(ridden))),
        mass=tuple(mass_figures(ridden)),
        sound=merged(sound_figures(ridden, channels)),
        presets=merged((*presets.all, *checked.cost)),
        labels=presets.labels,
        shared=tuple(_shared(ridden)),
        polarity=checked.steps,
        labour=tuple(labour_figures(ridden)),
        warranty=tuple(warranty_figures(ridden)),
        cautions=(),
    )
    return _with_cautions(found, visit)


def _shared(ridden: Ridden) -> Iterator[Shared]:
    """Give the zones that share channels, each group once."""
    zones = (dict.fromkeys(ridden.zone(feed.place) for feed in feeds) for feeds in ridden.channels.values())
    for group in dict.fromkeys(tuple(x) for x in zones if len(x) > 1):
        yield Shared(zones=group, says=SHARING)


def _with_cautions(found: VisitFigures, visit: Visit) -> VisitFigures:
    said = {*WORK, *(PAID if visit.fitter == "shop" else ()), *(x for one in found.all for x in one.cautions)}
    return replace(found, cautions=tuple(x.id for x in CAUTIONS if x.id in said))
