"""What a cable of a lot and an event of a watch take at the end of a long run, beside near its beginning.

Prints ratios of processor time measured in one run: python -m tests.benchmarks.soak [CABLES [EVENTS]]
"""

import resource
import sys

from tests.bench.soaks import Meter, lot_soak, watch_soak


def main() -> None:
    """Measure and print."""
    cables = int(sys.argv[1]) if len(sys.argv) > 1 else 5_000
    events = int(sys.argv[2]) if len(sys.argv) > 2 else 200_000
    lot, watch = Meter(counts=False), Meter(counts=False)
    lot_soak(1, cables, lot)
    _say("cable", cables, lot)
    watch_soak(events, watch)
    _say("event", events, watch)


def _say(what: str, count: int, meter: Meter) -> None:
    each_ms = 1000 * (meter.seconds[-1] - meter.seconds[0]) / count
    most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    share = meter.share_of_time()
    print(f"{count} {what}s, {each_ms:.2f} ms each; medians, last third / second fifth: {share:.2f} (wanted: 1)")
    print(f"open files {sorted(set(meter.handles))}; most memory so far {most_mb:.0f} MB")


if __name__ == "__main__":
    main()
