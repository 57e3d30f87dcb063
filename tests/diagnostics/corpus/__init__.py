"""Seeded faults, by what they are about."""
