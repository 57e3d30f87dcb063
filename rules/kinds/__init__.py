"""The checks of the rule kinds, one kind a file."""
