"""Arithmetic in whole numbers."""


def root(value: int) -> int:
    """Return the whole part of a square root."""
    if value < 2:
        return value
    guess = value
    better = (guess + 1) // 2
    while better < guess:
        guess = better
        better = (guess + value // guess) // 2
    return guess
