"""One router for each thing that a caller does: shape to domain, ask the engine, domain to shape."""

from service.routes import (
    bikes,
    calculations,
    carry_overs,
    carts,
    catalog,
    desk,
    exports,
    fitment,
    health,
    holds,
    installs,
    next_bikes,
    parts,
    paths,
    plans,
    proposals,
    releases,
    shared,
)

ROUTERS = (
    catalog.router,
    bikes.router,
    parts.router,
    fitment.router,
    exports.router,
    carts.router,
    paths.router,
    carry_overs.router,
    next_bikes.router,
    proposals.router,
    plans.router,
    installs.router,
    shared.router,
    calculations.router,
    releases.router,
    holds.router,
    health.router,
    desk.router,
)
"""In the order in which the document shows them."""
