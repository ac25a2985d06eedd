"""Many scans over a bad line, at a small count; the full count is in the long run."""

import sys

import pytest

from tests.firmware_sim.damaged_scans import damaged_scans
from tests.firmware_sim.scan_checks import scans_over_a_bad_line


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pseudo-terminals")
def test_no_damaged_scan_is_taken_for_a_true_one() -> None:
    """With one message in a hundred hurt each way, every scan is right, repeated or reported."""
    assert "no wrong value" in scans_over_a_bad_line(7, 80)


def test_no_damaged_scan_of_the_bench_board_is_taken_for_a_true_one() -> None:
    """With an answer of every scan hurt in one of eight ways, what is taken is true to the letter."""
    assert damaged_scans(7, 300).endswith("none wrong")
