"""The whole chain, from the cable's description over the line to the Reading."""

import tempfile
from pathlib import Path

from tests.chain.random_networks import check
from tests.long import Check


def _networks(seed: int, count: int) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return check(seed, count, lambda: Path(folder))


CHECKS = (Check("chain: random resistor networks over the line", _networks, 150, seed=11),)
