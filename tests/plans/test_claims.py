"""What stands about a part when somebody comes with a claim; nothing of it decides by itself."""

from __future__ import annotations

from datetime import date

import pytest

from rules.build import Placement
from rules.claim import INSPECT, OPEN, OVER, covered
from rules.done import FittedPart, PresetSet, TakenOff, VisitDone

AMPLIFIER, SPEAKER = Placement("fulmar-4", "fairing_tray"), Placement("tern-65", "fairing_pods")
RING = Placement("sea-ring", "fairing_pods")
FIRST, SECOND = date(2024, 2, 29), date(2025, 5, 5)


def preset(serial: str, on: date) -> PresetSet:
    return PresetSet(amplifier=AMPLIFIER, serial=serial, made_on=on, made_by="Odd")


def visits(serial: str = "F4-1", again: str = "F4-1") -> tuple[VisitDone, VisitDone]:
    parts = (
        FittedPart(placement=AMPLIFIER, serial=serial, warranty_months=24),
        FittedPart(placement=SPEAKER, warranty_months=None),
    )
    first = VisitDone(
        visit=1, on=FIRST, fitter="shop", by="Odd", fitted=parts, presets=(preset("F4-1", FIRST),)
    )
    second = VisitDone(
        visit=2,
        on=SECOND,
        fitter="home",
        by="the rider",
        fitted=(FittedPart(placement=RING),),
        removed=(TakenOff(placement=SPEAKER),),
        presets=(preset(again, SECOND),),
    )
    return first, second


@pytest.mark.parametrize(
    ("on", "in_term", "says"), [(date(2026, 2, 28), True, INSPECT), (date(2026, 3, 1), False, OVER)]
)
def test_the_last_day_of_the_term_counts_and_says_only_what_to_do(on: date, in_term: bool, says: str) -> None:
    amplifier = covered(visits(), on)[0]
    assert (amplifier.ends_on, amplifier.in_term, amplifier.says) == (date(2026, 2, 28), in_term, says)


def test_a_term_that_nobody_wrote_down_is_open_and_not_over() -> None:
    speaker = covered(visits(), date(2040, 1, 1))[1]
    assert (speaker.ends_on, speaker.in_term, speaker.says) == (None, None, OPEN)


def test_who_fitted_it_and_what_changed_since_is_told() -> None:
    amplifier, speaker, ring = covered(visits(), SECOND)
    assert (amplifier.fitter, amplifier.by, speaker.is_there, ring.since) == ("shop", "Odd", False, ())
    since = [(x.kind, x.placement, x.by, x.near) for x in speaker.since]
    assert since == [
        ("fitted", RING, "the rider", True),
        ("removed", SPEAKER, "the rider", True),
        ("preset", AMPLIFIER, "the rider", False),
    ]


@pytest.mark.parametrize(
    ("serial", "again", "same"), [("F4-1", "F4-1", True), ("F4-1", "F4-2", False), ("", "F4-1", True)]
)
def test_a_preset_holds_for_the_piece_that_it_was_made_for(serial: str, again: str, same: bool) -> None:
    amplifier = covered(visits(serial, again), SECOND)[0]
    assert (amplifier.same_piece, amplifier.preset) == (same, preset(again, SECOND))


def test_no_word_of_it_refuses_or_grants() -> None:
    for says in (INSPECT, OVER, OPEN):
        assert not {"refuse", "refused", "void", "granted", "rejected"} & set(says.lower().split())
