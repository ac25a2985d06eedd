"""Watching through the line: the firmware's own code in the simulator, the product's own way of fetching events."""

import random
import tempfile
import time
from pathlib import Path

from tests.firmware_sim.simulators import simulator
from wiremap.tester.answers import LatchedEvent
from wiremap.tester.measure import open_tester
from wiremap.tester.watching import Watch

COLOURS = ("white-orange", "orange", "white-green", "blue", "white-blue", "green", "white-brown", "brown")
START_S, GAP_S = 6.0, 0.12  # the watch has begun by then, in board time
CABLE = 'format = 1\nnear = "T568B"\nfar = "T568B"\nseed = %d\n[[segment]]\ncable = "UTP"\nlength_m = 4.0\n'
LAST_S, MOST_LOOKS = 0.5, 50_000  # the last opening, much longer than all others: when it is over, all have come
FAULT = '[[fault]]\nkind = "open"\nconductors = ["%s"]\nend = "far"\nfrom_s = %.6f\nfor_s = %.6f\n'


def events_are_caught(seed: int, count: int) -> str:
    """Open random conductors for 2 to 40 ms, `count` times; 99 % must arrive, each on its contacts with its length."""
    draw = random.Random(seed)
    opened = [(draw.randrange(8), draw.choice((0.002, 0.004, 0.01, 0.04))) for _ in range(count)]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cable.toml"
        moments = [START_S + k * GAP_S + draw.uniform(0, 0.03) for k in range(count)]
        faults = [
            FAULT % (COLOURS[contact], at_s, for_s) for (contact, for_s), at_s in zip(opened, moments, strict=True)
        ]
        faults.append(FAULT % ("brown", moments[-1] + LAST_S, LAST_S))
        path.write_text(CABLE % seed + "".join(faults))
        *seen, _ = sorted(_watched(path), key=lambda event: event.at_us)
    # The board's clock began before the watch: the time between is the same for all events.
    offset_s = min(moments) - seen[0].at_us / 1e6 if seen else 0.0
    caught = 0
    left = list(seen)
    for (contact, for_s), at_s in zip(opened, moments, strict=True):
        fits = [
            event
            for event in left
            if (event.a, event.b, event.change) == (contact, contact + 9, "OPEN")
            and abs(event.at_us / 1e6 + offset_s - at_s) < 0.004
            and event.for_us is not None
            and abs(event.for_us / 1e6 - for_s) < 0.003
        ]
        if len(fits) == 1:
            caught += 1
            left.remove(fits[0])
    assert not left, f"invented, or on other contacts: {left[:3]}"
    assert caught >= 0.99 * count, f"only {caught} of {count}"
    return f"{caught} of {count} openings of 2 ms and more arrived through the line, none invented"


def nothing_is_invented(seed: int, count: int) -> str:
    """Watch a quiet cable for `count` seconds of board time through the line: no event."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cable.toml"
        # One opening at the end tells how far the board's clock has come.
        path.write_text(CABLE % seed + FAULT % ("brown", START_S + count, LAST_S))
        seen = _watched(path)
    assert [(event.a, event.b) for event in seen] == [(7, 16)], seen[:3]
    (last,) = seen
    assert last.at_us / 1e6 > count - 1
    return f"no event in {last.at_us / 1e6:.0f} s of noise (board time)"


def _watched(cable: Path) -> list[LatchedEvent]:
    """Watch until the last opening is over by the board's clock; return the events, each as it was told last."""
    seen: dict[tuple[int, int, int], LatchedEvent] = {}
    with simulator("--board", "reference", cable=cable) as (address, _), open_tester(address) as tester:
        watch = Watch(tester)
        watch.start()
        for _ in range(MOST_LOOKS):
            found = watch.fetch()
            seen |= {(event.a, event.b, event.at_us): event for event in found}
            if any((event.for_us or 0) > 0.8e6 * LAST_S for event in found):
                break
            time.sleep(0.02)
        else:
            raise AssertionError("the last opening never came")
        assert watch.lost == 0
        watch.stop()
    return list(seen.values())
