"""From what a rider tells to whole systems: brief, systems, wishes, paths, and reasons that say what they rest on."""

from __future__ import annotations

from rules.proposals.brief import Annoys, Brief, Listens, Passenger, Rides, Unasked
from rules.proposals.propose import NotProposed, Proposal, Proposals, propose
from rules.proposals.reasons import Basis, Reason
from rules.proposals.system import System

__all__ = [
    "Annoys",
    "Basis",
    "Brief",
    "Listens",
    "NotProposed",
    "Passenger",
    "Proposal",
    "Proposals",
    "Reason",
    "Rides",
    "System",
    "Unasked",
    "propose",
]
