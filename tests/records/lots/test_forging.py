from pathlib import Path

from tests.records.lots.forging import ATTACKS, forgeries_are_seen


def test_a_forged_lot_is_seen_or_stated_as_unseen(tmp_path: Path) -> None:
    """Every way of forging a lot is tried: signed or not, closed or not, chained and sealed again or not."""
    assert "seen" in forgeries_are_seen(tmp_path, 1, 3 * len(ATTACKS))
