"""Random opens while the firmware watches, for pytest and for the long run."""

import random
import tempfile
from pathlib import Path

from tests.firmware_sim.processes import Tables, run_program, straight, tables, triangle

Pairs = dict[tuple[int, int], int | None]
START_US = 3_500_000  # the watch has begun by then: self-test, looks and probe take 3.3 s after power-up
LASTS_US = 2_000

LISTING = """
import queries, safety, watchdog
from firmware_sim.board.power import clock
safety.begin()
queries.watching.start()
print(clock.now_us)
seen = 0
while clock.now_us < %d:
    queries.watching.sweep()
    watchdog.alive()
    fields = queries.watching.fetch(seen)
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


def opens_caught(seed: int, count: int) -> str:
    """Open a random conductor for 2 ms, count times; at least 99 % must be caught rightly, and nothing invented."""
    chance = random.Random(seed)
    changes: list[tuple[int, Pairs]] = []
    wanted = []
    at_us = START_US + 50_000
    for _ in range(count):
        at_us += chance.randrange(6_000, 30_000)
        contact = chance.randrange(9)
        wanted.append((contact, at_us))
        changes.append((at_us, {pair: ohm for pair, ohm in straight().items() if pair != (contact, contact + 9)}))
        changes.append((at_us + LASTS_US, straight()))
    with tempfile.TemporaryDirectory() as folder:
        done = run_program(Path(folder), LISTING % (at_us + 50_000), changing(straight(), changes))
    assert done.returncode == 0, done.stderr
    begun, *lines = done.stdout.splitlines()
    # An event may be listed twice: while it lasted, and with its length.
    seen = {(int(a), int(b), change, int(begun) + int(at)) for a, b, change, at in map(str.split, lines)}
    caught = 0
    for contact, at_us in wanted:
        right = [one for one in seen if one[:3] == (contact + 1, contact + 10, "OPEN") and abs(one[3] - at_us) < 2_500]
        caught += len(right) == 1
        seen -= set(right)
    assert not seen, f"invented: {sorted(seen)[:3]}"
    assert caught >= 0.99 * count, f"{caught} of {count}"
    return f"{caught} of {count} opens of 2 ms caught on the right contacts, none invented"


def quiet_watch(seed: int, seconds: int) -> str:
    """Watch a quiet cable for so many seconds of board time: no event."""
    with tempfile.TemporaryDirectory() as folder:
        given = tables(straight(), seed=seed)
        done = run_program(Path(folder), LISTING % (START_US + seconds * 1_000_000), given)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) == 1, done.stdout[:200]
    return f"no event in {seconds} s of noise (board time)"
