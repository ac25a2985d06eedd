"""The line at full count."""

from tests.long import Check
from tests.tester.flips import flipped_bits_are_never_read
from tests.tester.floods import endless_line_is_given_up
from tests.tester.frames import damaged_answers_are_refused
from tests.tester.watches import events_are_caught, nothing_is_invented

CHECKS = (
    Check("tester: damaged answers are refused", damaged_answers_are_refused, 5_000),
    Check("tester: flipped bits are never read", flipped_bits_are_never_read, 40),
    Check("tester: events are caught through the line", events_are_caught, 400),
    Check("tester: a quiet cable watched, seconds", nothing_is_invented, 600),
    Check("tester: a line of 3 GB without an end", endless_line_is_given_up, 3_000_000_000),
)
