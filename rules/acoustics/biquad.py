"""Coefficients of digital second-order filters, for amplifiers and processors that take them as numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.acoustics.filter_response import LOW, SIDE
from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class Biquad:
    """Coefficients [1]: (b0 + b1 z^-1 + b2 z^-2) / (a0 + a1 z^-1 + a2 z^-2)."""

    b0: float
    b1: float
    b2: float
    a0: float
    a1: float
    a2: float


def biquad(side: str, corner_hz: float, rate_hz: float, q: float, form: str) -> Biquad:
    """Coefficients of a digital low-pass or high-pass of second order.

    Args:
        side: low or high.
        corner_hz: Corner [Hz], below half of the sampling rate.
        rate_hz: Sampling rate [Hz].
        q: Quality of the section [1], above zero; 0.7071 makes a Butterworth filter.
        form: normalised, all divided by a0; or cookbook, as the source writes them. Devices differ; some also turn
            the signs of a1 and a2.

    Raises: MalformedQuestion if the corner is not below half of the sampling rate.

    Equation: w = 2 pi f / f_s, alpha = sin(w) / (2 Q); b1 = 1 - cos(w), b0 = b2 = b1 / 2 (low-pass) or
        b1 = -(1 + cos(w)), b0 = b2 = -b1 / 2 (high-pass); a0 = 1 + alpha, a1 = -2 cos(w), a2 = 1 - alpha.
    Source: R. Bristow-Johnson, Audio EQ Cookbook, W3C Note.

    Example:
        >>> round(biquad("high", 80, 48000, 0.70710678, "normalised").b0, 9)
        0.992622543
    """
    if corner_hz >= rate_hz / 2:
        raise MalformedQuestion(
            "corner_hz",
            "the corner is not below half of the sampling rate",
            "give a lower corner or another rate",
        )
    angle = 2 * math.pi * corner_hz / rate_hz
    alpha = math.sin(angle) / (2 * q)
    middle = 1 - math.cos(angle) if side == LOW else -(1 + math.cos(angle))
    a0 = 1 + alpha
    by = a0 if form == "normalised" else 1.0
    return Biquad(
        b0=abs(middle) / 2 / by,
        b1=middle / by,
        b2=abs(middle) / 2 / by,
        a0=a0 / by,
        a1=-2 * math.cos(angle) / by,
        a2=(1 - alpha) / by,
    )


CALCULATIONS = (
    Calculation(
        id="biquad",
        title="Coefficients of a digital filter of second order",
        topic="filters",
        function=biquad,
        inputs=(
            SIDE,
            Input(name="corner_hz", unit="Hz", meaning="corner", least=1, most=96_000),
            Input(
                name="rate_hz", unit="Hz", meaning="sampling rate", least=8000, most=192_000, default=48_000
            ),
            Input(
                name="q", unit="1", meaning="quality of the section", least=0.1, most=20, default=0.70710678
            ),
            Input(
                name="form",
                unit="1",
                meaning="divided by a0, or as the cookbook writes them",
                kind="word",
                choices=("normalised", "cookbook"),
                default="normalised",
            ),
        ),
        output=Output(name="b0", unit="1", meaning="of the sample itself"),
        others=(
            Output(name="b1", unit="1", meaning="of the sample before"),
            Output(name="b2", unit="1", meaning="of the one before that"),
            Output(name="a0", unit="1", meaning="1 in the normalised form"),
            Output(name="a1", unit="1", meaning="of the output before; some devices turn its sign"),
            Output(name="a2", unit="1", meaning="of the output before that; some devices turn its sign"),
        ),
        equation="w = 2 pi f / f_s, alpha = sin(w) / (2 Q); see the source for b and a",
        validity="a corner below half of the sampling rate",
        source="R. Bristow-Johnson, Audio EQ Cookbook, W3C Note",
        cautions=("estimate",),
    ),
)
