"""What an allocation is asked with: sources with their channels, zones with their speakers, and what is fed already."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from rules.errors import MalformedQuestion

Side = Literal["left", "right", "single"]

MOST_ZONES = 8
MOST_CHANNELS = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """One channel: continuous power [W] by rated impedance [ohm, as text], and the least that it may drive [ohm].

    `side` ties it to the left or the right signal; `made_of` names the channels that it is bridged from.
    """

    id: str
    watts: Mapping[str, float]
    min_ohm: float
    side: Literal["left", "right"] | None = None
    made_of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """An amplifier or head unit. `caps`: a preset may hold its power down to what a speaker bears."""

    name: str
    outputs: tuple[Output, ...]
    caps: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneLoad:
    """The speakers of a zone: impedance [ohm] and continuous power [W] of one side. A pair has two sides, left and right."""

    name: str
    impedance_ohm: float
    rms_w: float
    pair: bool = True

    @property
    def sides(self) -> tuple[Side, ...]:
        """Give its sides, each of which is one load."""
        return ("left", "right") if self.pair else ("single",)


Kept = Mapping[str, tuple[str, tuple[str, ...]]]
"""Zone to the source and the channels that feed its sides now, in the order left, right."""


def check_question(sources: tuple[Source, ...], zones: tuple[ZoneLoad, ...], kept: Kept) -> None:
    """Refuse what cannot be meant.

    Raises: `MalformedQuestion`.
    """
    _check_sources(sources)
    _check_names("zones", [zone.name for zone in zones])
    if len(zones) > MOST_ZONES:
        raise MalformedQuestion("zones", "there are too many zones", f"give at most {MOST_ZONES}")
    figures = [figure for zone in zones for figure in (zone.impedance_ohm, zone.rms_w)]
    _check_positive("zones", figures)
    _check_kept(sources, zones, kept)


def _check_sources(sources: tuple[Source, ...]) -> None:
    _check_names("sources", [source.name for source in sources])
    outputs = [output for source in sources for output in source.outputs]
    if len(outputs) > MOST_CHANNELS:
        raise MalformedQuestion("sources", "there are too many channels", f"give at most {MOST_CHANNELS}")
    for source in sources:
        _check_names("sources", [output.id for output in source.outputs])
        _check_bridges(source)
    _check_positive("sources", _ratings(outputs))


def _ratings(outputs: Iterable[Output]) -> Iterator[float]:
    for output in outputs:
        yield output.min_ohm
        yield from output.watts.values()
        yield from (_ohms(rated) for rated in output.watts)


def _ohms(rated: str) -> float:
    try:
        return float(rated)
    except ValueError:
        raise MalformedQuestion(
            "sources", "a rated impedance is no number", "write the impedance in ohm, such as 4"
        ) from None


def _check_bridges(source: Source) -> None:
    plain = {output.id for output in source.outputs if not output.made_of}
    if any(not set(output.made_of) <= plain for output in source.outputs):
        raise MalformedQuestion(
            "sources",
            "a channel is bridged from what is no channel of its own amplifier",
            "name channels that are not bridged themselves",
        )


def _check_kept(sources: tuple[Source, ...], zones: tuple[ZoneLoad, ...], kept: Kept) -> None:
    known = {(source.name, output.id) for source in sources for output in source.outputs}
    sides = {zone.name: len(zone.sides) for zone in zones}
    for zone, (source, outputs) in sorted(kept.items()):
        if sides.get(zone) != len(outputs) or any((source, output) not in known for output in outputs):
            raise MalformedQuestion(
                "kept",
                "a zone that is kept has other sides or channels than are known",
                "give each side of a known zone one channel of a known source",
            )


def _check_names(field: str, names: list[str]) -> None:
    if len(set(names)) < len(names):
        raise MalformedQuestion(field, "a name comes twice", "give each its own name")


def _check_positive(field: str, figures: Iterable[float]) -> None:
    # Written so that NaN is refused, too.
    if not all(0 < figure <= 1e9 for figure in figures):  # noqa: PLR2004 - far beyond any speaker or amplifier
        raise MalformedQuestion(field, "a figure is not above zero", "give impedances and powers above zero")
