"""One process, long at work: a cable of a lot, an event of a watch cost the same at the end as at the beginning."""

from tests.bench.soaks import Meter, lot_soak, watch_soak
from tests.bench.test_soaks import LOT_BLOCKS, WATCH_BLOCKS
from tests.long import Check


def _lot(seed: int, count: int) -> str:
    meter = Meter()
    return f"{lot_soak(seed, count, meter)}; {meter.check(LOT_BLOCKS)}"


def _watch(_seed: int, count: int) -> str:
    meter = Meter()
    return f"{watch_soak(count, meter)}; {meter.check(WATCH_BLOCKS)}"


CHECKS = (
    Check("soak: a lot of 5 000 cables in one process", _lot, 5_000, least=100),
    Check("soak: 200 000 events of watches in one process", _watch, 200_000, least=10_000),
)
