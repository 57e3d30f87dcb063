"""Which high-pass and low-pass to set for a zone, how steep, and in which one of the devices."""

from __future__ import annotations

from dataclasses import dataclass

from rules.acoustics.filter_response import BUTTERWORTH, LINKWITZ_RILEY
from rules.acoustics.passive_filter import bass_blocker
from rules.acoustics.weighting import nominal_at_least
from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

AMPLIFIER, HEAD_UNIT, CAPACITOR = "amplifier", "head_unit", "capacitor"


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneFilter:
    """What to set for a zone.

    Attributes:
        high_pass_hz: [Hz].
        low_pass_hz: [Hz]; None where the zone plays to the top, or where nothing could make it.
        family: Shape of both.
        order: Of both.
        sits_in: amplifier, head_unit, or capacitor in the speaker lead: in one of them only.
        leave_open: What must stay at full range, so that nothing is filtered twice; empty if nothing else filters.
        capacitor_uf: Of the bass blocker, a value that is made [uF]; None otherwise.
        rests_on: Which figure decided: speaker or pod.
        open_wish: What was wished and cannot be made with what is there; empty otherwise.
    """

    high_pass_hz: float
    low_pass_hz: float | None
    family: str
    order: int
    sits_in: str
    leave_open: str
    capacitor_uf: float | None
    rests_on: str
    open_wish: str


def zone_filter(
    speaker_lowest_hz: float | None,
    pod_lowest_hz: float | None,
    hands_over_hz: float | None,
    amplifier: str,
    head_unit: str,
    impedance_ohm: float | None,
) -> ZoneFilter:
    """Recommend a zone's filters.

    Args:
        speaker_lowest_hz: Lowest frequency that the speaker's maker gives it at its rated power [Hz].
        pod_lowest_hz: Where the speaker falls off in its pod [Hz], from `speaker_in_pod`.
        hands_over_hz: Where another zone takes over the higher notes [Hz]; None: this one plays to the top.
        amplifier: none; plain, without filters; or filters.
        head_unit: plain; or filters.
        impedance_ohm: Rated, of the speaker [ohm]; needed for a bass blocker.

    Raises: MalformedQuestion if neither lowest frequency is known, or a bass blocker lacks the impedance, or the
        zone hands over below its high-pass.

    Equation: the higher of the two lowest frequencies, at the next named third octave. The amplifier's filters come
        first: they stay with the preset, while a flash can lose the head unit's. Butterworth of second order for a zone
        that plays to the top; Linkwitz-Riley of fourth order where another zone takes over, as these two sum flat. A
        capacitor is of first order, and only where nothing else filters.
    Validity: a start, to be checked by ear and meter. Where each device filters, slopes add and the corner moves up.
    Source: common practice, no source; the sums from `crossover_deviation`.

    Example:
        >>> found = zone_filter(70, 88, None, "filters", "filters", None)
        >>> found.high_pass_hz, found.order, found.sits_in, found.leave_open
        (100.0, 2, 'amplifier', 'head_unit')
    """
    low, rests_on = _lowest(speaker_lowest_hz, pod_lowest_hz)
    high_pass = nominal_at_least(low)
    if hands_over_hz is not None and hands_over_hz <= high_pass:
        raise MalformedQuestion(
            "hands_over_hz",
            "the zone hands over below its own high-pass",
            "hand over higher, or leave it out",
        )
    sits_in, leave_open = _place(amplifier, head_unit)
    passive = sits_in == CAPACITOR
    shared = hands_over_hz is not None and not passive
    return ZoneFilter(
        high_pass_hz=high_pass,
        low_pass_hz=hands_over_hz if shared else None,
        family=LINKWITZ_RILEY if shared else BUTTERWORTH,
        order=1 if passive else 4 if shared else 2,
        sits_in=sits_in,
        leave_open=leave_open,
        capacitor_uf=bass_blocker(high_pass, _needed(impedance_ohm)).standard_uf if passive else None,
        rests_on=rests_on,
        open_wish="low_pass" if passive and hands_over_hz is not None else "",
    )


def _lowest(speaker_hz: float | None, pod_hz: float | None) -> tuple[float, str]:
    known = [(hz, name) for hz, name in ((speaker_hz, "speaker"), (pod_hz, "pod")) if hz is not None]
    if not known:
        raise MalformedQuestion(
            "speaker_lowest_hz",
            "speaker_lowest_hz is missing, and so is pod_lowest_hz",
            "give one of them: from the speaker's sheet, or from speaker_in_pod",
        )
    return max(known)


def _place(amplifier: str, head_unit: str) -> tuple[str, str]:
    if amplifier == "filters":
        return AMPLIFIER, HEAD_UNIT if head_unit == "filters" else ""
    return (HEAD_UNIT if head_unit == "filters" else CAPACITOR), ""


def _needed(impedance_ohm: float | None) -> float:
    if impedance_ohm is None:
        raise MalformedQuestion(
            "impedance_ohm", "impedance_ohm is missing", "give the rated impedance for the bass blocker"
        )
    return impedance_ohm


CALCULATIONS = (
    Calculation(
        id="zone_filter",
        title="High-pass and low-pass of a zone, and where to set them",
        topic="filters",
        function=zone_filter,
        inputs=(
            Input(
                name="speaker_lowest_hz",
                unit="Hz",
                meaning="lowest frequency at rated power, by the speaker's maker",
                least=10,
                most=10_000,
                optional=True,
            ),
            Input(
                name="pod_lowest_hz",
                unit="Hz",
                meaning="where the speaker falls off in its pod",
                least=10,
                most=10_000,
                optional=True,
            ),
            Input(
                name="hands_over_hz",
                unit="Hz",
                meaning="where another zone takes over; left out: it plays to the top",
                least=20,
                most=20_000,
                optional=True,
            ),
            Input(
                name="amplifier",
                unit="1",
                meaning="which amplifier feeds it",
                kind="word",
                choices=("none", "plain", "filters"),
            ),
            Input(
                name="head_unit",
                unit="1",
                meaning="whether the head unit has filters for it",
                kind="word",
                choices=("plain", "filters"),
            ),
            Input(
                name="impedance_ohm",
                unit="ohm",
                meaning="rated impedance, for a bass blocker",
                least=0.5,
                most=64,
                optional=True,
            ),
        ),
        output=Output(name="high_pass_hz", unit="Hz", meaning="corner of the high-pass"),
        others=(
            Output(
                name="low_pass_hz",
                unit="Hz",
                meaning="corner of the low-pass",
                none="the zone plays to the top, or nothing there can make a low-pass",
            ),
            Output(name="family", unit="1", meaning="shape"),
            Output(name="order", unit="1", meaning="order"),
            Output(name="sits_in", unit="1", meaning="the one place to set it"),
            Output(name="leave_open", unit="1", meaning="what must stay at full range"),
            Output(
                name="capacitor_uf",
                unit="uF",
                meaning="bass blocker, a value that is made",
                none="no bass blocker is needed",
            ),
            Output(name="rests_on", unit="1", meaning="which figure decided"),
            Output(name="open_wish", unit="1", meaning="what cannot be made with what is there"),
        ),
        equation="the higher lowest frequency at the next named third octave; set in one device only",
        validity="a start, to be checked by ear and meter",
        source="common practice, no source",
        cautions=("estimate", "wiring"),
    ),
)
