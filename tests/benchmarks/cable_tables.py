"""How long a virtual cable's tables take: `python -m tests.benchmarks.cable_tables` prints milliseconds and ratios.

Processor time of the quickest of a few runs: without echoes, with them on the grid that fits the length, and on
the full grid; a lot of 500 plugged cables last.
"""

import time
from functools import partial

from firmware_sim.cable_model.tables import tables
from firmware_sim.cable_model.written.description import Description
from firmware_sim.cable_model.written.named import load_cable
from tests.firmware_sim.parsed import parse_description

NAMES = ("patch", "mast-camera", "split-pair", "far-joined", "reel")
LIMIT_MS = 300.0
LOT = ("patch", "far-3-6-exchanged", "crossover", "open-brown", "blue-reversed")


def milliseconds(description: Description, echo: str, runs: int = 3) -> float:
    """Return the processor time of the quickest run."""
    best = float("inf")
    for _ in range(runs):
        began = time.process_time()
        tables(description, echo)
        best = min(best, time.process_time() - began)
    return best * 1000


def main() -> None:
    """Print what each cable takes, and by how much echoes and the full grid take longer."""
    for name in NAMES:
        taken = partial(milliseconds, load_cable(name))
        plain, coarse, full = taken("none"), taken("coarse"), taken("full", runs=1)
        verdict = "within" if plain < LIMIT_MS else "OVER"
        print(
            f"{name}: {plain:.0f} ms without echoes ({verdict} {LIMIT_MS:.0f}), "
            f"x {coarse / plain:.1f} with echoes, x {full / plain:.0f} on the full grid"
        )
    plugged = "".join(
        f'[[bench]]\ncable = "{LOT[k % 5]}"\nplug_at_s = {10 * k + 2}\nbounce_ms = 80\nunplug_at_s = {10 * k + 8}\n'
        for k in range(500)
    )
    lot = milliseconds(parse_description(f"format = 1\n{plugged}"), "coarse")
    each = sum(milliseconds(load_cable(name), "coarse") for name in LOT)
    print(f"lot of 500: {lot:.0f} ms, x {lot / each:.1f} what its {len(LOT)} kinds of cable take one by one")


if __name__ == "__main__":
    main()
