"""Lots at full count: forged in every way."""

import tempfile
from pathlib import Path

from tests.long import Check
from tests.records.lots.forging import forgeries_are_seen


def forged_lots(seed: int, count: int) -> str:
    """Forge lots, and see each or find it among what is stated not to be seen."""
    with tempfile.TemporaryDirectory() as folder:
        return forgeries_are_seen(Path(folder), seed, count)


CHECKS = (Check("lots: forged, each is seen or stated as unseen", forged_lots, 1_000),)
