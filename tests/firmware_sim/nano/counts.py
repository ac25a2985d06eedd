"""Cables at random at the chip's pins: what is scanned is what is there, and no contact is driven against another."""

import random
from collections import Counter

from tests.firmware_sim.nano.chip import BLEED_OHM, HELD_HIGH_MV, HELD_LOW_MV, LEAD_OHM, Chip, N, firmware, pairs_of
from wiremap.errors import TesterError
from wiremap.tester.line import open_line

JOINED_OHM, OPEN_OHM = 10_000.0, 1_000_000.0  # what must count as joined at most, and as open at least
MOST_PEAK_NA = 5.0 / LEAD_OHM * 1e9 * 1.1  # one lead alone, and the diodes' share of a coupled step


def random_nets(rng: random.Random) -> list[list[int]]:
    """Return what is joined in a cable: a permuted plug, opens, shorts, or contacts thrown together at random."""
    if rng.random() < 0.3:
        colours = [rng.randrange(N) for _ in range(N)]
        nets = [[contact for contact in range(1, N + 1) if colours[contact - 1] == colour] for colour in range(N)]
        return [net for net in nets if len(net) > 1]
    far = list(range(10, 19))
    if rng.random() < 0.7:
        rng.shuffle(far)
    nets = [[near, there] for near, there in enumerate(far, start=1) if rng.random() < 0.85]
    if len(nets) > 1 and rng.random() < 0.4:
        first, second = rng.sample(range(len(nets)), 2)
        nets[first] = nets[first] + nets[second]
        del nets[second]
    return nets


def random_cable(chip: Chip, rng: random.Random) -> set[tuple[int, int]]:
    """Put a random cable in: nets, joints up to 10 kohm, up to 90 m of capacitance, leaks; return its pairs."""
    nets = random_nets(rng)
    chip.put(nets, ohm=rng.choice([0.1, 5.0, 100.0, 2000.0]), metres=rng.choice([0.0, 0.5, 2.0, 20.0, 90.0]))
    joined = pairs_of(nets)
    if len(nets) > 1 and rng.random() < 0.3:
        a, b = rng.sample([net[0] for net in nets], 2)
        chip.order(f"join {a} {b} {OPEN_OHM * rng.uniform(1, 5)}")
    return joined


def check_drives(chip: Chip) -> None:
    """At most one contact was ever high, at most one low beside it, and no more flowed than a lead lets through."""
    seen = chip.report()
    assert seen["high"] == 1, seen
    assert seen["low-beside-high"] <= 1, seen
    assert seen["pulled-up"] <= 1, seen
    assert seen["peak-na"] <= MOST_PEAK_NA, seen
    assert seen["driven"] == 0, seen


def count_nets(seed: int, count: int) -> str:
    """Random cables are scanned right, at any threshold a pin may have; count is a number of cables."""
    rng = random.Random(seed)
    scans, longest = 0, 0
    thresholds = (HELD_LOW_MV + 50, 2_500, HELD_HIGH_MV - 50)
    for part, threshold in enumerate(thresholds):
        with Chip(firmware(), threshold_mv=threshold, bleed_ohm=BLEED_OHM) as chip:
            for _ in range((count + part) // len(thresholds)):
                wanted = random_cable(chip, rng)
                before = chip.report()["at-us"]
                seen = chip.joined()
                assert seen == wanted, (threshold, sorted(seen - wanted), sorted(wanted - seen))
                longest = max(longest, chip.report()["at-us"] - before)
                scans += 1
            if scans:
                check_drives(chip)
    return f"{scans} cables right, none wrong; the longest scan {longest / 1e6:.2f} s"


def count_hurt(seed: int, count: int) -> str:
    """With bytes lost and flipped either way no wrong scan is believed; count is a number of scans."""
    rng = random.Random(seed)
    seen: Counter[str] = Counter()
    with Chip(firmware()) as chip, open_line(chip.address, first_tag=1) as line:
        for _ in range(count):
            wanted = random_cable(chip, rng)
            chip.order(f"hurt 0.002 {rng.randrange(1 << 30)}")
            try:
                answer = line.ask("MEASure:ARRay:CONTinuity?", parse=lambda answer: answer, timeout_s=20)
                count_of, *values = answer.fields
                pairs = [(a, b) for a in range(1, N + 1) for b in range(a + 1, N + 1)]
                found = {pair for pair, value in zip(pairs, values, strict=True) if value == "1"}
                assert (answer.status, count_of) == ("OK", str(N))
                assert found == wanted, (sorted(found - wanted), sorted(wanted - found))
                seen["right"] += 1
            except TesterError:
                seen["said"] += 1
        hurt = chip.report()["hurt"]
    assert seen["right"] > 0
    return f"{count} scans, {hurt} bytes hurt: {seen['right']} right, {seen['said']} said to be damaged, 0 wrong"
