"""Random opens while the firmware watches, for pytest and for the long run."""

import random
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path

from firmware_sim.cable_model.fields.nodes import LUMP_OHM
from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.values import bench_values
from tests.firmware_sim.processes import N, Tables, run_program, straight, tables, triangle

Pairs = dict[tuple[int, int], int | None]
START_US = 3_500_000  # the watch has begun by then: self-test, looks and probe take 3.3 s after power-up
LASTS_US = {"reference": 2_000, "bench": 3_000}  # every opening that lasts so long is seen

LISTING = """
import safety, watch, watchdog
from firmware_sim.board.power import clock
safety.begin()
watch.watching.start()
print(clock.now_us)
seen = 0
while clock.now_us < %d:
    watch.watching.sweep()
    watchdog.alive()
    fields = watch.watching.fetch(seen)
    if fields[2] != "0":
        seen = int(fields[0])
        for place in range(3, len(fields) - 1, 6):
            print(" ".join(fields[place + 1 : place + 5]))
"""


def changing(base: Pairs, changes: list[tuple[int, Pairs]]) -> Tables:
    """Return tables whose resistances change at moments, microseconds of board time."""
    given = tables(base)
    states = [base] + [state for _, state in changes]
    given["networks"] = [{"milliohm": triangle(state), "low_milliohm": triangle(state)} for state in states]
    given["schedule"] = [[0, 0]] + [[at_us, number + 1] for number, (at_us, _) in enumerate(changes)]
    return given


def on_bench(given: Tables) -> Tables:
    """Return tables for the bench board: each resistance leads from contact to contact, each net holds 100 pF."""
    found = given | {"board": {"name": "bench", "values": asdict(bench_values(bench()))}}
    found["networks"] = [network | {"nodes": _nodes(network["milliohm"])} for network in given["networks"]]
    return found


def _nodes(milliohm: list[int | None]) -> Tables:
    pairs = [(a, b) for a in range(N) for b in range(a + 1, N)]
    ps = [0 if value is None else round(1e15 / max(value, 10)) for value in milliohm]
    group = list(range(N))
    for (a, b), value in zip(pairs, milliohm, strict=True):
        if value is not None and value < LUMP_OHM * 1000:
            group = [group[a] if one == group[b] else one for one in group]
    roots = list(dict.fromkeys(group))
    af = [[100_000_000 if i == j else 0 for j in range(len(roots))] for i in range(len(roots))]
    return {"ps": ps, "low_ps": ps, "lump": [roots.index(one) for one in group], "af": af}


BOARDS: dict[str, Callable[[Tables], Tables]] = {"reference": lambda given: given, "bench": on_bench}


def opens_caught(seed: int, count: int, board: str = "reference") -> str:
    """Open a random conductor for 2 or 3 ms, count times; 99 % must be caught rightly, and nothing invented."""
    chance = random.Random(seed)
    changes: list[tuple[int, Pairs]] = []
    wanted = []
    at_us = START_US + 50_000
    for _ in range(count):
        at_us += chance.randrange(6_000, 30_000)
        contact = chance.randrange(9)
        wanted.append((contact, at_us))
        changes.append((at_us, {pair: ohm for pair, ohm in straight().items() if pair != (contact, contact + 9)}))
        changes.append((at_us + LASTS_US[board], straight()))
    with tempfile.TemporaryDirectory() as folder:
        done = run_program(Path(folder), LISTING % (at_us + 50_000), BOARDS[board](changing(straight(), changes)))
    assert done.returncode == 0, done.stderr
    begun, *lines = done.stdout.splitlines()
    # An event may be listed twice: while it lasted, and with its length.
    seen = {(int(a), int(b), change, int(begun) + int(at)) for a, b, change, at in map(str.split, lines)}
    caught = 0
    for contact, at_us in wanted:
        right = [
            one
            for one in seen
            if one[:3] == (contact + 1, contact + 10, "OPEN") and 0 <= one[3] - at_us < LASTS_US[board] + 500
        ]
        caught += len(right) == 1
        seen -= set(right)
    assert not seen, f"invented: {sorted(seen)[:3]}"
    assert caught >= 0.99 * count, f"{caught} of {count}"
    return f"{caught} of {count} opens of {LASTS_US[board] // 1000} ms caught on the right contacts, none invented"


def quiet_watch(seed: int, seconds: int, board: str = "reference") -> str:
    """Watch a quiet cable for so many seconds of board time: no event."""
    with tempfile.TemporaryDirectory() as folder:
        given = BOARDS[board](tables(straight(), seed=seed))
        done = run_program(Path(folder), LISTING % (START_US + seconds * 1_000_000), given)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) == 1, done.stdout[:200]
    return f"no event in {seconds} s of noise (board time)"
