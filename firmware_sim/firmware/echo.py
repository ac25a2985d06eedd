"""The first echo between two contacts: by counting, and sampled.

The comparator sees contact a less contact b. Its threshold is put where the wave rises (or, at a short, falls)
fastest after the launch; the step is then delayed by even parts of a tick from one repeat to the next.
"""

import bus
import pins
import step
import watchdog

MOST_ECHO_COUNTS = 160  # counts: 2.56 us, about 250 m
LEVELS = 32
LAUNCH_COUNTS = 2  # what comes with them is the launch itself
AT_ONCE = 24  # a level that no launch reaches: only an echo does
STEEP_COUNTS = 2  # an echo rises a level, 0.1 V, within 32 ns; a line's slow creep takes longer
TRACE_LEVELS = 64
TRACE_PHASES = 8
NEAR_DRIVE, FAR_DRIVE = 50, 330


class Echo:
    """What one measurement gave: drive ohm, polarity, launch ps, a count for each delay (-1 = none)."""

    def __init__(self, drive: int, polarity: int, launch_ps: int, ticks: "list[int]", delays: "list[int]") -> None:
        self.drive = drive
        self.polarity = polarity
        self.launch_ps = launch_ps
        self.ticks = ticks
        self.delays = delays


def near_pair(a: int, b: int) -> int:
    """Return which pair of the near plug two contacts are, -1 for none: only these reach the echo stage."""
    for number in range(len(pins.PLUG_PAIRS)):
        if (min(a, b), max(a, b)) == pins.PLUG_PAIRS[number]:
            return number
    return -1


def _connect(a: int, b: int, drive: int) -> None:
    pins.release()
    if drive == NEAR_DRIVE:
        pins.echo_pair(near_pair(a, b))
        bus.switches(bus.ECHO_ON)
    else:
        pins.range_to(pins.FULL if drive == FAR_DRIVE else pins.CHARGE)
        pins.select(pins.ADDRESS[a], pins.ADDRESS[b])
        pins.FORCE.value(1)


def measure(a: int, b: int, drive: int, repeats: int) -> Echo:
    """Measure the echo; a pair that does not reach the echo stage is driven through the multiplexers, 330 ohm."""
    if drive == NEAR_DRIVE and near_pair(a, b) < 0:
        drive = FAR_DRIVE
    _connect(a, b, drive)
    bus.delay(0)
    rising = _crossings(True)
    top = max([level for level in range(LEVELS) if rising[level] >= 0], default=0)
    early = max([level for level in range(LEVELS) if 0 <= rising[level] <= LAUNCH_COUNTS], default=0)
    polarity, launch_ps = 1, step.UP_LAUNCH_PS
    share = _steepest(rising, early, top) if early < AT_ONCE else 0
    if not share and top >= AT_ONCE:
        # The echo comes with the launch, or nearly so: an open end at little distance, or none.
        share = AT_ONCE * step.FULL_DUTY // LEVELS
    elif not share and early:
        # Only what the launch itself passed can fall again.
        falling = _crossings(False)
        low = min([level for level in range(1, early) if falling[level] >= 0], default=early)
        polarity, launch_ps, share = -1, step.DOWN_LAUNCH_PS, _steepest(falling, low - 1, early - 1)
    delays = step.phases(repeats)
    ticks = []
    if share:
        step.threshold(share)
        for delay_ps in delays:
            bus.delay(delay_ps)
            ticks.append(step.count(MOST_ECHO_COUNTS, polarity > 0))
    else:
        ticks = [-1] * repeats
    if max(ticks) < 0:
        polarity = 0
    return Echo(drive, polarity, launch_ps, ticks, delays)


def _crossings(rising: bool) -> "list[int]":
    """Return the count at which the wave passes each level, in LEVELS-ths of the supply; -1 = never."""
    found = [-1]
    for level in range(1, LEVELS):
        step.threshold(level * step.FULL_DUTY // LEVELS)
        found.append(step.count(MOST_ECHO_COUNTS, rising))
    return found


def _steepest(counts: "list[int]", low: int, high: int) -> int:
    """Return the threshold in the middle of the levels, above low up to high, that are passed most at once.

    0 when no two neighbours of them are passed within STEEP_COUNTS: what creeps is no echo.
    """
    steep = False
    for level in range(low + 1, high):
        if 0 <= counts[level] and abs(counts[level + 1] - counts[level]) <= STEEP_COUNTS and counts[level + 1] >= 0:
            steep = True
    if not steep:
        return 0
    width = max(1, (high - low) // 2)
    best, place = -1, low + 1
    for level in range(low + 1, high - width + 2):
        last = level + width - 1
        if counts[level] < 0 or counts[last] < 0:
            continue
        spread = abs(counts[last] - counts[level])
        if best < 0 or spread < best:
            best, place = spread, level
    return (2 * place + width - 1) * step.FULL_DUTY // (2 * LEVELS)


def trace(a: int, b: int) -> "list[int]":
    """Sample the reflection of a near pair every nanosecond from the launch on, microvolts; [] for other contacts.

    Each sample is the number of thresholds that the wave is above; the thresholds shift a little from one phase
    to the next, so that neighbours share what lies between two of them.
    """
    if near_pair(a, b) < 0:
        return []
    _connect(a, b, NEAR_DRIVE)
    length = 32 * step.WORDS * TRACE_PHASES
    counts = [0] * (length + TRACE_PHASES)  # how much more, or less, than one tick earlier
    words = [0] * step.WORDS
    spacing = step.FULL_DUTY // TRACE_LEVELS
    for phase in range(TRACE_PHASES):
        bus.delay(phase * step.CYCLE_PS // TRACE_PHASES)
        for level in range(TRACE_LEVELS):
            step.threshold(level * spacing + phase * spacing // TRACE_PHASES + spacing // (2 * TRACE_PHASES))
            step.samples(words)
            _count(words, counts, TRACE_PHASES - 1 - phase)
        watchdog.alive()
    for place in range(TRACE_PHASES, length):
        counts[place] += counts[place - TRACE_PHASES]
    for place in range(length):
        # A wave above n thresholds lies, in the mean, half a spacing above the last; the phase shifted them all.
        phase = TRACE_PHASES - 1 - place % TRACE_PHASES
        sixteenths = 16 * counts[place] - 8 + (2 * phase + 1) if counts[place] else 0
        counts[place] = sixteenths * 3_300_000 // (16 * TRACE_LEVELS)
    return counts[:length]


def _count(words: "list[int]", counts: "list[int]", place: int) -> None:
    """Note where runs of ones begin and end; most words hold none of either."""
    before = 0
    for word in words:
        if word != (0xFFFFFFFF if before else 0):
            for bit in range(31, -1, -1):
                now = word >> bit & 1
                if now != before:
                    counts[place + (31 - bit) * TRACE_PHASES] += 1 if now else -1
                    before = now
        place += 32 * TRACE_PHASES


def trace_start_ps() -> int:
    """Return the time of a trace's first sample after the step at the contact."""
    # The first sample is taken one cycle after the step, of an input two cycles old, in the latest phase.
    return -step.CYCLE_PS - (TRACE_PHASES - 1) * step.CYCLE_PS // TRACE_PHASES - step.COMPARATOR_PS
