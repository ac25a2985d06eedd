from pathlib import Path

from tests.chain.random_networks import check


def test_planted_networks_come_back_over_the_line(tmp_path: Path) -> None:
    """Whatever resistors are in the cable, the Reading holds what a separate nodal analysis says."""
    assert check(seed=7, count=6, folder=lambda: tmp_path)
