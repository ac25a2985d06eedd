"""The firmware and its board at full count."""

import tempfile
from functools import partial
from pathlib import Path

from tests.firmware_sim.bare_boards import nets_are_read_rightly
from tests.firmware_sim.bench_checks import films, sound_cables
from tests.firmware_sim.damaged_scans import damaged_scans
from tests.firmware_sim.nano.counts import count_hurt, count_nets
from tests.firmware_sim.nano.strange import count_sketches
from tests.firmware_sim.pio_checks import counters_over_their_range, pio_programs_at_random, programs
from tests.firmware_sim.scan_checks import scans_over_a_bad_line
from tests.firmware_sim.scpi_lines import lines_end_in_the_queue
from tests.firmware_sim.watch_checks import opens_caught, quiet_watch
from tests.long import Check


def _counters(_seed: int, count: int) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return counters_over_their_range(count, programs(Path(folder)))


def _programs_at_random(seed: int, count: int) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return pio_programs_at_random(seed, count, programs(Path(folder)))


def _bare_nets(seed: int, count: int) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return nets_are_read_rightly(seed, count, Path(folder))


def _messages(seed: int, count: int) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return lines_end_in_the_queue(Path(folder), seed, count)


CHECKS = (
    Check("firmware: program messages at random", _messages, 1_000_000),
    Check("bench board: sound cables on boards of worst parts", sound_cables, 150),
    Check("bench board: films, and none, on boards of worst parts", films, 400),
    Check("firmware: scans over a bad line", scans_over_a_bad_line, 10_000),
    Check("bench board: damaged scans", damaged_scans, 10_000),
    Check("firmware: echo counters over their whole range", _counters, 160),
    Check("firmware: PIO programs at random", _programs_at_random, 60),
    Check("firmware: opens of 2 ms while watching", opens_caught, 600),
    Check("bench board: opens of 3 ms while watching", partial(opens_caught, board="bench"), 600),
    Check("bench board: a quiet cable watched, seconds", partial(quiet_watch, board="bench"), 60),
    Check("firmware: random nets on bare boards", _bare_nets, 300),
    Check("nano: random cables at its pins", count_nets, 200, least=3),
    Check("nano: scans over a bad line", count_hurt, 60, least=2, from_share=0.1),
    Check("nano: strangers' sketches, cables", count_sketches, 36, least=3),
    Check("firmware: a quiet cable watched, seconds", quiet_watch, 60),
)
