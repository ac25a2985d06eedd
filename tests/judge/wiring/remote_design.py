"""What the values of remotes promise: how far apart they are, and how warm a remote gets where power is."""

from itertools import combinations, pairwise

from wiremap.cable.remotes import Remote, RemoteSet

POE_HIGHEST_VOLT = 57.0  # the most that IEEE 802.3 lets stand between pairs, from memory


def smallest_gap_ohm(known: RemoteSet, deviation: float) -> float:
    """Return the least distance between what two resistors can look like, ohms; negative where they overlap.

    A resistor R looks like anything from R (1 - deviation) to R (1 + deviation) plus the run's resistance.
    """
    values = sorted(ohm for remote in known.remotes for _, ohm in remote.resistors)
    return min(
        above * (1 - deviation) - (below * (1 + deviation) + known.resistance_of_run_ohm)
        for below, above in pairwise(values)
    )


def series_resistance_seen_ohm(known: RemoteSet, deviation: float) -> float:
    """Return the most a conductor may have in series (a bad joint) and not be taken for another contact, ohms."""
    room = []
    for remote in known.remotes:
        values = sorted(ohm for _, ohm in remote.resistors)
        for below, above in pairwise(values):
            room.append(above * (1 - deviation) - (below * (1 + deviation) + known.resistance_of_run_ohm))
    return min(room)


def _parallel(values: tuple[float, ...]) -> float:
    return 1.0 / sum(1.0 / value for value in values)


def hottest_watt(remote: Remote, on_one_pole: int, on_the_other: int, volt: float = POE_HIGHEST_VOLT) -> float:
    """Return the most power in one resistor when `volt` stands between two groups of so many contacts, watts.

    The screen's contact is left out: no source feeds it. Every choice of contacts is tried, so that a
    crossed or reversed run is covered.
    """
    values = tuple(ohm for contact, ohm in remote.resistors if contact != "S")
    hottest = 0.0
    for group in combinations(range(len(values)), on_one_pole):
        rest = [place for place in range(len(values)) if place not in group]
        one = _parallel(tuple(values[place] for place in group))
        smallest = min(values[place] for place in group)
        for other_group in combinations(rest, on_the_other):
            other = _parallel(tuple(values[place] for place in other_group))
            hottest = max(hottest, (volt * one / (one + other)) ** 2 / smallest)
    return hottest
