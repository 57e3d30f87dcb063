"""Calculations against ngspice, on circuits drawn at random.

`python -m tests.oracle.circuits --cases 200 --seed 1` prints how many circuits agree, and the largest relative
error. What ngspice is given comes from the definition of each part, never from the calculation under test.
"""

from __future__ import annotations

import argparse
import json
import math
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path
from random import Random

from rules.electrical.amplifier import bridge
from rules.electrical.cable import amplifier_voltage, cable_drop
from rules.electrical.impedance import lead_loss, net_impedance, share_power
from tests.oracle.circuit import Circuit, Generator
from tests.oracle.sound_circuits import SOUND

CLOSE = 1e-3
"""Largest relative error that counts as agreement."""


class Elements:
    """Collects resistors, and names them and their nodes."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.nodes = 0

    def node(self) -> str:
        self.nodes += 1
        return f"n{self.nodes}"

    def resistor(self, one: str, other: str, ohms: float) -> None:
        self.lines.append(f"R{len(self.lines) + 1} {one} {other} {ohms!r}")


def net(rng: Random) -> Circuit:
    """Speakers in series and parallel, any way: one ampere through them shows their impedance as a voltage."""
    elements = Elements()
    text = ""
    while "(" not in text:
        elements = Elements()
        text = branch(rng, elements, "in", "0", depth=3)
    return Circuit((*elements.lines, "I1 0 in 1"), "op", {"v(in)": net_impedance(text)})


def branch(rng: Random, elements: Elements, one: str, other: str, depth: int) -> str:
    """Draw a net between two nodes, and write it as the calculation reads it."""
    joined = rng.choice(["one", "series", "parallel"]) if depth else "one"
    if joined == "one":
        ohms = rng.choice([2.0, 4.0, 6.0, 8.0, round(rng.uniform(0.5, 32), 2)])
        elements.resistor(one, other, ohms)
        return f"{ohms}"
    count = rng.randint(2, 3)
    ends = [(one, other)] * count
    if joined == "series":
        nodes = [one, *(elements.node() for _ in range(count - 1)), other]
        ends = list(pairwise(nodes))
    parts = [branch(rng, elements, a, b, depth - 1) for a, b in ends]
    return f"{joined}({', '.join(parts)})"


def power_share(rng: Random) -> Circuit:
    """Unlike speakers on one channel: the power of each."""
    ohms = [rng.choice([2.0, 3.0, 4.0, 6.0, 8.0, 16.0]) for _ in range(rng.randint(2, 4))]
    power = round(rng.uniform(1, 200), 1)
    joined = rng.choice(["parallel", "series"])
    load = sum(ohms) if joined == "series" else 1 / sum(1 / z for z in ohms)
    shares = share_power(power, tuple(ohms), joined)
    nodes = ["in", *(f"n{i}" for i in range(1, len(ohms))), "0"]
    ends = list(pairwise(nodes)) if joined == "series" else [("in", "0")] * len(ohms)
    resistors = [f"R{i} {a} {b} {z!r}" for i, ((a, b), z) in enumerate(zip(ends, ohms, strict=True), 1)]
    expected = {f"@r{i}[p]": watts for i, watts in enumerate(shares.powers_w, 1)}
    return Circuit((f"V1 in 0 {math.sqrt(power * load)!r}", *resistors), "op", expected)


def cable(rng: Random) -> Circuit:
    """Two leads of copper, warm, to a steady draw: the voltage that is left."""
    awg, metres = rng.choice([2, 4, 6, 8, 10, 12, 14, 16]), round(rng.uniform(0.3, 4), 2)
    amps, volts = round(rng.uniform(0.5, 40), 1), round(rng.uniform(12.5, 14.6), 1)
    warmth = rng.choice([0.0, 20.0, 45.0, 75.0])
    left = cable_drop(amps, metres, f"{awg} AWG", volts, warmth, stranding="solid").left_v
    # ASTM B258 and IEC 60028 as they define gauge and copper: 1 / 58 ohm mm2/m at 20 degrees.
    square = math.pi / 4 * (0.127 * 92 ** ((36 - awg) / 39)) ** 2
    ohms = metres / 58 / square
    return Circuit(
        (
            f".options tnom=20 temp={warmth}",
            f"V1 battery 0 {volts}",
            f"R1 battery amplifier {ohms!r} tc1=0.00393",
            f"R2 return 0 {ohms!r} tc1=0.00393",
            f"I1 amplifier return {amps}",
        ),
        "op",
        {"v(amplifier)-v(return)": left},
    )


def constant_power(rng: Random) -> Circuit:
    """An amplifier that draws the same power at any voltage."""
    volts, ohms = round(rng.uniform(11.5, 14.6), 2), round(rng.uniform(0.002, 0.08), 4)
    watts = round(rng.uniform(10, 400), 1)
    found = amplifier_voltage(volts, ohms, watts)
    assert found.amplifier_v is not None
    assert found.current_a is not None
    return Circuit(
        (
            f"V1 battery 0 {volts}",
            f"R1 battery amplifier {ohms}",
            f"B1 amplifier 0 I={watts}/v(amplifier)",
            f".nodeset v(amplifier)={volts}",
        ),
        "op",
        {"v(amplifier)": found.amplifier_v, "-i(v1)": found.current_a},
    )


def speaker_lead(rng: Random) -> Circuit:
    """A thin lead to speakers in parallel."""
    volts, lead = round(rng.uniform(1, 28), 2), round(rng.uniform(0.01, 0.6), 3)
    ohms = rng.choice([1.0, 2.0, 2.67, 4.0, 8.0])
    lines = (f"V1 channel 0 {volts}", f"R1 channel speaker {lead}", f"R2 speaker 0 {ohms}")
    loss = lead_loss(volts, lead, ohms)
    return Circuit(lines, "op", {"v(speaker)": loss.load_v, "@r1[p]/(@r1[p]+@r2[p])": loss.lost})


def bridged(rng: Random) -> Circuit:
    """Two channels in counter-phase on one load: what each sees, and what both put out."""
    ohms, volts = rng.choice([2.0, 4.0, 6.0, 8.0]), round(rng.uniform(4, 20), 2)
    one_channel = volts**2 / (ohms / 2)
    found = bridge(ohms, ohms / 2, (ohms / 2,), (one_channel,))
    assert found.power_w is not None
    lines = (f"V1 left 0 {volts}", f"V2 right 0 -{volts}", f"R1 left right {ohms}")
    return Circuit(lines, "op", {"v(left)/-i(v1)": found.seen_ohm, "@r1[p]": found.power_w})


GENERATORS: tuple[Generator, ...] = (
    net,
    power_share,
    cable,
    constant_power,
    speaker_lead,
    bridged,
    *SOUND,
)
"""Each draws one circuit with what the calculation says of it."""


def is_installed() -> bool:
    return shutil.which("ngspice") is not None


def simulate(circuit: Circuit) -> Mapping[str, float]:
    """Give what ngspice says of each expression."""
    prints = [f"print {expression}" for expression in circuit.expected]
    # The usual tolerance of a thousandth would leave nothing of the comparison.
    lines = [
        "drawn at random",
        ".options reltol=1e-9",
        *circuit.elements,
        ".control",
        "set numdgt=10",
        circuit.analysis,
        *prints,
    ]
    with tempfile.TemporaryDirectory() as folder:
        netlist = Path(folder) / "circuit.cir"
        netlist.write_text("\n".join([*lines, ".endc", ".end", ""]), encoding="utf-8")
        done = subprocess.run(
            ["ngspice", "-b", str(netlist)], capture_output=True, text=True, timeout=60, check=False
        )
    # Everything between the name and the number is ngspice's own rewriting of the expression.
    printed = re.findall(r"^\S.* = (-?\d\.\d+e[+-]\d+)\s*$", done.stdout, re.MULTILINE)
    assert len(printed) == len(prints), f"{done.stdout}\n{done.stderr}\n{lines}"
    return dict(zip(circuit.expected, map(float, printed), strict=True))


def error(circuit: Circuit) -> float:
    """Give the largest relative error between ngspice and the calculation."""
    simulated = simulate(circuit)
    return max(
        abs(simulated[expression] - value) / max(abs(value), 1e-9)
        for expression, value in circuit.expected.items()
    )


def compare(cases: int, seed: int) -> Mapping[str, object]:
    """Draw circuits, each kind in its turn, and count those that agree."""
    rng = Random(seed)
    errors = [error(GENERATORS[case % len(GENERATORS)](rng)) for case in range(cases)]
    agree = sum(found < CLOSE for found in errors)
    return {"agree": [agree, cases], "largest_relative_error": max(errors)}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    if not is_installed():
        print("ngspice is not installed: nothing was compared", file=sys.stderr)
        return 2
    found = compare(asked.cases, asked.seed)
    print(json.dumps(found))
    return 0 if found["agree"] == [asked.cases, asked.cases] else 1


if __name__ == "__main__":
    sys.exit(main())
