"""Tests, and the slow reference solvers that they compare with."""
