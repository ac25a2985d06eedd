"""Long runs at a reduced count; `python -m tests.long soak` has 5 000 cables and 200 000 events."""

import pytest

from tests.bench.soaks import Meter, lot_soak, watch_soak
from wiremap.bench import watcher

LOT_BLOCKS = 100  # a cable: its line in the ledger, and the lot that it is in
WATCH_BLOCKS = 60  # eight events and their places


def test_a_cable_of_a_lot_costs_the_same_however_many_came_before() -> None:
    """Calls, blocks of memory and open files of a cable are the same at the end of a lot as near its beginning."""
    meter = Meter()
    assert "80 verdicts shown of 80 cables" in lot_soak(1, 80, meter)
    assert "80 steps" in meter.check(LOT_BLOCKS)


def test_an_event_of_a_watch_costs_the_same_however_many_came_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """Calls, blocks of memory and open files of an event are the same at the end of a watch as near its beginning."""
    monkeypatch.setattr(watcher, "MOST_WATCHED", 2000)
    meter = Meter()
    assert watch_soak(2000, meter) == "2001 events in 1 watches"
    meter.check(WATCH_BLOCKS)


def test_what_grows_is_seen() -> None:
    """A cost that grows with what came before, calls or blocks or open files, fails the check."""
    for grows in ("calls", "blocks", "handles"):
        meter = Meter()
        kept: list[object] = []
        with meter.running():
            for step in range(60):
                for _ in range(200 + (20 * step if grows == "calls" else 0)):
                    len(kept)
                kept += [object() for _ in range(30 * step if grows == "blocks" else 0)]
                meter.step()
        if grows == "handles":
            meter.handles = [*meter.handles[:-1], meter.handles[-1] + 1]
        said = {"calls": "times the calls", "blocks": "blocks more", "handles": "open files"}
        with pytest.raises(AssertionError, match=said[grows]):
            meter.check(100)
