"""Electrical calculations: numbers in, numbers out, no catalog types."""
