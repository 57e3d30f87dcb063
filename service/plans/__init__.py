"""Saved plans: what a rider and a shop agreed on, kept for years, with everything that happened to it since."""
