"""What a channel drives, against what it may: lowest impedance, bridging, each speaker's share of power."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from rules.build import Placement
from rules.catalog.facts import Unknown
from rules.catalog.part import Channel
from rules.catalog.rule import ChannelLimit
from rules.electrical.load import exact, parallel_impedance, power_share, rated_power
from rules.net import Sink
from rules.scene import Scene, number
from rules.verdict import Calculation, Cause, Entered, Finding, Status


class Load(NamedTuple):
    """One channel of a placed part with every speaker side that it feeds."""

    owner: Placement
    channel: Channel
    sinks: tuple[Sink, ...]

    @property
    def placements(self) -> frozenset[Placement]:
        """Give the owner and the speakers."""
        return frozenset({self.owner, *(sink.speaker for sink in self.sinks)})


def check(rule: ChannelLimit, scene: Scene, load: Load, driven: frozenset[str]) -> Iterator[Finding]:
    """Refuse a channel that is overloaded, bridged while halves of it are used, or too strong for a speaker.

    Args:
        driven: Ids of the same owner's channels that feed something.
    """
    if rule.limit == "lowest_impedance":
        yield from _lowest_impedance(rule, scene, load)
    elif rule.limit == "bridge":
        yield from _bridge(rule, scene, load, driven)
    elif scene.bench.part(load.owner).kind != "amplifier":
        yield from too_strong(rule, scene, load)


def too_strong(rule: ChannelLimit, scene: Scene, load: Load) -> Iterator[Finding]:
    """Give a finding for each speaker whose share of the channel's power exceeds its rating, or is unknown.

    Equation: share = P x Z / Z_i <= rms_w, with P the rated power at the largest rated impedance not above Z.
    """
    impedances = _impedances(scene, load)
    watts = _channel_cause(scene, load, "watts")
    seen: set[Placement] = set()
    for sink in load.sinks:
        if sink.speaker not in seen:
            seen.add(sink.speaker)
            yield from _share(rule, scene, load, sink.speaker, impedances, watts)


def _share(
    rule: ChannelLimit,
    scene: Scene,
    load: Load,
    speaker: Placement,
    impedances: Mapping[Sink, Cause],
    watts: Cause,
) -> Iterator[Finding]:
    rating = scene.bench.cause("part.rms_w", speaker)
    causes = tuple(dict.fromkeys((rating, watts, *impedances.values())))
    values = [number(cause.value) for cause in impedances.values()]
    table = load.channel.watts
    status, calculation = Status.UNKNOWN, None
    if (
        None not in values
        and rating.value is not None
        and not rating.is_missing
        and not isinstance(table, Unknown)
    ):
        ohms = parallel_impedance(x for x in values if x is not None)
        power = rated_power(table, ohms)
        if power is not None:
            own_ohm = scene.bench.cause("part.impedance_ohm", speaker)
            own = number(own_ohm.value) or 0.0
            share, most = power_share(power, ohms, own), number(rating.value) or 0.0
            if share <= exact(most):
                return
            status = Status.REFUSED
            calculation = Calculation(
                equation="power_share",
                inputs=(
                    Entered("channel_w", power, "w", (watts,)),
                    Entered("load_ohm", float(ohms), "ohm", tuple(dict.fromkeys(impedances.values()))),
                    Entered("impedance_ohm", own, "ohm", (own_ohm,)),
                ),
                result=float(share),
                limit=most,
                unit="w",
            )
    yield Finding(
        rule=rule.id, status=status, present=load.placements, causes=causes, calculation=calculation
    )


def _lowest_impedance(rule: ChannelLimit, scene: Scene, load: Load) -> Iterator[Finding]:
    lowest = _channel_cause(scene, load, "min_ohm")
    impedances = _impedances(scene, load)
    known = {sink: cause for sink, cause in impedances.items() if number(cause.value) is not None}
    least = number(lowest.value)
    if least is None or not known:
        # Nothing to compare: open, on the first missing figure.
        yield _impedance_finding(rule, Status.UNKNOWN, load, impedances, lowest, None)
        return
    enough = _smallest_overload(known, least)
    if enough is not None:
        yield _impedance_finding(rule, Status.REFUSED, load, enough, lowest, least)
    elif len(known) < len(impedances):
        missing = {sink: cause for sink, cause in impedances.items() if sink not in known}
        yield _impedance_finding(rule, Status.UNKNOWN, load, missing, lowest, least)


def _smallest_overload(known: Mapping[Sink, Cause], least: float) -> dict[Sink, Cause] | None:
    # Lowest impedances first: the first ones that overload the channel are a smallest set that does.
    taken: dict[Sink, Cause] = {}
    for sink in sorted(known, key=lambda x: (number(known[x].value) or 0.0, x)):
        taken[sink] = known[sink]
        if parallel_impedance(number(cause.value) or 0.0 for cause in taken.values()) < exact(least):
            return taken
    return None


def _impedance_finding(
    rule: ChannelLimit,
    status: Status,
    load: Load,
    impedances: Mapping[Sink, Cause],
    lowest: Cause,
    least: float | None,
) -> Finding:
    values = [number(cause.value) for cause in impedances.values()]
    calculation = None
    if least is not None and values and None not in values:
        calculation = Calculation(
            equation="parallel_impedance",
            inputs=tuple(
                Entered(f"{sink.speaker}:{sink.side}", number(cause.value) or 0.0, "ohm", (cause,))
                for sink, cause in impedances.items()
            ),
            result=float(parallel_impedance(x for x in values if x is not None)),
            limit=least,
            unit="ohm",
        )
    return Finding(
        rule=rule.id,
        status=status,
        present=frozenset({load.owner, *(sink.speaker for sink in impedances)}),
        causes=(*dict.fromkeys(impedances.values()), lowest),
        calculation=calculation,
        detail=load.channel.id,
    )


def _bridge(rule: ChannelLimit, scene: Scene, load: Load, driven: frozenset[str]) -> Iterator[Finding]:
    if driven & set(load.channel.bridges):
        yield Finding(
            rule=rule.id,
            status=Status.REFUSED,
            present=load.placements,
            causes=(scene.bench.cause("part.id", load.owner),),
            detail=load.channel.id,
        )


def _impedances(scene: Scene, load: Load) -> dict[Sink, Cause]:
    return {sink: scene.bench.cause("part.impedance_ohm", sink.speaker) for sink in load.sinks}


def _channel_cause(scene: Scene, load: Load, figure: str) -> Cause:
    value = load.channel.min_ohm if figure == "min_ohm" else load.channel.watts
    known = value if isinstance(value, Unknown | float) else "rated table"
    part = scene.bench.part(load.owner)
    return Cause(
        fact=f"part.channels.{load.channel.id}.{figure}", of=part.id, value=known, source=part.source
    )
