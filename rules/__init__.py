"""The engine: what fits a bike, and which way an upgrade can go, with no web, clock or network."""
