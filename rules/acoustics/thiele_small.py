"""The figures of a speaker that boxes are calculated with, from what its parts measure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output

AIR_DENSITY = 1.2
"""[kg/m3], at about 20 degrees Celsius."""

AIR_SPEED = 343.0
"""Speed of sound at about 20 degrees Celsius, rounded [m/s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ThieleSmall:
    """Figures of a speaker, named as sheets print them.

    Attributes:
        mms_g: Moving mass with the air that moves with it [g].
        fs_hz: Resonance in free air [Hz].
        qes: Electrical Q [1].
        qms: Mechanical Q [1].
        qts: Total Q [1].
        vas_l: Air as stiff as the suspension [L].
        efficiency: Reference efficiency into half space [1].
    """

    mms_g: float
    fs_hz: float
    qes: float
    qms: float
    qts: float
    vas_l: float
    efficiency: float


def thiele_small(
    moving_g: float,
    compliance_mm_n: float,
    drag_ns_m: float,
    force_tm: float,
    coil_ohm: float,
    radius_cm: float,
) -> ThieleSmall:
    """Figures of a speaker from its moving parts.

    Args:
        moving_g: Mass of cone and coil without air, Mmd [g].
        compliance_mm_n: Of the suspension, Cms [mm/N].
        drag_ns_m: Mechanical resistance, Rms [N s/m].
        force_tm: Force factor, Bl [T m].
        coil_ohm: Direct-current resistance of the coil, Re [ohm].
        radius_cm: Effective radius of the cone [cm].

    Equation: Mms = Mmd + 16/3 rho a^3; fs = 1 / (2 pi sqrt(Mms Cms)); Qms = 2 pi fs Mms / Rms;
        Qes = 2 pi fs Mms Re / Bl^2; 1 / Qts = 1 / Qes + 1 / Qms; Vas = rho c^2 Sd^2 Cms;
        eta0 = 4 pi^2 fs^3 Vas / (c^3 Qes).
    Validity: small signals; a cone in a large baffle, loaded by air on both sides (rho 1.2 kg/m3, c 343 m/s).
    Source: R. H. Small, Direct-Radiator Loudspeaker System Analysis, 1972, from memory.

    Example:
        >>> found = thiele_small(33.4, 1.18, 1.85, 11.4, 7, 12)
        >>> round(found.fs_hz, 3), round(found.qts, 5)
        (21.973, 0.30066)
    """
    radius, compliance = radius_cm / 100, compliance_mm_n / 1000
    mass = moving_g / 1000 + 16 / 3 * AIR_DENSITY * radius**3
    resonance = 1 / (2 * math.pi * math.sqrt(mass * compliance))
    pull = 2 * math.pi * resonance * mass
    electrical, mechanical = pull * coil_ohm / force_tm**2, pull / drag_ns_m
    vas = AIR_DENSITY * AIR_SPEED**2 * (math.pi * radius**2) ** 2 * compliance
    return ThieleSmall(
        mms_g=1000 * mass,
        fs_hz=resonance,
        qes=electrical,
        qms=mechanical,
        qts=electrical * mechanical / (electrical + mechanical),
        vas_l=1000 * vas,
        efficiency=4 * math.pi**2 * resonance**3 * vas / (AIR_SPEED**3 * electrical),
    )


CALCULATIONS = (
    Calculation(
        id="thiele_small",
        title="Figures of a speaker from its moving parts",
        topic="boxes",
        function=thiele_small,
        inputs=(
            Input(name="moving_g", unit="g", meaning="mass of cone and coil (Mmd)", least=0.1, most=1000),
            Input(
                name="compliance_mm_n", unit="mm/N", meaning="of the suspension (Cms)", least=0.001, most=100
            ),
            Input(name="drag_ns_m", unit="N s/m", meaning="mechanical resistance (Rms)", least=0.01, most=50),
            Input(name="force_tm", unit="T m", meaning="force factor (Bl)", least=0.1, most=100),
            Input(name="coil_ohm", unit="ohm", meaning="direct-current resistance (Re)", least=0.1, most=64),
            Input(name="radius_cm", unit="cm", meaning="effective radius of the cone", least=0.5, most=50),
        ),
        output=Output(name="qts", unit="1", meaning="total Q in free air"),
        others=(
            Output(name="mms_g", unit="g", meaning="moving mass with its air"),
            Output(name="fs_hz", unit="Hz", meaning="resonance in free air"),
            Output(name="qes", unit="1", meaning="electrical Q"),
            Output(name="qms", unit="1", meaning="mechanical Q"),
            Output(name="vas_l", unit="L", meaning="air as stiff as the suspension"),
            Output(name="efficiency", unit="1", meaning="reference efficiency into half space"),
        ),
        equation="fs = 1 / (2 pi sqrt(Mms Cms)); 1 / Qts = 1 / Qes + 1 / Qms; Vas = rho c^2 Sd^2 Cms",
        validity="small signals; a cone in a large baffle",
        source="R. H. Small, Direct-Radiator Loudspeaker System Analysis, 1972, from memory",
        cautions=("estimate",),
    ),
)
