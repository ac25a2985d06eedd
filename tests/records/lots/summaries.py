"""The summary of some lines of a ledger."""

from collections.abc import Sequence

from wiremap.records.lots.ledger_entry import Entry
from wiremap.records.lots.statistics import LotSoFar, LotSummary


def summarise_entries(entries: Sequence[Entry], lot: str) -> LotSummary:
    """Return the summary of a lot with these lines."""
    return LotSoFar(lot).summary(entries)
