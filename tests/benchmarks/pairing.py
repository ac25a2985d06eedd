"""How many pairings a second one core makes over a stack of cables, beside a networkx loop; and one whole cable.

`python -m tests.benchmarks.pairing`
"""

import time
from collections.abc import Callable
from typing import Any

import networkx
import numpy as np

from tests.judge.simulated import described, measured_reading
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.judge.run.capacitance import groups
from wiremap.judge.run.pairing.matching import best_matchings
from wiremap.judge.run.pairing.pairing import pairing_of

STACK = 20_000
ROUNDS = 5
FEW = 300


def seconds(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Return the shortest time of a few rounds, of processor time of this process."""
    spent = []
    for _ in range(rounds):
        began = time.process_time()
        work()
        spent.append(time.process_time() - began)
    return min(spent)


def by_networkx(weight: "np.ndarray[Any, np.dtype[np.float64]]") -> None:
    """Pair every cable of a stack with networkx."""
    for one in weight:
        graph: Any = networkx.Graph()
        graph.add_weighted_edges_from((i, j, float(one[i, j])) for i in range(8) for j in range(i))
        networkx.max_weight_matching(graph, maxcardinality=True)


def main() -> None:
    """Print the rates and their ratio, measured in one run."""
    weight = np.random.default_rng(1).normal(30, 8, (STACK, 8, 8))
    best_matchings(weight[:100], 1.0)
    stacked = STACK / seconds(lambda: best_matchings(weight, 1.0))
    looped = FEW / seconds(lambda: by_networkx(weight[:FEW]), 3)
    print(f"stack of {STACK}: {stacked:,.0f} pairings with margin a second and core")
    print(f"networkx.max_weight_matching, one after the other: {looped:,.0f} a second; ratio {stacked / looped:,.0f}")
    straight = pattern("straight")
    seen = groups(measured_reading(described(5.0), echoes=False, traces=False), straight, limits())
    assert seen is not None
    pairing_of(seen, straight, limits())
    one = seconds(lambda: [pairing_of(seen, straight, limits()) for _ in range(100)]) / 100
    print(f"one cable, from capacitances to pairing: {one * 1e3:.3f} ms")


if __name__ == "__main__":
    main()
