"""Three-valued logic for the brute force: True, False, and None for what nobody knows."""


def every(values):
    """False if one is, else unknown if one is."""
    values = list(values)
    if any(value is False for value in values):
        return False
    return None if any(value is None for value in values) else True


def some(values):
    """True if one is, else unknown if one is."""
    return opposite(every(opposite(value) for value in values))


def opposite(value):
    return None if value is None else not value
