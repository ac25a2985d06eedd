"""The line at full count."""

from tests.long import Check
from tests.tester.flips import flipped_bits_are_never_read
from tests.tester.floods import endless_line_is_given_up
from tests.tester.frames import damaged_answers_are_refused

CHECKS = (
    Check("tester: damaged answers are refused", damaged_answers_are_refused, 5_000),
    Check("tester: flipped bits are never read", flipped_bits_are_never_read, 40),
    Check("tester: a line of 3 GB without an end", endless_line_is_given_up, 3_000_000_000),
)
