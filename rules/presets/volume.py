"""The volume reference: the setting of the head unit at which a preset is made, and beyond which it clips."""

from __future__ import annotations

from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeReference:
    """Step of the volume control at which gains are set [1], and how far up that is [%]."""

    step: int
    percent: float


def volume_reference(steps: int, last_clean_step: int, spare_steps: int) -> VolumeReference:
    """Volume at which the gains are set.

    Args:
        steps: Highest step of the control.
        last_clean_step: Highest at which a full-scale tone still comes out unclipped, as somebody has measured on a
            head unit of this kind and software. It is never guessed.
        spare_steps: How many steps to stay below that.

    Raises: MalformedQuestion if the clean step is above the control, or nothing is left.

    Equation: step = last clean step - spare steps.
    Validity: this head unit with this software and these tone settings.
    Source: common practice, no source.

    Example:
        >>> volume_reference(30, 25, 1).step
        24
    """
    if last_clean_step > steps:
        raise MalformedQuestion(
            "last_clean_step",
            "the clean step is above the control's highest",
            "give at most the number of steps",
        )
    step = last_clean_step - spare_steps
    if step < 1:
        raise MalformedQuestion(
            "spare_steps", "no step is left below the clean one", "keep fewer spare steps"
        )
    return VolumeReference(step=step, percent=100 * step / steps)


CALCULATIONS = (
    Calculation(
        id="volume_reference",
        title="Volume at which the gains are set",
        topic="presets",
        function=volume_reference,
        inputs=(
            Input(
                name="steps",
                unit="1",
                meaning="highest step of the control",
                kind="whole",
                least=1,
                most=1000,
            ),
            Input(
                name="last_clean_step",
                unit="1",
                meaning="highest step at which a full-scale tone was measured unclipped",
                kind="whole",
                least=1,
                most=1000,
            ),
            Input(
                name="spare_steps",
                unit="1",
                meaning="how many steps to stay below that",
                kind="whole",
                least=0,
                most=100,
                default=1,
            ),
        ),
        output=Output(name="step", unit="1", meaning="volume reference"),
        others=(Output(name="percent", unit="%", meaning="how far up that is"),),
        equation="step = last clean step - spare steps",
        validity="this head unit with this software and these tone settings",
        source="common practice, no source",
        cautions=("estimate", "controls", "hearing"),
    ),
)
