"""Circuits of sound for ngspice: filters, speakers in boxes, vents, sums and the A-weighting."""

from __future__ import annotations

import math
from random import Random

from rules.acoustics.closed_box import ClosedBox, closed_box, closed_box_gain
from rules.acoustics.filter_response import filter_gain
from rules.acoustics.level import pressure_sum
from rules.acoustics.passive_filter import bass_blocker, passive_second_order
from rules.acoustics.thiele_small import thiele_small
from rules.acoustics.vent import vent_tuning
from rules.acoustics.weighting import a_weighting
from tests.oracle.circuit import Circuit, Generator

AIR_DENSITY, AIR_SPEED = 1.2, 343.0


def at(frequency: float) -> str:
    """Analyse at one frequency."""
    return f"ac lin 1 {frequency!r} {frequency!r}"


def ratio(decibels: float) -> float:
    return float(10 ** (decibels / 20))


def blocker(rng: Random) -> Circuit:
    """A capacitor before a speaker: the corner that is asked for, and any other note."""
    ohms, corner = rng.choice([2.0, 4.0, 8.0]), round(rng.uniform(60, 6000), 1)
    frequency = corner * rng.choice([1.0, 1.0, rng.uniform(0.1, 10)])
    microfarads = bass_blocker(corner, ohms).capacitance_uf
    lines = ("V1 in 0 ac 1", f"C1 in out {microfarads * 1e-6!r}", f"R1 out 0 {ohms}")
    gain = filter_gain("butterworth", 1, "high", frequency, corner)
    return Circuit(lines, at(frequency), {"mag(v(out))": ratio(gain)})


def coil_and_capacitor(rng: Random) -> Circuit:
    """A passive filter of second order, either way round."""
    ohms, corner = rng.choice([2.0, 4.0, 6.0, 8.0]), round(rng.uniform(60, 6000), 1)
    frequency = corner * rng.choice([1.0, rng.uniform(0.1, 10)])
    side = rng.choice(["low", "high"])
    found = passive_second_order(corner, ohms)
    coil, capacitor = f"{found.inductance_uh * 1e-6!r}", f"{found.capacitance_uf * 1e-6!r}"
    series, across = (f"L1 in out {coil}", f"C1 out 0 {capacitor}")
    if side == "high":
        series, across = (f"C1 in out {capacitor}", f"L1 out 0 {coil}")
    gain = filter_gain("butterworth", 2, side, frequency, corner)
    lines = ("V1 in 0 ac 1", series, across, f"R1 out 0 {ohms}")
    return Circuit(lines, at(frequency), {"mag(v(out))": ratio(gain)})


def ladder(rng: Random) -> Circuit:
    """A Butterworth or Linkwitz-Riley filter of any order, as ladders between equal resistors.

    The values are the textbook's for such a ladder, g_k = 2 sin((2k - 1) pi / 2n); it halves the voltage besides.
    """
    family = rng.choice(["butterworth", "linkwitz_riley"])
    count, side = rng.randint(1, 6), rng.choice(["low", "high"])
    corner = round(rng.uniform(40, 5000), 1)
    frequency = corner * rng.uniform(0.3, 3)
    times = 1 if family == "butterworth" else 2
    lines = ["V1 in1 0 ac 1"]
    for stage in range(1, times + 1):
        lines += steps(stage, count, side, corner)
        if stage < times:
            lines.append(f"E{stage} in{stage + 1} 0 out{stage} 0 1")
    gain = filter_gain(family, count * times, side, frequency, corner)
    return Circuit(tuple(lines), at(frequency), {f"mag(v(out{times}))": ratio(gain) / 2**times})


def steps(stage: int, count: int, side: str, corner: float) -> list[str]:
    """Give one ladder from in to out, one ohm at both ends."""
    angular = 2 * math.pi * corner
    lines, node = [f"Ra{stage} in{stage} s{stage}n0 1"], f"s{stage}n0"
    for k in range(1, count + 1):
        g = 2 * math.sin((2 * k - 1) * math.pi / (2 * count))
        value = g / angular if side == "low" else 1 / (g * angular)
        across = k % 2 == 1
        kind = "C" if across == (side == "low") else "L"
        ahead = node if across else f"s{stage}n{k}"
        ends = f"{node} 0" if across else f"{node} {ahead}"
        lines.append(f"{kind}{stage}k{k} {ends} {value!r}")
        node = ahead
    # The last node goes by a second name, through nothing.
    return [*lines, f"Rb{stage} {node} 0 1", f"Eout{stage} out{stage} 0 {node} 0 1"]


def boxed(rng: Random) -> Circuit:
    """A speaker in a closed box from its moving parts: any note, the corner, and the peak where there is one."""
    moving, compliance = round(rng.uniform(5, 60), 2), round(rng.uniform(0.2, 2), 3)
    drag, force, coil = (
        round(rng.uniform(0.5, 3), 2),
        round(rng.uniform(3, 12), 2),
        rng.choice([1.8, 3.4, 6.2]),
    )
    radius, litres = round(rng.uniform(4, 9), 2), round(rng.uniform(2, 30), 2)
    speaker = thiele_small(moving, compliance, drag, force, coil, radius)
    box = closed_box(speaker.fs_hz, speaker.qts, speaker.vas_l, litres)
    note = box.resonance_hz * rng.uniform(0.3, 4)
    frequency, gain = rng.choice([(note, closed_box_gain(box.q, box.resonance_hz, note)), *landmarks(box)])
    cone = math.pi * (radius / 100) ** 2
    # Air that moves with a cone in a large baffle: 8/3 rho a^3 on each side.
    mass = moving / 1000 + 2 * 8 / 3 * AIR_DENSITY * (radius / 100) ** 3
    air = litres / 1000 / (AIR_DENSITY * AIR_SPEED**2 * cone**2)
    # Current is the coil's on the left and the cone's velocity on the right; the voltage on the mass is its
    # acceleration, to which the sound pressure is proportional.
    lines = (
        ".options rshunt=1e12",
        "V1 in 0 ac 1",
        f"R1 in coil {coil}",
        "Vcoil coil back 0",
        f"H1 back 0 Vcone {force}",
        f"H2 push 0 Vcoil {force}",
        f"L1 push moved {mass!r}",
        f"R2 moved held {drag}",
        f"C1 held sprung {compliance / 1000!r}",
        f"C2 sprung boxed {air!r}",
        "Vcone boxed 0 0",
    )
    return Circuit(lines, at(frequency), {"mag(v(push)-v(moved))": force / coil * ratio(gain)})


def landmarks(box: ClosedBox) -> list[tuple[float, float]]:
    """Give the corner, where the level is down by 3 dB, and the peak, each with its level."""
    found = [(box.corner_hz, 20 * math.log10(math.sqrt(0.5)))]
    if box.peak_db > 0.01:
        found.append((box.resonance_hz / math.sqrt(1 - 1 / (2 * box.q**2)), box.peak_db))
    return found


def vented(rng: Random) -> Circuit:
    """The air of a box and the plug of air in its vent: at the tuning each takes the same pressure."""
    litres, diameter = round(rng.uniform(3, 60), 2), round(rng.uniform(20, 100), 1)
    length, warmth = round(rng.uniform(5, 250), 1), rng.choice([0.0, 20.0, 35.0])
    frequency = vent_tuning(litres, diameter, length, 1.7, warmth)
    speed = 343.2 * math.sqrt((warmth + 273.15) / 293.15)
    radius = diameter / 2000
    plug = AIR_DENSITY * (length / 1000 + 1.7 * radius) / (math.pi * radius**2)
    air = litres / 1000 / (AIR_DENSITY * speed**2)
    lines = ("I1 0 in ac 1", f"L1 in box {plug!r}", f"C1 box 0 {air!r}", "R1 box 0 1e12")
    return Circuit(lines, at(frequency), {"mag(v(in)-v(box))/mag(v(box))": 1.0})


def summed(rng: Random) -> Circuit:
    """One tone from several speakers, each with its level and phase."""
    levels = tuple(round(rng.uniform(60, 100), 1) for _ in range(rng.randint(2, 4)))
    phases = tuple(float(rng.randint(-150, 150)) for _ in levels)
    nodes = [f"n{i}" for i in range(len(levels))] + ["0"]
    lines = tuple(
        f"V{i} {nodes[i]} {nodes[i + 1]} ac {ratio(level - 60)!r} {phase}"
        for i, (level, phase) in enumerate(zip(levels, phases, strict=True))
    )
    total = pressure_sum(levels, phases)
    return Circuit((*lines, "R1 n0 0 1"), at(1000.0), {"mag(v(n0))": ratio(total - 60)})


def weighted(rng: Random) -> Circuit:
    """The A-weighting as a chain of buffered resistors and capacitors.

    Poles of IEC 61672-1: 20.6 Hz twice, 107.7 Hz and 737.9 Hz as high-passes, 12194 Hz twice as low-passes. The chain
    itself is down by 2.000 dB at 1 kHz, which the weighting makes up.
    """
    frequency = round(10 ** rng.uniform(1.3, 4.2), 2)
    lines = ["V1 in0 0 ac 1"]
    for place, (pole, side) in enumerate(
        [
            (20.598997, "high"),
            (20.598997, "high"),
            (107.65265, "high"),
            (737.86223, "high"),
            (12194.217, "low"),
            (12194.217, "low"),
        ]
    ):
        farads = 1 / (2 * math.pi * pole)
        one, other = (f"C{place}", f"R{place}") if side == "high" else (f"R{place}", f"C{place}")
        values = (farads, 1.0) if side == "high" else (1.0, farads)
        lines += [
            f"{one} in{place} m{place} {values[0]!r}",
            f"{other} m{place} 0 {values[1]!r}",
            f"E{place} in{place + 1} 0 m{place} 0 1",
        ]
    return Circuit(tuple(lines), at(frequency), {"mag(v(in6))": ratio(a_weighting(frequency) - 2.000)})


SOUND: tuple[Generator, ...] = (
    blocker,
    coil_and_capacitor,
    ladder,
    boxed,
    vented,
    summed,
    weighted,
)
"""Each draws one circuit with what the calculation says of it."""
