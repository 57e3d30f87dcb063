"""Speakers on a channel: what a net of them amounts to, how they share the power, what a lead to them loses."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion
from rules.units import Amps, Ohms, Ratio, Volts, Watts

LOWEST = 0.8
"""Lowest impedance of a speaker over its rated one. IEC 60268-5 16.1, second-hand."""

DEEPEST = 8
"""Most nets inside each other; wiring on a bike has two or three."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Net:
    """Speakers, or nets of them, joined one way.

    Attributes:
        parts: Impedances [ohm] or further nets; at least one.
    """

    joined: Literal["series", "parallel"]
    parts: tuple[Net | Ohms, ...]

    @property
    def impedance(self) -> Ohms:
        """Give what the net amounts to [ohm]."""
        branches = tuple(x.impedance if isinstance(x, Net) else x for x in self.parts)
        return series(branches) if self.joined == "series" else parallel(branches)


def series(impedances_ohm: tuple[Ohms, ...]) -> Ohms:
    """Impedance of speakers in series: their sum [ohm].

    Example:
        >>> series((4.0, 4.0))
        8.0
    """
    return math.fsum(impedances_ohm)


def parallel(impedances_ohm: tuple[Ohms, ...]) -> Ohms:
    """Impedance of speakers in parallel [ohm].

    Args:
        impedances_ohm: Nominal impedance of each [ohm], above zero.

    Equation: 1 / Z = sum of 1 / Z_i. Nominal impedances, as rated; each more speaker lowers the load and raises
        the current.
    Source: Ohm's law.

    Example:
        >>> parallel((4.0, 4.0))
        2.0
    """
    return 1 / math.fsum(1 / z for z in impedances_ohm)


def net_impedance(net: str) -> Ohms:
    """Impedance of a mixed net [ohm].

    Args:
        net: Written as it is joined, such as "parallel(series(4, 4), 8)".

    Raises: MalformedQuestion if it is not written so, or an impedance is not between 0.1 and 1000 ohm.

    Equation: series adds impedances, parallel adds their reciprocals, from the inside out.
    Source: Ohm's law and Kirchhoff's laws.

    Example:
        >>> net_impedance("parallel(series(2, 2), 4)")
        2.0
    """
    return read_net(net).impedance


_TOKEN = re.compile(r"\s*(series|parallel|\d+(?:\.\d+)?|[(),])\s*", re.ASCII)


def read_net(text: str) -> Net:
    """Read a net from the form of `net_impedance`."""
    tokens = list(_tokens(text))
    read, rest = _part(tokens, 0)
    if rest or not isinstance(read, Net):
        raise _no_net()
    return read


def _tokens(text: str) -> Iterator[str]:
    place = 0
    while place < len(text):
        found = _TOKEN.match(text, place)
        if found is None:
            raise _no_net()
        yield found[1]
        place = found.end()


def _part(tokens: list[str], depth: int) -> tuple[Net | Ohms, list[str]]:
    """Read one impedance or one net, and give what follows it."""
    match tokens:
        case [("series" | "parallel") as joined, "(", *rest] if depth < DEEPEST:
            parts, rest = _parts(rest, depth + 1)
            return Net(joined=joined, parts=parts), rest
        case [number, *rest] if number[0].isdigit():
            return _ohms(float(number)), rest
        case _:
            raise _no_net()


def _parts(tokens: list[str], depth: int) -> tuple[tuple[Net | Ohms, ...], list[str]]:
    """Read what stands between brackets."""
    read, rest = _part(tokens, depth)
    parts = [read]
    while rest[:1] == [","]:
        read, rest = _part(rest[1:], depth)
        parts.append(read)
    if rest[:1] != [")"]:
        raise _no_net()
    return tuple(parts), rest[1:]


def _ohms(number: float) -> Ohms:
    if not LEAST_OHM <= number <= MOST_OHM:
        raise MalformedQuestion("net", "net has an impedance out of range", "give each from 0.1 to 1000 ohm")
    return number


def _no_net() -> MalformedQuestion:
    return MalformedQuestion(
        "net", "net is not written as a net", "write it as parallel(series(4, 4), 8), impedances in ohm"
    )


def lowest_impedance(rated_ohm: Ohms) -> Ohms:
    """Lowest impedance that a speaker may show at any frequency, for its rating [ohm].

    Equation: Z_min = 0.8 x Z_rated.
    Source: IEC 60268-5 16.1, second-hand.

    Example:
        >>> lowest_impedance(4.0)
        3.2
    """
    return LOWEST * rated_ohm


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """How speakers share. One figure for each, in the order given."""

    powers_w: tuple[Watts, ...]
    currents_a: tuple[Amps, ...]
    voltages_v: tuple[Volts, ...]
    load_ohm: Ohms


def share_power(power_w: Watts, impedances_ohm: tuple[Ohms, ...], joined: str = "parallel") -> Shares:
    """How speakers of unlike impedance share a channel's power.

    Args:
        power_w: What the channel puts into all of them [W].
        impedances_ohm: Nominal impedance of each [ohm].
        joined: "parallel" (the lower impedance takes more) or "series" (the higher one takes more).

    Equation: parallel: P_i = P x Z / Z_i; series: P_i = P x Z_i / Z.
    Source: Ohm's law.

    Example:
        >>> share_power(90.0, (4.0, 8.0)).powers_w
        (60.0, 30.0)
    """
    if joined == "parallel":
        load = parallel(impedances_ohm)
        return _shares(load, impedances_ohm, tuple(power_w * load / z for z in impedances_ohm))
    load = series(impedances_ohm)
    return _shares(load, impedances_ohm, tuple(power_w * z / load for z in impedances_ohm))


def on_voltage(voltage_v: Volts, impedances_ohm: tuple[Ohms, ...]) -> Shares:
    """What speakers in parallel take from a channel at a known voltage.

    Args:
        voltage_v: RMS at the speakers [V].

    Equation: P_i = U^2 / Z_i; I_i = U / Z_i.
    Source: Ohm's law.

    Example:
        >>> on_voltage(18.0, (3.0, 6.0, 9.0)).currents_a
        (6.0, 3.0, 2.0)
    """
    powers = tuple(voltage_v**2 / z for z in impedances_ohm)
    return _shares(parallel(impedances_ohm), impedances_ohm, powers)


def _shares(load: Ohms, impedances: tuple[Ohms, ...], powers: tuple[Watts, ...]) -> Shares:
    pairs = tuple(zip(powers, impedances, strict=True))
    return Shares(
        powers_w=powers,
        currents_a=tuple(math.sqrt(power / z) for power, z in pairs),
        voltages_v=tuple(math.sqrt(power * z) for power, z in pairs),
        load_ohm=load,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadLoss:
    """What a lead between a channel and its load leaves."""

    load_v: Volts
    lost_percent: float
    lost: Ratio


def lead_loss(voltage_v: Volts, lead_ohm: Ohms, load_ohm: Ohms) -> LeadLoss:
    """Voltage that reaches a load through its lead.

    Args:
        voltage_v: At the channel [V].
        lead_ohm: Out and back [ohm].
        load_ohm: Speakers at the end [ohm].

    Equation: U_load = U x Z / (R + Z); power lost in the lead: R / (R + Z).
    Source: Ohm's law.

    Example:
        >>> round(lead_loss(12.0, 0.0249, 2.0).load_v, 4)
        11.8524
    """
    lost = lead_ohm / (lead_ohm + load_ohm)
    return LeadLoss(load_v=voltage_v * (1 - lost), lost_percent=100 * lost, lost=lost)


LEAST_OHM, MOST_OHM = 0.1, 1000.0

IMPEDANCES = Input(
    name="impedances_ohm",
    unit="ohm",
    meaning="nominal impedance of each speaker",
    kind="numbers",
    least=LEAST_OHM,
    most=MOST_OHM,
)

LOAD = Output(name="load_ohm", unit="ohm", meaning="impedance that the channel drives")

SHARED = (
    Output(name="currents_a", unit="A", meaning="current of each speaker"),
    Output(name="voltages_v", unit="V", meaning="voltage across each speaker"),
    LOAD,
)

NOMINAL = "nominal impedances: a speaker's real one moves with frequency and dips below its rating"

CALCULATIONS = (
    Calculation(
        id="series_impedance",
        title="Impedance of speakers in series",
        topic="loads",
        function=series,
        inputs=(IMPEDANCES,),
        output=LOAD,
        equation="Z = sum of Z_i",
        validity=NOMINAL,
        source="Ohm's law",
        cautions=("estimate",),
    ),
    Calculation(
        id="parallel_impedance",
        title="Impedance of speakers in parallel",
        topic="loads",
        function=parallel,
        inputs=(IMPEDANCES,),
        output=LOAD,
        equation="1 / Z = sum of 1 / Z_i",
        validity=f"{NOMINAL}; each more speaker lowers the load and raises the current",
        source="Ohm's law",
        cautions=("estimate",),
    ),
    Calculation(
        id="net_impedance",
        title="Impedance of a mixed net of speakers",
        topic="loads",
        function=net_impedance,
        inputs=(
            Input(
                name="net",
                unit="1",
                meaning="how it is joined, such as parallel(series(4, 4), 8)",
                kind="word",
            ),
        ),
        output=LOAD,
        equation="series adds impedances, parallel their reciprocals, from the inside out",
        validity=NOMINAL,
        source="Ohm's law and Kirchhoff's laws",
        cautions=("estimate",),
    ),
    Calculation(
        id="lowest_impedance",
        title="Lowest impedance of a rated speaker",
        topic="loads",
        function=lowest_impedance,
        inputs=(
            Input(name="rated_ohm", unit="ohm", meaning="rated impedance", least=LEAST_OHM, most=MOST_OHM),
        ),
        output=Output(name="lowest_ohm", unit="ohm", meaning="lowest at any frequency"),
        equation="Z_min = 0.8 x Z_rated",
        validity="a speaker whose rating follows the standard; many are not tested to it",
        source="IEC 60268-5 16.1, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="power_share",
        title="How speakers share a channel's power",
        topic="loads",
        function=share_power,
        inputs=(
            Input(name="power_w", unit="W", meaning="what the channel puts out", least=0, most=10_000),
            IMPEDANCES,
            Input(
                name="joined",
                unit="1",
                meaning="how the speakers are joined",
                kind="word",
                choices=("parallel", "series"),
                default="parallel",
            ),
        ),
        output=Output(name="powers_w", unit="W", meaning="power of each speaker"),
        others=SHARED,
        equation="parallel: P_i = P x Z / Z_i; series: P_i = P x Z_i / Z",
        validity=NOMINAL,
        source="Ohm's law",
        cautions=("estimate",),
    ),
    Calculation(
        id="load_on_voltage",
        title="What speakers in parallel take at a voltage",
        topic="loads",
        function=on_voltage,
        inputs=(
            Input(name="voltage_v", unit="V", meaning="RMS voltage at the speakers", least=0, most=500),
            IMPEDANCES,
        ),
        output=Output(name="powers_w", unit="W", meaning="power of each speaker"),
        others=SHARED,
        equation="I_i = U / Z_i; P_i = U^2 / Z_i",
        validity=NOMINAL,
        source="Ohm's law",
        cautions=("estimate",),
    ),
    Calculation(
        id="speaker_lead",
        title="What the lead to a speaker leaves",
        topic="loads",
        function=lead_loss,
        inputs=(
            Input(name="voltage_v", unit="V", meaning="at the channel", least=0, most=500),
            Input(name="lead_ohm", unit="ohm", meaning="resistance out and back", least=0, most=100),
            Input(
                name="load_ohm",
                unit="ohm",
                meaning="impedance of the speakers at the end",
                least=LEAST_OHM,
                most=MOST_OHM,
            ),
        ),
        output=Output(name="load_v", unit="V", meaning="voltage at the speakers"),
        others=(
            Output(name="lost_percent", unit="%", meaning="voltage lost"),
            Output(name="lost", unit="1", meaning="part of the power that heats the lead"),
        ),
        equation="U_load = U x Z / (R + Z)",
        validity=NOMINAL,
        source="Ohm's law",
        cautions=("estimate",),
    ),
)
