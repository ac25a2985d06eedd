import os

import pytest

from tests.bench import checks


def test_a_lot_loses_nothing() -> None:
    """With bounces, bad plugs, cables pulled in mid-test and a tester unplugged twice, each verdict is its cable's."""
    said = checks.lot_loses_nothing(seed=3, count=30)
    assert said.count("of 30 cables, each in the ledger once and its own cable's") == 2
    assert said.count("2 times unplugged") == 2


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_a_killed_lot_loses_nothing() -> None:
    """Killed at random moments, a lot goes on where it stopped: each shown verdict is in the ledger exactly once."""
    assert checks.killed_lot_loses_nothing(seed=3, count=20).startswith("20 kills: ")
