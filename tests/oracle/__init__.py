"""Slow, obvious reference solvers, written from docs/definitions.md alone: no code of the engine in them."""
