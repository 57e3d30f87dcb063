"""Believable inputs of every calculation, for the examples in the OpenAPI document and on the page of calculations."""

from __future__ import annotations

from typing import Any

from rules.calculations.calculation import Calculation, Input

BY_NAME: dict[str, Any] = {
    "age_years": 3,
    "allowed": [8, 2],
    "ampacity_a": 60,
    "amount": "129.90",
    "amplifier": "filters",
    "amplifier_class": "D",
    "amplifier_w": 60,
    "amplifiers_a": 12,
    "amplitude": 0.5,
    "area_mm2": 10,
    "awg": 8,
    "band": 0,
    "battery": "agm",
    "bike_a": 26,
    "capacity_ah": 18,
    "coil_ohm": 3.4,
    "compliance_mm_n": 0.4,
    "cone_cm2": 132,
    "contact_rating_a": 14,
    "corner_hz": 120,
    "crest_db": 12,
    "current_a": 12,
    "currency": "EUR",
    "diameter_mm": 40,
    "distance_m": 0.8,
    "drag_ns_m": 1.2,
    "efficiency": 0.005,
    "end": "flanged",
    "excursion_mm": 3,
    "family": "butterworth",
    "faster_kmh": 110,
    "force_tm": 4.5,
    "frequency_hz": 100,
    "head_unit": "plain",
    "high_pass_hz": 100,
    "hours": 2,
    "impedance": 4,
    "impedance_ohm": 4,
    "impedances_ohm": [4, 4],
    "last_clean_step": 24,
    "lead_ohm": 0.1,
    "length_m": 1.8,
    "length_mm": 60,
    "level_db": 0,
    "level_dba": 90,
    "level_dbfs": -6,
    "levels_db": [85, 88],
    "limit_kg": 10,
    "load_ohm": 4,
    "loop_ohm": 0.01,
    "lowest_hz": 63,
    "lowest_ohm": 2,
    "lugs": 2,
    "maker_fuse_a": 40,
    "minutes": 45,
    "months": 24,
    "most": 4,
    "moving_g": 14,
    "music_dba": 82,
    "net": "parallel(series(4, 4), 8)",
    "ohm_per_km": 2.1,
    "order": 2,
    "output_a": 41,
    "parts_kg": [1.4, 2.2],
    "payload_kg": 190,
    "pod": "sealed",
    "power": 100,
    "power_w": 60,
    "pressure_pa": 0.2,
    "printed_db": 93,
    "q": 0.6,
    "radius_cm": 6.5,
    "rated_ohm": [4, 2],
    "rated_w": [60, 95],
    "rating_w": 75,
    "ratings_w": [45, 60],
    "resonance_hz": 70,
    "rider_kg": 95,
    "scale": "dBV",
    "section": 1,
    "sensitivity_db": 90,
    "side": "low",
    "size": "10 mm2",
    "slower_kmh": 80,
    "speaker_w": 75,
    "speakers": 2,
    "speed_kmh": 100,
    "start": "2027-05-31",
    "steps": 30,
    "supply_v": 13.8,
    "target_v": 15,
    "temperature_c": 20,
    "usable_ah": 8,
    "vas_l": 9,
    "voltage_v": 12,
    "volts": 2,
    "volume_l": 6,
}
"""What an input is given, by its name."""

BY_CALCULATION: dict[str, dict[str, Any]] = {
    "a_weighted_level": {"levels_db": [70, 72, 68]},
    "noise_dose": {"hours": [4, 1]},
    "closed_box_gain": {"q": 0.8},
    "parked_time": {"current_a": 4},
    "biquad": {"side": "high"},
    "lowest_impedance": {"rated_ohm": 4},
    "power_at_supply": {"rated_w": 60},
    "supply_currents": {"rated_w": 240},
    "labour_time": {"minutes": [45, 30]},
    "speaker_in_pod": {"volume_l": 6},
    "zone_filter": {"pod_lowest_hz": 90, "speaker_lowest_hz": 70},
}
"""And where that does not go with the others."""


def inputs_of(entry: Calculation) -> dict[str, Any]:
    """Give inputs for everything that must be given, and what else is believable."""
    own = BY_CALCULATION.get(entry.id, {})
    asked = [x for x in entry.inputs if x.name in own or (x.default is None and not x.optional)]
    return {x.name: own.get(x.name) or _allowed(x, BY_NAME[x.name]) for x in asked}


def _allowed(entry: Input, value: Any) -> Any:
    """Give the first choice where the value is one of another calculation's."""
    return entry.choices[0] if entry.choices and value not in entry.choices else value
