"""How long it takes to work out what the plugs hold: the table of all orders once, then each diagnosis.

`python -m tests.benchmarks.as_built [RUNS]` prints the first diagnosis of a process (habits read, table built) and
medians of further ones, for the cables below, in processor time, which a busy machine stretches less; and what each
takes beside a reversed pair. Allowed: 150 ms for the table, 20 ms for a diagnosis.
"""

import statistics
import sys
import time

from wiremap.cable.colours import colour_set
from wiremap.cable.patterns import pattern
from wiremap.judge.plugs.as_built import as_built
from wiremap.judge.plugs.evidence import Evidence

PAIRS = (("1", "2"), ("3", "6"), ("4", "5"), ("7", "8"))


def routes(changed: dict[int, int]) -> tuple[tuple[str, str], ...]:
    """Return the routes of a straight cable, some near contacts arriving elsewhere, 0 = nowhere."""
    arrives = {n: n for n in range(1, 9)} | changed
    return tuple((str(near), str(far)) for near, far in arrives.items() if far)


CABLES = {
    "blue pair reversed": Evidence(routes({4: 5, 5: 4})),
    "3 and 4 exchanged, pairs known": Evidence(routes({3: 4, 4: 3}), pairs=PAIRS),
    "crossover instead of straight": Evidence(routes({1: 3, 2: 6, 3: 1, 6: 2})),
    "shifted by one": Evidence(routes({1: 0} | {n: n - 1 for n in range(2, 9)})),
    "two conductors open": Evidence(routes({3: 0, 5: 0})),
    "short of 3 and 6": Evidence(routes({3: 0, 6: 0}), ((("3", "6"), ("3", "6")),)),
    "five conductors open": Evidence(routes({3: 0, 4: 0, 5: 0, 6: 0, 8: 0})),
}


def main() -> None:
    """Print the times."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 25
    straight, tia = pattern("straight"), colour_set("tia")
    began = time.process_time()
    as_built(straight, tia, CABLES["blue pair reversed"], 8)
    first_ms = (time.process_time() - began) * 1000
    medians = {}
    for name, evidence in CABLES.items():
        took = []
        for _ in range(runs):
            began = time.process_time()
            as_built(straight, tia, evidence, 8)
            took.append((time.process_time() - began) * 1000)
        medians[name] = statistics.median(took)
    usual = medians["blue pair reversed"]
    print(
        f"first diagnosis of a process: {first_ms:.1f} ms, of which the table {first_ms - usual:.1f} ms (allowed 150)"
    )
    for name, median in medians.items():
        print(f"  {name}: {median:.1f} ms, median of {runs} (allowed 20), {median / usual:.2f} x a reversed pair")


if __name__ == "__main__":
    main()
