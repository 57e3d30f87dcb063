"""A speaker in a given pod: how it will play its lowest notes there, and from where it needs protection."""

from __future__ import annotations

from dataclasses import dataclass

from rules.acoustics.closed_box import RESONANCE, SMALL, VAS, VOLUME, Q, closed_box, corner_ratio, peak
from rules.acoustics.vent import AIR, TWO_FLANGED_RADII, vent_tuning
from rules.acoustics.weighting import nominal_at_least
from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

EVEN_UP_TO, FULL_UP_TO = 0.85, 1.1
"""Total Q up to which a pod plays evenly (a rise below half a decibel), and fully (below two).

Common practice, no source.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeakerInPod:
    """How a speaker plays in a pod.

    Attributes:
        sound: even, full or boomy by the total Q; vented where a vent decides, which this does not judge.
        q: Total Q in the pod [1]; None in a vented one.
        lowest_hz: Where the level is down by 3 dB [Hz]; in a vented pod its tuning, below which the cone has no
            hold.
        peak_db: Rise above the level further up [dB]; None in a vented pod.
        high_pass_hz: Lowest high-pass to set, at a named third octave [Hz].
    """

    sound: str
    q: float | None
    lowest_hz: float
    peak_db: float | None
    high_pass_hz: float


def speaker_in_pod(
    pod: str,
    resonance_hz: float,
    q: float,
    vas_l: float,
    volume_l: float | None,
    vent_mm: float | None,
    vent_length_mm: float | None,
    air_c: float,
) -> SpeakerInPod:
    """Check a speaker in a given pod.

    Args:
        pod: sealed; vented; or open: so leaky that it holds no air.
        resonance_hz: Of the speaker, fs [Hz].
        q: Of the speaker, Qts [1].
        vas_l: Of the speaker, Vas [L].
        volume_l: Of the pod, less the speaker [L]; not needed for an open one.
        vent_mm: Inner diameter of the vent [mm], of a vented pod.
        vent_length_mm: Length of the vent [mm], of a vented pod.
        air_c: Temperature [degrees Celsius].

    Raises: MalformedQuestion if a figure that this kind of pod needs is missing.

    Equation: `closed_box` for a sealed pod; free air for an open one; `vent_tuning` for a vented one.
    Validity: one speaker in the pod; rough for vented and leaky ones.
    Source: R. H. Small 1972; Helmholtz resonator; the limits of even and full are common practice without a source.

    Example:
        >>> found = speaker_in_pod("sealed", 60, 0.5, 12, 6, None, None, 20)
        >>> found.sound, round(found.q, 2), round(found.lowest_hz), found.high_pass_hz
        ('full', 0.87, 88, 100.0)
    """
    if pod == "open":
        return _by_q(q, resonance_hz * corner_ratio(q))
    volume = _needed(volume_l, "volume_l")
    if pod == "sealed":
        box = closed_box(resonance_hz, q, vas_l, volume)
        return _by_q(box.q, box.corner_hz)
    tuning = vent_tuning(
        volume,
        _needed(vent_mm, "vent_mm"),
        _needed(vent_length_mm, "vent_length_mm"),
        TWO_FLANGED_RADII,
        air_c,
    )
    return SpeakerInPod(
        sound="vented", q=None, lowest_hz=tuning, peak_db=None, high_pass_hz=nominal_at_least(tuning)
    )


def _by_q(q: float, corner_hz: float) -> SpeakerInPod:
    sound = "even" if q <= EVEN_UP_TO else "full" if q <= FULL_UP_TO else "boomy"
    return SpeakerInPod(
        sound=sound, q=q, lowest_hz=corner_hz, peak_db=peak(q), high_pass_hz=nominal_at_least(corner_hz)
    )


def _needed(figure: float | None, name: str) -> float:
    if figure is None:
        raise MalformedQuestion(
            name, f"{name} is missing", "measure it on the pod, or take it from its sheet"
        )
    return figure


NO_Q = "a vented pod has no total Q"

CALCULATIONS = (
    Calculation(
        id="speaker_in_pod",
        title="A speaker in a given pod",
        topic="boxes",
        function=speaker_in_pod,
        inputs=(
            Input(
                name="pod",
                unit="1",
                meaning="sealed, vented, or open: so leaky that it holds no air",
                kind="word",
                choices=("sealed", "vented", "open"),
            ),
            RESONANCE,
            Q,
            VAS,
            Input(
                name=VOLUME.name,
                unit=VOLUME.unit,
                meaning=VOLUME.meaning + "; not of an open pod",
                least=VOLUME.least,
                most=VOLUME.most,
                optional=True,
            ),
            Input(
                name="vent_mm",
                unit="mm",
                meaning="inner diameter of the vent of a vented pod",
                least=5,
                most=300,
                optional=True,
            ),
            Input(
                name="vent_length_mm",
                unit="mm",
                meaning="length of the vent of a vented pod",
                least=0,
                most=2000,
                optional=True,
            ),
            AIR,
        ),
        output=Output(name="sound", unit="1", meaning="even, full or boomy by the total Q; or vented"),
        others=(
            Output(name="q", unit="1", meaning="total Q in the pod", none=NO_Q),
            Output(name="lowest_hz", unit="Hz", meaning="down by 3 dB; of a vented pod its tuning"),
            Output(name="peak_db", unit="dB", meaning="rise above the level further up", none=NO_Q),
            Output(name="high_pass_hz", unit="Hz", meaning="lowest high-pass to set"),
        ),
        equation="closed box; free air for an open pod; f = c / (2 pi) sqrt(S / (V (L + 1.7 r))) for a vented one",
        validity="one speaker in the pod; rough for vented and leaky ones; even and full are common practice",
        source=SMALL + "; Helmholtz resonator",
        cautions=("estimate",),
    ),
)
