"""Lots at full count: forged in every way."""

import tempfile
from pathlib import Path

from tests.long import Check
from tests.records.lots.drift_trials import steady_lots
from tests.records.lots.forging import forgeries_are_seen


def forged_lots(seed: int, count: int) -> str:
    """Forge lots, and see each or find it among what is stated not to be seen."""
    with tempfile.TemporaryDirectory() as folder:
        return forgeries_are_seen(Path(folder), seed, count)


CHECKS = (
    Check("lots: forged, each is seen or stated as unseen", forged_lots, 1_000),
    Check("lots: steady, of reels whose cables resemble each other, give no alarm", steady_lots, 500, least=200),
)
