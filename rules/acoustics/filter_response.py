"""What Butterworth and Linkwitz-Riley filters do to level and phase, and what two of them sum to."""

from __future__ import annotations

import cmath
import math

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

BUTTERWORTH, LINKWITZ_RILEY = "butterworth", "linkwitz_riley"
LOW, HIGH = "low", "high"

FLAT_SPAN = tuple(10 ** (place / 100) for place in range(-200, 201))
"""Frequencies over the corner at which a sum is looked at [1]: four decades, a hundred to each."""


def prototype_order(family: str, order: int) -> int:
    """Order of the Butterworth filter that a filter is made of: itself, or half of a Linkwitz-Riley.

    Raises: MalformedQuestion for a Linkwitz-Riley filter of odd order: there is none.
    """
    if family == BUTTERWORTH:
        return order
    if order % 2:
        raise MalformedQuestion("order", "a Linkwitz-Riley filter has an even order", "give 2, 4, 6 or 8")
    return order // 2


def response(family: str, order: int, side: str, ratio: float) -> complex:
    """Complex gain of a filter.

    Args:
        family: butterworth; or linkwitz_riley: two Butterworth filters of half the order in a row.
        order: One or more; even for linkwitz_riley.
        side: What it lets through: low or high.
        ratio: Frequency over corner [1], above zero.

    Returns: [1]; 1 well inside the passband.

    Equation: H(s) = 1 / prod(s - p_k), p_k = e^(j pi (2k + n - 1) / (2n)), s = j f / f_c; for a high-pass 1 / s.
    Validity: analogue filters. A digital one departs from it near half its sampling rate.
    Source: definition of the Butterworth filter; Linkwitz-Riley as two in a row.
    """
    count = prototype_order(family, order)
    s = complex(0, ratio) if side == LOW else complex(0, -1 / ratio)
    found = complex(1)
    for k in range(1, count + 1):
        found /= s - cmath.exp(1j * math.pi * (2 * k + count - 1) / (2 * count))
    return found if family == BUTTERWORTH else found * found


def filter_gain(family: str, order: int, side: str, frequency_hz: float, corner_hz: float) -> float:
    """Gain of a filter at a frequency.

    Returns: [dB], at most 0; -3.01 at the corner of a Butterworth, -6.02 at that of a Linkwitz-Riley filter.

    Equation: -10 log10(1 + x^2n), x = f / f_c (low-pass) or f_c / f (high-pass); twice that of half the order for
        Linkwitz-Riley.
    Source: definition of the Butterworth filter.

    Example:
        >>> round(filter_gain("butterworth", 2, "low", 160, 80), 3)
        -12.304
    """
    count = prototype_order(family, order)
    ratio = frequency_hz / corner_hz if side == LOW else corner_hz / frequency_hz
    one = -10 * _log_of_one_plus(2 * count * math.log10(ratio))
    return one if family == BUTTERWORTH else 2 * one


def _log_of_one_plus(exponent: float) -> float:
    """Give log10(1 + 10^exponent) without overflow."""
    return max(exponent, 0.0) + math.log1p(10 ** -abs(exponent)) / math.log(10)


def filter_phase(family: str, order: int, side: str, frequency_hz: float, corner_hz: float) -> float:
    """Phase of a filter at a frequency.

    Returns: [degrees] from -180 to 180; negative lags.

    Equation: argument of the complex gain.
    Source: as `response`.

    Example:
        >>> round(filter_phase("butterworth", 2, "low", 80, 80))
        -90
    """
    return math.degrees(cmath.phase(response(family, order, side, frequency_hz / corner_hz)))


def sum_gain(family: str, order: int, ratio: float, *, inverted: bool) -> float:
    """Level of low-pass and high-pass together, where both play.

    Args:
        ratio: Frequency over the common corner [1], above zero.
        inverted: Whether one of the two is wired the other way round.

    Returns: [dB]; what cancels to less than a millionth gives -120 dB.
    """
    high = response(family, order, HIGH, ratio)
    both = response(family, order, LOW, ratio) + (-high if inverted else high)
    return 20 * math.log10(max(abs(both), 1e-6))


def crossover_deviation(family: str, order: int, wired: str) -> float:
    """Largest deviation from flat of a low-pass and a high-pass with the same corner, summed.

    Args:
        family: As `response`.
        order: Of both.
        wired: same; or reversed, one of the two the other way round.

    Returns: [dB], with its sign: negative is a hole. -120 dB stands for a complete one.

    Equation: 20 log10(|H_low +- H_high|), over four decades around the corner.
    Validity: two like speakers at one place. On a bike their distances to the ear differ, so this is the best case.
    Source: Linkwitz-Riley filters sum to an all-pass; as `response`.

    Example:
        >>> abs(round(crossover_deviation("linkwitz_riley", 4, "same"), 6))
        0.0
        >>> round(crossover_deviation("linkwitz_riley", 2, "same"))
        -120
    """
    gains = (sum_gain(family, order, x, inverted=wired == "reversed") for x in FLAT_SPAN)
    return max(gains, key=abs)


def section_qs(family: str, order: int) -> tuple[float, ...]:
    """Q of each second-order section of a filter, least first, as digital filters are entered.

    Returns: [1]. A Butterworth filter of odd order has a first-order section besides, which has no Q; a Linkwitz-Riley
        filter has two of them then, which make one section of Q 0.5.

    Equation: Q_k = 1 / (2 cos(theta_k)), theta_k the pole angles from the negative real axis.
    Source: pole angles of the Butterworth filter.

    Example:
        >>> [round(x, 4) for x in section_qs("butterworth", 4)]
        [0.5412, 1.3066]
        >>> section_qs("linkwitz_riley", 2)
        (0.5,)
    """
    count = prototype_order(family, order)
    odd = count % 2
    qs = tuple(
        1 / (2 * math.cos(math.pi * (2 * k - 1 + odd) / (2 * count))) for k in range(1, count // 2 + 1)
    )
    if family == BUTTERWORTH:
        return qs
    return (*((0.5,) if odd else ()), *sorted((*qs, *qs)))


def section_q(family: str, order: int, section: int) -> float:
    """Q of one second-order section of a filter.

    Args:
        section: Counted from 1, least Q first.

    Returns: [1].

    Raises: MalformedQuestion if the filter has no such section.
    """
    qs = section_qs(family, order)
    if section > len(qs):
        raise MalformedQuestion(
            "section", f"this filter has {len(qs)} second-order sections", "give one of these, counted from 1"
        )
    return qs[section - 1]


def filter_slope(order: int) -> float:
    """Slope of a filter far from its corner.

    Returns: [dB per octave].

    Equation: 20 n log10(2).
    Source: definition of the order.

    Example:
        >>> round(filter_slope(4), 2)
        24.08
    """
    return 20 * order * math.log10(2)


FAMILY = Input(
    name="family",
    unit="1",
    meaning="shape of the filter",
    kind="word",
    choices=(BUTTERWORTH, LINKWITZ_RILEY),
)
ORDER = Input(
    name="order", unit="1", meaning="order; even for linkwitz_riley", kind="whole", least=1, most=12
)
SIDE = Input(name="side", unit="1", meaning="what it lets through", kind="word", choices=(LOW, HIGH))
FREQUENCY = Input(name="frequency_hz", unit="Hz", meaning="frequency looked at", least=1, most=100_000)
CORNER = Input(name="corner_hz", unit="Hz", meaning="corner of the filter", least=1, most=100_000)
ANALOGUE = "analogue filters; a digital one departs near half its sampling rate"
SHAPES = "definition of the Butterworth filter; Linkwitz-Riley as two in a row"

CALCULATIONS = (
    Calculation(
        id="filter_gain",
        title="Gain of a filter at a frequency",
        topic="filters",
        function=filter_gain,
        inputs=(FAMILY, ORDER, SIDE, FREQUENCY, CORNER),
        output=Output(name="gain_db", unit="dB", meaning="gain, at most 0"),
        equation="-10 log10(1 + x^2n); twice that of half the order for Linkwitz-Riley",
        validity=ANALOGUE,
        source=SHAPES,
        cautions=("estimate",),
    ),
    Calculation(
        id="filter_phase",
        title="Phase of a filter at a frequency",
        topic="filters",
        function=filter_phase,
        inputs=(FAMILY, ORDER, SIDE, FREQUENCY, CORNER),
        output=Output(name="phase_deg", unit="degree", meaning="phase; negative lags"),
        equation="argument of 1 / prod(s - p_k), s = j f / f_c or its inverse",
        validity=ANALOGUE,
        source=SHAPES,
        cautions=("estimate",),
    ),
    Calculation(
        id="crossover_deviation",
        title="Largest deviation from flat of two filters that share a corner",
        topic="filters",
        function=crossover_deviation,
        inputs=(
            FAMILY,
            ORDER,
            Input(
                name="wired",
                unit="1",
                meaning="whether one of the two is the other way round",
                kind="word",
                choices=("same", "reversed"),
                default="same",
            ),
        ),
        output=Output(name="deviation_db", unit="dB", meaning="negative is a hole; -120 a complete one"),
        equation="20 log10(|H_low +- H_high|), largest over four decades around the corner",
        validity="two like speakers at one place: the best case on a bike",
        source=SHAPES,
        cautions=("estimate",),
    ),
    Calculation(
        id="filter_section",
        title="Q of one second-order section of a filter",
        topic="filters",
        function=section_q,
        inputs=(
            FAMILY,
            ORDER,
            Input(
                name="section", unit="1", meaning="which one, least Q first", kind="whole", least=1, most=6
            ),
        ),
        output=Output(name="q", unit="1", meaning="quality of the section"),
        equation="Q = 1 / (2 cos(theta)), theta the pole angle from the negative real axis",
        validity="any order; first-order sections have no Q",
        source="pole angles of the Butterworth filter",
        cautions=("estimate",),
    ),
    Calculation(
        id="filter_slope",
        title="Slope of a filter far from its corner",
        topic="filters",
        function=filter_slope,
        inputs=(Input(name="order", unit="1", meaning="order", kind="whole", least=1, most=12),),
        output=Output(name="slope", unit="dB/octave", meaning="slope of the stop band"),
        equation="20 n log10(2)",
        validity="an octave or more from the corner",
        source="definition of the order",
        cautions=("estimate",),
    ),
)
