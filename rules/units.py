"""Named types of the quantities that calculations take and give. Each is a plain number in the named unit."""

from __future__ import annotations

Volts = float
Amps = float
Ohms = float
Watts = float
Metres = float
Millimetres = float
SquareMillimetres = float
Kilograms = float
Celsius = float
Hours = float
AmpHours = float
OhmsPerKilometre = float
Ratio = float
