"""Remotes: passive plugs for the far end of an installed run, one resistor from each contact to a common star.

The values are data (remotes.toml).
"""

from functools import cache
from pathlib import Path
from typing import Any

from msgspec import Struct

from wiremap.cable.tables import Table, read_table
from wiremap.errors import UsageError

LOWEST_OHM = 100.0
HIGHEST_OHM = 7500.0
POE_REFUSED_BELOW_OHM = 14500.0


class Remote(Struct, frozen=True):
    """One remote: its letter and the resistor behind each contact, (contact, ohms), in contact order."""

    letter: str
    resistors: tuple[tuple[str, float], ...]

    def ohm(self, contact: str) -> float | None:
        """Return the resistor behind a contact; None where the remote has none."""
        return dict(self.resistors).get(contact)

    def fitted(self, contacts: tuple[str, ...]) -> "Remote":
        """Return the remote as made for a plug with these contacts."""
        return Remote(self.letter, tuple((contact, ohm) for contact, ohm in self.resistors if contact in contacts))


class RemoteSet(Struct, frozen=True):
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

    def to_builtins(self) -> dict[str, Any]:
        """Return the set as plain values, for a capture, in the form of remotes.toml."""
        plain = {name: getattr(self, name) for name in self.__struct_fields__ if name != "remotes"}
        return plain | {remote.letter: dict(remote.resistors) for remote in self.remotes}


@cache
def remote_set() -> RemoteSet:
    """Return the remotes that ship."""
    table = read_table(Path(__file__).with_name("remotes.toml"))
    table.take_format(1)
    return remotes_from(table)


def remotes_from(table: Table) -> RemoteSet:
    """Take a set of remotes out of a table of the form of remotes.toml; FileError names what is wrong."""
    label = table.take_text("label")
    tolerance = table.take_number("tolerance", 0.0001, 0.05)
    rated_watt = table.take_number("rated_watt", 0.1, 10.0)
    run_ohm = table.take_number("resistance_of_run_ohm", 0.0, 100.0)
    other = table.take_number("other_deviation", 0.0, 0.05)
    step_ohm = table.take_number("tester_step_ohm", 0.0, 100.0)
    source_ohm = table.take_number("tester_source_ohm", 100.0, 1e6)
    remotes = []
    for letter in sorted(table.names()):
        entry = table.take_table(letter)
        resistors = tuple(
            (contact, entry.take_number(contact, LOWEST_OHM, HIGHEST_OHM)) for contact in sorted(entry.names())
        )
        if sum(sorted(ohm for _, ohm in resistors)[-2:]) >= POE_REFUSED_BELOW_OHM:
            allowed = f"any two together below {POE_REFUSED_BELOW_OHM:g} ohm"
            raise table.wrong(letter, [ohm for _, ohm in resistors], allowed)
        remotes.append(Remote(letter, resistors))
    return RemoteSet(tuple(remotes), tolerance, other, run_ohm, step_ohm, source_ohm, rated_watt, label)
