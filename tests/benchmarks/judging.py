"""How long judging one cable takes, warm and for the first cable of a process.

`python -m tests.benchmarks.judging` prints milliseconds for a passing cable, a failing one and one without an
expectation, and the ratio to making the Reading that is judged.
"""

import time
from collections.abc import Callable
from functools import partial

from tests.strategies import cable, plugs, reading_of
from wiremap.cable.patterns import Pattern, pattern
from wiremap.judge.verdict import judge

LIMIT_MS = 2.0


def milliseconds(work: Callable[[], object], runs: int = 200) -> float:
    """Return the processor time of the quickest of many runs."""
    best = float("inf")
    for _ in range(runs):
        began = time.process_time()
        work()
        best = min(best, time.process_time() - began)
    return best * 1000


def main() -> None:
    """Judge three cables many times and print what it took."""
    straight = pattern("straight")
    eight = {n: n for n in range(1, 9)}
    cases: dict[str, tuple[dict[int, int], Pattern | None]] = {
        "passing": (eight, straight),
        "failing, plug turned over": ({n: 9 - n for n in eight}, straight),
        "no expectation": ({**eight, 3: 6, 6: 3}, None),
    }
    for name, (arrives, expect) in cases.items():
        nets = cable(straight, arrives)
        reading = reading_of(nets, plugs(straight))
        began = time.process_time()
        judge(reading, expect)
        first = (time.process_time() - began) * 1000
        usual = milliseconds(partial(judge, reading, expect))
        making = milliseconds(partial(reading_of, nets, plugs(straight)))
        print(f"{name}: {usual:.2f} ms (limit {LIMIT_MS:g}), the first {first:.1f} ms")
        print(f"  ratio to making the reading: {usual / making:.1f}")


if __name__ == "__main__":
    main()
