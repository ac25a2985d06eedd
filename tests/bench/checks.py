"""Whole lots, for any seed and number of cables."""

import tempfile
from pathlib import Path

from tests.bench.lots import Here, check_lot, sweep_and_kill, sweep_once
from tests.bench.world import World


def lot_loses_nothing(seed: int, count: int) -> str:
    """Sweep a lot by numbers and one by scanned labels, with bounces, bad plugs, pulled cables and a lost tester."""
    said = []
    for scanned in (False, True):
        world = World(count, seed + scanned, scanned, unplugs=(count * 9, count * 20))
        with tempfile.TemporaryDirectory() as folder:
            sweep_once(Here(world), world, Path(folder))
            said.append(check_lot(world, Path(folder)))
        assert world.lost == 2
        assert world.pulled
        assert world.reseated
    return "; ".join(said)


def killed_lot_loses_nothing(seed: int, count: int) -> str:
    """Sweep a lot of 2.5 cables a kill in processes that are killed (SIGKILL) `count` times at random moments."""
    world = World(count * 5 // 2, seed)
    with tempfile.TemporaryDirectory() as folder:
        killed = sweep_and_kill(world, Path(folder), count, seed)
        assert killed == count, f"only {killed} kills fell into the lot"
        return f"{killed} kills: {check_lot(world, Path(folder))}"
