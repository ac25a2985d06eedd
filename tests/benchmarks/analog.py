"""How long a cable with everything takes to judge: `python -m tests.benchmarks.analog [COUNT]`.

Milliseconds of processor time, median over cables of the analog world, and their ratio to judging resistances alone.
"""

import sys
import time
from collections.abc import Sequence

import numpy as np
from msgspec.structs import replace

from tests.world.analog import draw, measure
from wiremap.cable.patterns import pattern
from wiremap.judge.verdict import judge
from wiremap.reading.reading import Reading

KINDS = ("cat5e-uutp-24", "sftp-foam-cord-26", "flat-pairs-30")
LENGTHS_M = (1.0, 10.0, 90.0)


def milliseconds(readings: Sequence[Reading]) -> float:
    """Return the median processor time of judging one, after one that warms up."""
    straight = pattern("straight")
    judge(readings[0], straight)
    taken = []
    for reading in readings:
        began = time.process_time()
        judge(reading, straight)
        taken.append(time.process_time() - began)
    return 1e3 * float(np.median(taken))


def main() -> None:
    """Print the times by length, with traces and without."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    for length_m in LENGTHS_M:
        rng = np.random.default_rng(3)
        made = [measure(draw(KINDS[n % 3], length_m, rng), rng, trace=True) for n in range(count)]
        without = [replace(reading, traces=()) for reading in made]
        bare = [replace(reading, capacitance=None) for reading in without]
        alone = milliseconds(bare)
        said = [
            f"{name} {ms:.1f} ms ({ms / alone:.0f})"
            for name, ms in (("with traces", milliseconds(made)), ("without", milliseconds(without)))
        ]
        print(f"{length_m:g} m: {', '.join(said)}; resistances alone {alone:.2f} ms (1)")


if __name__ == "__main__":
    main()
