"""The same draws on every run: a failure that comes and goes teaches nobody."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "loomway",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
settings.load_profile("loomway")
