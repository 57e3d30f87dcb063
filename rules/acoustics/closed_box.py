"""A speaker in a closed box: total Q, corner and peak."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

EVEN_Q = 1 / math.sqrt(2)
"""Q of the flattest response [1], that of a Butterworth filter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedBox:
    """How a speaker plays its lowest notes in a closed box.

    Attributes:
        q: Total Q in the box, often written Qtc [1].
        resonance_hz: In the box [Hz].
        corner_hz: Where the level is down by 3 dB [Hz].
        peak_db: Highest rise above the level of the notes further up [dB]; 0 up to a Q of 0.7071.
    """

    q: float
    resonance_hz: float
    corner_hz: float
    peak_db: float


def corner_ratio(q: float) -> float:
    """Corner over resonance of a closed box.

    Args:
        q: Total Q [1], above zero.

    Returns: [1].

    Equation: f3 / fc = sqrt((a + sqrt(a^2 + 4)) / 2), a = 1 / Q^2 - 2.
    Source: second-order high-pass; R. H. Small, Closed-Box Loudspeaker Systems, 1972, from memory.

    Example:
        >>> round(corner_ratio(0.5), 4)
        1.5538
    """
    a = 1 / q**2 - 2
    # Written so that nothing cancels where a is large and negative.
    root = math.hypot(a, 2)
    return math.sqrt((a + root) / 2 if a >= 0 else 2 / (root - a))


def peak(q: float) -> float:
    """Rise of a closed box above the level further up.

    Args:
        q: Total Q [1], above zero.

    Returns: [dB]; 0 up to a Q of 0.7071.

    Equation: 20 log10(Q^2 / sqrt(Q^2 - 1/4)).
    Source: R. H. Small 1972, from memory.

    Example:
        >>> round(peak(1.1), 3), peak(0.6)
        (1.833, 0.0)
    """
    if q <= EVEN_Q:
        return 0.0
    return max(0.0, 20 * math.log10(q**2 / math.sqrt(q**2 - 0.25)))


def closed_box(resonance_hz: float, q: float, vas_l: float, volume_l: float) -> ClosedBox:
    """What a closed box makes of a speaker.

    Args:
        resonance_hz: Of the speaker in free air, fs [Hz], above zero.
        q: Total Q of the speaker in free air, Qts [1], above zero.
        vas_l: Air as stiff as its suspension, Vas [L], above zero.
        volume_l: Air in the box, less the speaker and what else is in it [L], above zero.

    Equation: m = sqrt(1 + Vas / Vb), Qtc = m Qts, fc = m fs; then `corner_ratio` and `peak`.
    Validity: a tight box without filling or losses, and sheet figures, which vary by a tenth and more. A pod that leaks
        plays lower notes weaker.
    Source: R. H. Small 1972.

    Example:
        >>> found = closed_box(21.973, 0.30066, 340.94, 37.62)
        >>> round(found.q, 3), round(found.corner_hz, 2), round(found.peak_db, 3)
        (0.954, 56.04, 0.984)
    """
    stiffer = math.sqrt(1 + vas_l / volume_l)
    total = q * stiffer
    resonance = resonance_hz * stiffer
    return ClosedBox(
        q=total, resonance_hz=resonance, corner_hz=resonance * corner_ratio(total), peak_db=peak(total)
    )


def closed_box_gain(q: float, resonance_hz: float, frequency_hz: float) -> float:
    """Level of a note against the level further up, in a closed box.

    Args:
        q: Total Q in the box [1].
        resonance_hz: In the box [Hz].
        frequency_hz: Of the note [Hz].

    Returns: [dB].

    Equation: 20 log10(x^2 / sqrt((1 - x^2)^2 + x^2 / Q^2)), x = f / fc.
    Source: R. H. Small 1972.

    Example:
        >>> round(closed_box_gain(1, 80, 80), 1)
        0.0
    """
    x = frequency_hz / resonance_hz
    return 20 * math.log10(x**2 / math.hypot(1 - x**2, x / q))


def closed_box_volume(q: float, vas_l: float, wanted_q: float) -> float:
    """Volume of the closed box in which a speaker has a wanted total Q.

    Args:
        q: Total Q of the speaker in free air, Qts [1].
        vas_l: Air as stiff as its suspension [L].
        wanted_q: Total Q in the box [1], above that in free air.

    Returns: [L].

    Raises: MalformedQuestion if the wanted Q is not above that of the speaker: no box lowers it.

    Equation: Vb = Vas / ((Qtc / Qts)^2 - 1).
    Source: R. H. Small 1972.

    Example:
        >>> round(closed_box_volume(0.4, 30, 2**-0.5), 3)
        14.118
    """
    if wanted_q <= q:
        raise MalformedQuestion(
            "wanted_q", "no closed box lowers the Q of a speaker", "give a wanted_q above q"
        )
    return vas_l / ((wanted_q / q) ** 2 - 1)


RESONANCE = Input(
    name="resonance_hz", unit="Hz", meaning="of the speaker in free air (fs)", least=5, most=2000
)
Q = Input(name="q", unit="1", meaning="total Q of the speaker in free air (Qts)", least=0.05, most=5)
VAS = Input(name="vas_l", unit="L", meaning="air as stiff as its suspension (Vas)", least=0.01, most=1000)
VOLUME = Input(name="volume_l", unit="L", meaning="air in the box, less the speaker", least=0.05, most=1000)
TOTAL_Q = Input(name="q", unit="1", meaning="total Q in the box (Qtc)", least=0.1, most=10)
TIGHT = "a tight box without filling or losses; sheet figures vary by a tenth and more"
SMALL = "R. H. Small, Closed-Box Loudspeaker Systems, 1972"

CALCULATIONS = (
    Calculation(
        id="closed_box",
        title="A speaker in a closed box",
        topic="boxes",
        function=closed_box,
        inputs=(RESONANCE, Q, VAS, VOLUME),
        output=Output(name="q", unit="1", meaning="total Q in the box (Qtc)"),
        others=(
            Output(name="resonance_hz", unit="Hz", meaning="resonance in the box"),
            Output(name="corner_hz", unit="Hz", meaning="where the level is down by 3 dB"),
            Output(name="peak_db", unit="dB", meaning="highest rise; 0 up to a Q of 0.7071"),
        ),
        equation="m = sqrt(1 + Vas / Vb), Qtc = m Qts, fc = m fs",
        validity=TIGHT,
        source=SMALL,
        cautions=("estimate",),
    ),
    Calculation(
        id="closed_box_corner",
        title="Corner over resonance of a closed box",
        topic="boxes",
        function=corner_ratio,
        inputs=(TOTAL_Q,),
        output=Output(name="ratio", unit="1", meaning="corner over resonance"),
        equation="f3 / fc = sqrt((a + sqrt(a^2 + 4)) / 2), a = 1 / Q^2 - 2",
        validity=TIGHT,
        source=SMALL + ", from memory",
        cautions=("estimate",),
    ),
    Calculation(
        id="closed_box_peak",
        title="Rise of a closed box above the level further up",
        topic="boxes",
        function=peak,
        inputs=(TOTAL_Q,),
        output=Output(name="peak_db", unit="dB", meaning="0 up to a Q of 0.7071"),
        equation="20 log10(Q^2 / sqrt(Q^2 - 1/4))",
        validity=TIGHT,
        source=SMALL + ", from memory",
        cautions=("estimate",),
    ),
    Calculation(
        id="closed_box_gain",
        title="Level of a note in a closed box",
        topic="boxes",
        function=closed_box_gain,
        inputs=(
            TOTAL_Q,
            Input(name="resonance_hz", unit="Hz", meaning="in the box", least=5, most=5000),
            Input(name="frequency_hz", unit="Hz", meaning="of the note", least=1, most=20_000),
        ),
        output=Output(name="gain_db", unit="dB", meaning="against the level further up"),
        equation="20 log10(x^2 / sqrt((1 - x^2)^2 + x^2 / Q^2)), x = f / fc",
        validity=TIGHT,
        source=SMALL,
        cautions=("estimate",),
    ),
    Calculation(
        id="closed_box_volume",
        title="Volume of the closed box that gives a wanted Q",
        topic="boxes",
        function=closed_box_volume,
        inputs=(
            Q,
            VAS,
            Input(
                name="wanted_q",
                unit="1",
                meaning="total Q in the box (Qtc)",
                least=0.1,
                most=10,
                default=EVEN_Q,
            ),
        ),
        output=Output(name="volume_l", unit="L", meaning="air in the box, less the speaker"),
        equation="Vb = Vas / ((Qtc / Qts)^2 - 1)",
        validity=TIGHT,
        source=SMALL,
        cautions=("estimate",),
    ),
)
