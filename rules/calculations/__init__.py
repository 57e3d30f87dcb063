"""Calculations as the command line and the API offer them.

Deliberately empty: the modules of `rules.electrical`, `rules.acoustics` and `rules.presets` import
`rules.calculations.calculation`, so whatever gathers them must be a module of its own beside it.
"""
