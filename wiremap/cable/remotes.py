"""Remotes: passive plugs for the far end of an installed run, one resistor from each contact to a common star.

The values are data (remotes.toml). Here stands what follows from them: how far apart they are, and how warm
they get when somebody plugs one where power is.
"""

from dataclasses import dataclass
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path

from wiremap.cable.tables import read_table
from wiremap.errors import UsageError

LOWEST_OHM = 100.0
HIGHEST_OHM = 7500.0
POE_REFUSED_BELOW_OHM = 14500.0
POE_HIGHEST_VOLT = 57.0


@dataclass(frozen=True, slots=True)
class Remote:
    """One remote: its letter and the resistor behind each contact, (contact, ohms), in contact order."""

    letter: str
    resistors: tuple[tuple[str, float], ...]

    def ohm(self, contact: str) -> float | None:
        """Return the resistor behind a contact; None where the remote has none."""
        return dict(self.resistors).get(contact)

    def fitted(self, contacts: tuple[str, ...]) -> "Remote":
        """Return the remote as made for a plug with these contacts."""
        return Remote(self.letter, tuple((contact, ohm) for contact, ohm in self.resistors if contact in contacts))


@dataclass(frozen=True, slots=True)
class RemoteSet:
    """All remotes, and what their parts and the run may deviate by.

    tolerance: of a resistor, relative. other_deviation: of the tester and by warmth, relative.
    resistance_of_run_ohm: the most one conductor of the run may have. tester_step_ohm: what a coarse tester
    resolves near zero; at R it is (1 + R / tester_source_ohm)^2 times as much.
    """

    remotes: tuple[Remote, ...]
    tolerance: float
    other_deviation: float
    resistance_of_run_ohm: float
    tester_step_ohm: float
    tester_source_ohm: float
    rated_watt: float
    label: str

    @property
    def deviation(self) -> float:
        """Return the most a resistor may look off its value, relative."""
        return self.tolerance + self.other_deviation

    def step_ohm(self, ohm: float) -> float:
        """Return what a coarse tester resolves at so many ohms."""
        return self.tester_step_ohm * (1.0 + ohm / self.tester_source_ohm) ** 2

    def remote(self, letter: str) -> Remote:
        """Return one remote; UsageError when the letter is not known."""
        for remote in self.remotes:
            if remote.letter == letter:
                return remote
        raise UsageError(
            f"there is no remote '{letter}'", "Known: " + ", ".join(remote.letter for remote in self.remotes) + "."
        )


@cache
def remote_set() -> RemoteSet:
    """Return the remotes that ship."""
    table = read_table(Path(__file__).with_name("remotes.toml"))
    table.take_format(1)
    label = table.take_text("label")
    tolerance = table.take_number("tolerance", 0.0001, 0.05)
    rated_watt = table.take_number("rated_watt", 0.1, 10.0)
    run_ohm = table.take_number("resistance_of_run_ohm", 0.0, 100.0)
    other = table.take_number("other_deviation", 0.0, 0.05)
    step_ohm = table.take_number("tester_step_ohm", 0.0, 100.0)
    source_ohm = table.take_number("tester_source_ohm", 100.0, 1e6)
    remotes = []
    for letter in table.names():
        entry = table.take_table(letter)
        resistors = tuple((contact, entry.take_number(contact, LOWEST_OHM, HIGHEST_OHM)) for contact in entry.names())
        if sum(sorted(ohm for _, ohm in resistors)[-2:]) >= POE_REFUSED_BELOW_OHM:
            allowed = f"any two together below {POE_REFUSED_BELOW_OHM:g} ohm"
            raise table.wrong(letter, [ohm for _, ohm in resistors], allowed)
        remotes.append(Remote(letter, resistors))
    return RemoteSet(tuple(remotes), tolerance, other, run_ohm, step_ohm, source_ohm, rated_watt, label)


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
