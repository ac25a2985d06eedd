"""The watch: changes latched a thousand times a second, in board time."""

from pathlib import Path

import pytest

from tests.firmware_sim.processes import VMS, Firmware, N, Tables, run_program, source, straight, tables
from tests.firmware_sim.watch_checks import BOARDS, LASTS_US, START_US, changing, opens_caught

BOTH = pytest.mark.parametrize("vm", VMS)
PERIOD_US = {"reference": 1_000, "bench": 2_295}  # of nine nets, two metres
EACH = pytest.mark.parametrize("board", BOARDS)


WATCHED = """
import commands, safety, scpi, watch, watchdog
from firmware_sim.board.power import clock
safety.begin()
parser = commands.parser(scpi.Status())
print(parser.obey("WATC:STAR? 1"))
begun = clock.now_us
sweeps = 0
while clock.now_us < %d:
    watch.watching.sweep()
    sweeps += 1
    if sweeps %% 50 == 0:
        watchdog.alive()
print((clock.now_us - begun) * 1000 // sweeps, begun)
print(parser.obey("FETC:EVEN? 2,0"))
"""


def watched(folder: Path, given: Tables, until_us: int, vm: str = "cpython") -> tuple[list[str], int, int]:
    """Watch until a moment of board time; return the events' fields, nanoseconds a sweep, and when it began."""
    done = run_program(folder, WATCHED % until_us, given, vm)
    assert done.returncode == 0, done.stderr
    began, pace, events = done.stdout.splitlines()
    assert began.startswith(f"1,OK,{N},")
    sweep_ns, begun_us = map(int, pace.split())
    fields = events.split(",")
    assert fields[1] == "OK"
    return fields[2:-1], sweep_ns, begun_us


@EACH
@BOTH
def test_what_is_joined_at_the_start_is_told_by_rows_of_bits(tmp_path: Path, vm: str, board: str) -> None:
    """Bit b of row a says that contacts a and b are joined; a short joins whole nets."""
    with Firmware(
        tmp_path, BOARDS[board](tables(straight() | {(0, 1): 0, (0, 10): 280, (1, 9): 280, (9, 10): 500})), vm
    ) as firmware:
        rows = list(map(int, firmware.measure("WATC:STAR?")[2:]))
    for a in range(N):
        group = {0, 1, 9, 10} if a in (0, 1, 9, 10) else {a, (a + 9) % N}
        assert rows[a] == sum(1 << b for b in group - {a})


@EACH
@BOTH
def test_a_short_open_is_latched_with_its_contacts(tmp_path: Path, vm: str, board: str) -> None:
    """A conductor open for 2 or 3 ms gives one event: its two contacts, when, and for how long to a millisecond."""
    at_us, lasts_us = START_US + 200_300, LASTS_US[board]
    without = {pair: ohm for pair, ohm in straight().items() if pair != (2, 11)}
    given = changing(straight(), [(at_us, without), (at_us + lasts_us, straight())])
    fields, sweep_ns, begun_us = watched(tmp_path, BOARDS[board](given), START_US + 400_000, vm)
    assert sweep_ns == pytest.approx(PERIOD_US[board] * 1000, rel=0.01)
    assert fields[:7] == ["1", "0", "1", "1", "3", "12", "OPEN"]
    assert begun_us + int(fields[7]) == pytest.approx(at_us, abs=PERIOD_US[board] + 500)
    assert int(fields[8]) == pytest.approx(lasts_us, abs=PERIOD_US[board] + 100)
    assert len(fields) == 10


@EACH
@BOTH
def test_two_conductors_that_touch_are_one_event(tmp_path: Path, vm: str, board: str) -> None:
    """A short of two conductors is one JOIN of their lowest contacts; one that lasts has no length yet."""
    at_us = START_US + 100_000
    joined = straight() | {(2, 3): 0, (2, 12): 280, (3, 11): 280, (11, 12): 560}
    fields, _, _ = watched(tmp_path, BOARDS[board](changing(straight(), [(at_us, joined)])), START_US + 300_000, vm)
    assert fields[:7] == ["1", "0", "1", "1", "3", "4", "JOIN"]
    assert fields[8] == "9.91E37"


@EACH
def test_a_change_under_a_kilohm_is_no_event(tmp_path: Path, board: str) -> None:
    """A contact that goes from 0.3 to 150 ohm stays joined; one that goes to 5 kohm opens."""
    for milliohm, events in ((150_000, "0"), (5_000_000, "1")):
        given = changing(straight(), [(START_US + 100_000, straight() | {(4, 13): milliohm})])
        fields, _, _ = watched(tmp_path, BOARDS[board](given), START_US + 300_000)
        assert fields[2] == events


@EACH
def test_events_are_repeated_until_they_are_acknowledged(tmp_path: Path, board: str) -> None:
    """What the host has not acknowledged comes again; what it acknowledged while it lasted comes again with length."""
    program = """
import commands, safety, scpi, watch, watchdog
from firmware_sim.board.power import clock
safety.begin()
parser = commands.parser(scpi.Status())
parser.obey("WATC:STAR? 1")
def until(us):
    while clock.now_us < us:
        watch.watching.sweep()
        watchdog.alive()
until(3_700_000)
for seen in (0, 0, 1, 1):
    print(parser.obey("FETC:EVEN? 2,%d" % seen))
until(3_900_000)
for seen in (1, 2):
    print(parser.obey("FETC:EVEN? 2,%d" % seen))
"""
    without = {pair: ohm for pair, ohm in straight().items() if pair != (2, 11)}
    given = changing(straight(), [(3_600_000, without), (3_800_000, straight())])
    lines = run_program(tmp_path, program, BOARDS[board](given)).stdout.splitlines()
    first = lines[0].split(",")[2:-1]
    assert first[:3] == ["1", "0", "1"]
    assert lines[1] == lines[0]
    assert lines[2].split(",")[2:-1] == lines[3].split(",")[2:-1] == ["1", "0", "0", first[-1]]
    again = lines[4].split(",")[2:-1]
    assert again[:3] == ["2", "0", "1"]
    assert again[3:8] == ["2", *first[4:8]]
    assert int(again[8]) == pytest.approx(200_000, abs=1_500)
    assert lines[5].split(",")[2:-1] == ["2", "0", "0", again[-1]]


@EACH
def test_more_events_than_are_kept_are_counted_as_lost(tmp_path: Path, board: str) -> None:
    """The newest events are kept and numbered on; how many went is told."""
    without = {pair: ohm for pair, ohm in straight().items() if pair != (0, 9)}
    changes = []
    for number in range(100):
        at_us = START_US + 50_000 + number * 8_000
        changes += [(at_us, without), (at_us + 4_000, straight())]
    fields, _, _ = watched(tmp_path, BOARDS[board](changing(straight(), changes)), START_US + 1_000_000)
    assert fields[:3] == ["100", "36", "40"]
    assert [int(fields[3 + 6 * place]) for place in range(40)] == list(range(37, 77))


@EACH
def test_short_opens_are_caught(board: str) -> None:
    """Random opens of 2 or 3 ms are caught on the right contacts, and nothing else is."""
    assert opens_caught(5, 60, board).startswith("60 of 60")


@EACH
@BOTH
def test_noise_alone_makes_no_event(tmp_path: Path, vm: str, board: str) -> None:
    """A second and a half of a quiet cable (board time) gives no event."""
    fields, _, _ = watched(tmp_path, BOARDS[board](tables(straight())), START_US + 1_500_000, vm)
    assert fields == ["0", "0", "0", "0"]


@EACH
def test_what_was_not_watched_is_counted(tmp_path: Path, board: str) -> None:
    """Where the turns of the watch come late, the time is told; an opening that went by in it made no event."""
    program = """
import commands, safety, scpi, time, watch, watchdog
from firmware_sim.board.power import clock
safety.begin()
parser = commands.parser(scpi.Status())
parser.obey("WATC:STAR? 1")
while clock.now_us < %d:
    watch.watching.sweep()
    watchdog.alive()
for _ in range(3):
    time.sleep_us(20_000)
    watch.watching.sweep()
print(parser.obey("FETC:EVEN? 2,0"))
"""
    without = {pair: ohm for pair, ohm in straight().items() if pair != (2, 11)}
    given = changing(straight(), [(START_US + 102_000, without), (START_US + 106_000, straight())])
    done = run_program(tmp_path, program % (START_US + 100_000), BOARDS[board](given))
    assert done.returncode == 0, done.stderr
    *counts, blind_us = done.stdout.strip().split(",")[2:-1]
    assert counts == ["0", "0", "0"]
    assert int(blind_us) == pytest.approx(3 * 20_000, abs=4 * PERIOD_US[board])


@EACH
def test_a_quiet_turn_measures_nothing_two_by_two(tmp_path: Path, board: str) -> None:
    """Readings that are as usual cost no second look: noise sends at most one turn in a thousand there."""
    program = """
import safety, watch, watchdog
safety.begin()
watch.watching.start()
resolve, calls = watch.Watch._resolve, []
def counted(self, changed):
    calls.append(changed)
    resolve(self, changed)
watch.Watch._resolve = counted
for _ in range(2000):
    watch.watching.sweep()
    watchdog.alive()
print(len(calls))
"""
    done = run_program(tmp_path, program, BOARDS[board](tables(straight())))
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) <= 2


@EACH
def test_a_voltage_stops_the_watch(tmp_path: Path, board: str) -> None:
    """A voltage that comes while watching is met within 0.7 s: force goes off, and the fetch says why."""
    given = tables(straight(), foreign=[source(4, 6, 12_000, from_us=START_US + 100_000)])
    program = WATCHED % (START_US + 1_000_000)
    sweep = "    watch.watching.sweep()"
    program = program.replace(sweep, "    if not watch.watching.running:\n        break\n" + sweep)
    done = run_program(tmp_path, program, BOARDS[board](given))
    assert done.returncode == 0, done.stderr
    status, count, contact = done.stdout.splitlines()[-1].split(",")[1:4]
    assert (status, contact) == ("FOREIGN", "5")
    assert count == {"reference": "2", "bench": "4"}[board]  # the bench board names both ends of each conductor
    driven = [line.split() for line in (tmp_path / "driven.txt").read_text().splitlines()]
    assert int(driven[-1][0]) < START_US + 100_000 + 700_000


@EACH
def test_while_it_watches_other_measurements_are_refused_as_busy(tmp_path: Path, board: str) -> None:
    """Measurements answer BUSY while the watch runs, and again OK after it was stopped."""
    with Firmware(tmp_path, BOARDS[board](tables(straight()))) as firmware:
        assert firmware.measure("WATC:STAR?")[0] == "OK"
        assert firmware.measure("MEAS:ARR:RES?") == ["BUSY"]
        assert firmware.measure("MEAS:VOLT?") == ["BUSY"]
        assert firmware.measure("FETC:EVEN?", 0)[:4] == ["OK", "0", "0", "0"]
        assert firmware.measure("WATC:STOP?") == ["OK"]
        assert firmware.measure("MEAS:ARR:RES?")[0] == "OK"
