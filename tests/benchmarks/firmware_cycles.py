"""What a scan and a turn of the watch would take on the chip: an estimate from instruction counts, nothing measured.

`python -m tests.benchmarks.firmware_cycles` counts the interpreter's instructions in the firmware's own files on
CPython and lets each last 60 to 120 cycles at 125 MHz (from memory; calls into the chip's own functions have times of
their own) of board time, so that a wait for a moment is shorter by what was worked meanwhile. Instructions that only
CPython has are not counted. One of a function in native code lasts a half to four fifths of that: MicroPython's manual
("Maximising MicroPython speed") says "roughly twice as fast as bytecode"; in MicroPython's VM on x86-64 the files' own
functions were 1.15 times (short calls) to 5 times (`analog.mean`) as fast. For the bench board it gives
the budget of a test, from a plug that sits still to what the page needs for its bell.
"""

import json
import tempfile
from pathlib import Path
from typing import Any

from tests.firmware_sim.bench_boards import bench_tables
from tests.firmware_sim.processes import Tables, run_program, straight, tables

CYCLES = (60, 120)
NATIVE_PERCENT = (50, 80)  # of that, in native code
CLOCK_MHZ = 125
COUNTER = """
import json, opcode, sys
import micropython
ONLY_HERE = {opcode.opmap[name] for name in ("PRECALL", "PUSH_NULL", "RESUME", "EXTENDED_ARG", "COPY_FREE_VARS",
              "MAKE_CELL", "KW_NAMES", "NOP") if name in opcode.opmap}
natives = set()
def native(function):
    add(function.__code__)
    return function
def add(code):
    natives.add(code)
    for constant in code.co_consts:
        if hasattr(constant, "co_code"):
            add(constant)
micropython.native = native
import commands, dialogue, queries, safety, scpi, watch, watchdog
from firmware_sim.board.power import clock
folder = dialogue.__file__.rpartition("dialogue")[0]
owed, counted, steps = [0], [0], []
def trace(frame, event, argument):
    if not frame.f_code.co_filename.startswith(folder):
        return None
    frame.f_trace_opcodes = True
    frame.f_trace_lines = False
    if event == "opcode" and frame.f_code.co_code[frame.f_lasti] not in ONLY_HERE:
        counted[0] += 1
        owed[0] += NANOSECONDS * NATIVE_PERCENT // 100 if frame.f_code in natives else NANOSECONDS
        clock.now_us += owed[0] // 1000
        owed[0] %= 1000
    return trace
def measured(action):
    counted[0], owed[0], begun = 0, 0, clock.now_us
    sys.settrace(trace)
    action()
    sys.settrace(None)
    return clock.now_us - begun, counted[0]
"""
PROGRAM = """
safety.begin()
parser = commands.parser(scpi.Status())
parser.obey("MEAS:ARR:RES? 1")
def timed(label, action):
    def wrapped(*given):
        begun, before = clock.now_us, counted[0]
        found = action(*given)
        steps.append([label, clock.now_us - begun, counted[0] - before])
        return found
    return wrapped
for module, name, label in STEPS:
    setattr(sys.modules[module], name, timed(label, getattr(sys.modules[module], name)))
found = {}
for name, message in MESSAGES:
    if name.upper() not in queries.FEATURES and name in ("echo", "trace"):
        continue
    found[name] = measured(lambda: parser.obey(message))
    watchdog.alive()
taken = list(steps)  # the watch looks by the same functions
if "WATCH" in queries.FEATURES:
    watch.watching.start()
    watch.watching._due_us = -1 << 40  # no wait for the next millisecond
    found["turn"] = measured(watch.watching.sweep)
print(json.dumps([found, taken]))
"""
MESSAGES = (
    ("scan", "MEAS:ARR:RES? 2"),
    ("capacitance", "MEAS:ARR:CAP? 3,PAIR,8"),
    ("echo", "MEAS:ECHO? 4,1,2"),
    ("trace", "MEAS:TRAC? 5,1,2"),
)
# What a test on the bench board asks for, in its order, and the steps that it falls into.
TEST = (
    ("resistance", "MEAS:ARR:RES? 2"),
    ("low level", "MEAS:ARR:RES:LOW? 3"),
    ("pairs", "MEAS:ARR:CAP? 4,PAIR,8"),
    ("singles", "MEAS:ARR:CAP? 5,SINGLE,8"),
    ("doubles", "MEAS:ARR:CAP? 6,DOUBLE,8"),
)
STEPS = (
    ("selftest", "run", "self-test"),
    ("guard", "voltages", "look, 100 ms each"),
    ("lowlevel", "run", "low level"),
    ("scan", "run", "joined, leaking, open"),
    ("guard", "look_at_nets", "look at nets"),
    ("ohms", "run", "four-wire ohms"),
    ("guard", "look_over", "looks between"),
    ("safety", "bring_down", "bring down"),
    ("bridge", "run", "capacitance: weighing"),
    ("matrix", "pairs", "capacitance: arithmetic of pairs"),
)
LOW_LEVEL = ("low level",)


def counter(cycles: int) -> str:
    """Return the beginning of a program: measured(action) returns the board time and the instructions that it takes."""
    nanoseconds, percent = cycles * 1000 // CLOCK_MHZ, NATIVE_PERCENT[CYCLES.index(cycles)]
    return f"NANOSECONDS, NATIVE_PERCENT = {nanoseconds}, {percent}\n{COUNTER}"


def counted(given: Tables, cycles: int, messages: tuple[tuple[str, str], ...], steps: object = ()) -> list[Any]:
    """Return board time and instructions of each message, and of each step of them, [name, us, instructions]."""
    program = f"{counter(cycles)}STEPS, MESSAGES = {steps}, {messages}\n{PROGRAM}"
    with tempfile.TemporaryDirectory() as folder:
        done = run_program(Path(folder), program, given, timeout_s=600)
    assert done.returncode == 0, done.stderr
    found: list[Any] = json.loads(done.stdout)
    return found


def main() -> None:
    """Print the estimates."""
    print("reference board, two metres")
    runs = [counted(tables(straight()), cycles, MESSAGES)[0] for cycles in CYCLES]
    for name in runs[0]:
        low, high = (run[name][0] / 1000 for run in runs)
        what = "one turn of the watch" if name == "turn" else name
        print(f"{what}: {runs[0][name][1]} instructions: {low:.2f} to {high:.2f} ms on the chip (estimate)")
    for kind, metres in (("UTP", 2.0), ("F/UTP", 2.0), ("UTP", 90.0)):
        print(f"bench board, {metres:g} m of {kind}: from a plug that sits still to the bell, ms (estimate)")
        budget(bench_tables(segment=[{"cable": kind, "length_m": metres}]))


def budget(given: Tables) -> None:
    """Print what a test on the bench board takes, step by step, and a turn of its watch."""
    runs = [counted(given, cycles, TEST, STEPS) for cycles in CYCLES]
    labels = list(dict.fromkeys(label for _, _, label in STEPS))
    sums = [[sum(us for name, us, _ in run[1] if name == label) / 1000 for run in runs] for label in labels]
    whole = [sum(run[0][name][0] for name, _ in TEST) / 1000 for run in runs]
    for label, (low, high) in zip(labels, sums, strict=True):
        print(f"  {label:32} {low:7.1f} {high:7.1f}")
    rest = [total - sum(one[n] for one in sums) for n, total in enumerate(whole)]
    print(f"  {'the rest: answers, arithmetic':32} {rest[0]:7.1f} {rest[1]:7.1f}")
    without = [total - sum(sums[labels.index(name)][n] for name in LOW_LEVEL) for n, total in enumerate(whole)]
    print(f"  {'sum without the low level':32} {without[0]:7.1f} {without[1]:7.1f}")
    print(f"  {'sum':32} {whole[0]:7.1f} {whole[1]:7.1f}")
    low, high = (run[0]["turn"][0] / 1000 for run in runs)
    print(f"  {'one turn of the watch':32} {low:7.2f} {high:7.2f}")


if __name__ == "__main__":
    main()
