"""A line that flips and loses bytes, both ways, between the product and the firmware's own code."""

import tempfile
from pathlib import Path

import pytest

from tests.firmware_sim.simulators import described, simulator
from wiremap.contact import near_contact
from wiremap.errors import TesterError
from wiremap.reading.joined import joined_pairs
from wiremap.reading.reading import Reading
from wiremap.tester.measure import measure, open_tester
from wiremap.tester.view import WATCHED_OHM

STRAIGHT = frozenset((contact, contact + 9) for contact in range(9))
SHORT_WAITS = {"measure.SCAN_S": 3.0, "measure.CAPACITANCE_S": 3.0, "measure.ECHO_S": 3.0, "line.STALL_S": 0.5}


def reading_of(address: str) -> Reading:
    """Measure once."""
    with open_tester(address) as tester:
        return measure(tester)


def flipped_bits_are_never_read(seed: int, count: int) -> str:
    """Measure `count` times over a line that flips bits and loses bytes: each time a sound reading, or an error."""
    sound = refused = 0
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        for name, seconds in SHORT_WAITS.items():
            patch.setattr(f"wiremap.tester.{name}", seconds)
        path = described(Path(folder), "flip = 3e-5\ndrop = 1e-5")
        path.write_text(path.read_text().replace("format = 1", f"format = 1\nseed = {seed}"))
        with simulator("--board", "reference", cable=path) as (address, _):
            for _ in range(count):
                try:
                    reading = reading_of(address)
                except TesterError:
                    refused += 1
                    continue
                sound += 1
                assert joined_pairs(reading.resistance_ohm, WATCHED_OHM) == STRAIGHT
                assert [(echo.a, len(echo.ticks)) for echo in reading.echoes[:2]] == [
                    (near_contact("1"), 64),
                    (near_contact("3"), 64),
                ]
    return f"{sound} sound readings and {refused} errors of {count}, none wrong"
