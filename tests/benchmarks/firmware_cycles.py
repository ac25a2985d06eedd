"""What a scan and a turn of the watch would take on the chip: an estimate from instruction counts, nothing measured.

`python -m tests.benchmarks.firmware_cycles` counts the interpreter's instructions in the firmware's own files on
CPython, takes 60 to 120 cycles for each at 125 MHz (from memory; calls into the chip's own functions included),
and adds what the firmware waits for by itself: settling and conversions, in board time.
"""

import json
import tempfile
from pathlib import Path

from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import Tables, run_program, straight, tables

CYCLES = (60, 120)
CLOCK_MHZ = 125
TURNS = 200
COUNTED = """
import json, sys
import commands, dialogue, queries, safety, scpi, watch, watchdog
from firmware_sim.board.power import clock
safety.begin()
parser = commands.parser(scpi.Status())
parser.obey("MEAS:ARR:RES? 1")
folder = dialogue.__file__.rpartition("dialogue")[0]
counted = [0]
def trace(frame, event, argument):
    if not frame.f_code.co_filename.startswith(folder):
        return None
    frame.f_trace_opcodes = True
    frame.f_trace_lines = False
    if event == "opcode":
        counted[0] += 1
    return trace
def measure(action):
    counted[0] = 0
    begun = clock.now_us
    sys.settrace(trace)
    action()
    sys.settrace(None)
    return counted[0], clock.now_us - begun
found = {}
for name, message in (("scan", "MEAS:ARR:RES? 2"), ("capacitance", "MEAS:ARR:CAP? 3,PAIR,8"),
                      ("echo", "MEAS:ECHO? 4,1,2"), ("trace", "MEAS:TRAC? 5,1,2")):
    if name.upper() not in queries.FEATURES and name in ("echo", "trace"):
        continue
    found[name] = measure(lambda: parser.obey(message))
    watchdog.alive()
if "WATCH" in queries.FEATURES:
    watch.watching.start()
    watch.watching._due_us = -1 << 40  # no wait for the next millisecond
    found["turn"] = measure(watch.watching.sweep)
print(json.dumps(found))
"""


def main() -> None:
    """Print the estimates."""
    for board, given in (("reference", tables(straight())), ("bench", bench_tables())):
        print(f"{board} board, two metres")
        estimate(given)


def estimate(given: Tables) -> None:
    """Print the estimates for one board; the bench board's calls into the chip are in what it waits for."""
    with tempfile.TemporaryDirectory() as folder:
        done = run_program(Path(folder), COUNTED, given)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    for name, (instructions, waits_us) in found.items():
        low, high = (waits_us / 1000 + instructions * cycles / CLOCK_MHZ / 1000 for cycles in CYCLES)
        what = "one turn of the watch" if name == "turn" else name
        print(
            f"{what}: {instructions} instructions and {waits_us / 1000:.2f} ms of waits: "
            f"{low:.2f} to {high:.2f} ms on the chip (estimate)"
        )


if __name__ == "__main__":
    main()
