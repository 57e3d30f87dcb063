"""Logs as JSON, a line for each thing that happened, through Python's own logging."""

from __future__ import annotations

import logging

import structlog

LOG: structlog.stdlib.BoundLogger = structlog.wrap_logger(
    logging.getLogger("loomway"),
    wrapper_class=structlog.stdlib.BoundLogger,
    processors=[
        structlog.stdlib.filter_by_level,
        structlog.stdlib.add_log_level,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.processors.JSONRenderer(sort_keys=True),
    ],
)
"""Where the service says what happened. Nothing that a caller sent goes in but the template of an address."""
