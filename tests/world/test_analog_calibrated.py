"""Kinds taught with one cable of the analog world, at a reduced count; the whole is in the long checks."""

from tests.world.analog_calibrated import held_by, lengths_checked


def test_taught_kinds_hold_what_they_are_said_of() -> None:
    """Said truly, of the reel, the make or the kind, the interval holds 93 % and more."""
    held_by(11, 22)


def test_a_length_that_is_not_the_cables_is_refused() -> None:
    """The true length never, a fifth off always."""
    lengths_checked(11, 22)
