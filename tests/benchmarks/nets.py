"""How long the nets of a million cables take, beside general graph libraries on the same cables.

`python -m tests.benchmarks.nets [CABLES]` prints cables a second on one core, the time beside that of reading the
same memory once, the ratio to scipy's and networkx's connected components (on a sample of the same cables, called
once a cable), and the memory used beyond input and result.
"""

import sys
import time
import tracemalloc
from collections.abc import Callable

import networkx as nx
import numpy as np
from scipy.sparse.csgraph import connected_components

from wiremap.judge.wiring.nets import nets_of_many

CONTACTS = 18
SAMPLE = 2000


def seconds(work: Callable[[], object], runs: int = 3) -> float:
    """Return the processor time of the quickest of a few runs."""
    best = float("inf")
    for _ in range(runs):
        began = time.process_time()
        work()
        best = min(best, time.process_time() - began)
    return best


def main() -> None:
    """Make the cables, close them all, print what it took."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    choose = np.random.default_rng(1)
    joined = choose.integers(0, 256, (count, CONTACTS, CONTACTS), np.uint8) < 8
    sample = joined[:SAMPLE]
    ours = seconds(lambda: nets_of_many(joined)) / count
    once = seconds(lambda: np.count_nonzero(joined)) / count
    scipys = seconds(lambda: [connected_components(one, directed=False) for one in sample]) / len(sample)
    graphs = seconds(lambda: [list(nx.connected_components(nx.from_numpy_array(one))) for one in sample], 1)
    tracemalloc.start()
    labels = nets_of_many(joined)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    print(f"nets of {count} cables with {CONTACTS} contacts: {count * ours:.2f} s, {1 / ours:,.0f} a second")
    print(f"  time / reading the input once: {ours / once:.1f}")
    print(f"  scipy connected_components, once a cable / ours: {scipys / ours:.0f}")
    print(f"  networkx connected_components, once a cable / ours: {graphs / len(sample) / ours:.0f}")
    print(f"  memory beyond input and result / input: {(peak - labels.nbytes) / joined.nbytes:.4f}")


if __name__ == "__main__":
    main()
