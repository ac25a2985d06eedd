"""How many pairings a second one core makes, beside networkx on the same values; and one whole cable.

`python -m tests.benchmarks.pairing`
"""

import time
from collections.abc import Callable
from typing import Any

import networkx
import numpy as np

from tests.judge.run.pairing_checks import grouped
from tests.judge.simulated import described, measured_reading
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.judge.run.capacitance import groups
from wiremap.judge.run.pairing.pairing import pairing_of
from wiremap.judge.wiring.laid_reading import lay_reading

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


def by_networkx(shown: "np.ndarray[Any, np.dtype[np.float64]]") -> None:
    """Pair every cable of a stack with networkx."""
    for one in shown:
        graph: Any = networkx.Graph()
        graph.add_weighted_edges_from((i, j, float(one[i, j])) for i in range(8) for j in range(i))
        networkx.max_weight_matching(graph, maxcardinality=True)


def main() -> None:
    """Print the rates and their ratio, measured in one run."""
    straight = pattern("straight")
    shown = np.random.default_rng(1).normal(60, 8, (FEW, 8, 8))
    cables = [grouped(one) for one in shown]
    ours = FEW / seconds(lambda: [pairing_of(one, straight, limits()) for one in cables])
    theirs = FEW / seconds(lambda: by_networkx(shown), 3)
    print(f"from capacitances to pairing with margin: {ours:,.0f} a second")
    print(f"networkx.max_weight_matching, without margin: {theirs:,.0f} a second; ratio {ours / theirs:,.1f}")
    seen = groups(lay_reading(measured_reading(described(5.0), echoes=False, traces=False), straight, limits()))
    assert seen is not None
    one = seconds(lambda: [pairing_of(seen, straight, limits()) for _ in range(100)]) / 100
    print(f"one simulated cable of 5 m: {one * 1e3:.3f} ms")


if __name__ == "__main__":
    main()
