"""Migrations of the tables, for Alembic: one module for each step, each of which can be taken back."""
