"""The second stage of checking a catalog: what only shows over all bikes and parts together."""
