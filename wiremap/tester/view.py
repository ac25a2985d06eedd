"""A scan of the tester's contacts in the cable's own, as the sockets and the adapters give them."""

from collections.abc import Sequence
from itertools import combinations
from typing import Literal, TypeVar

from msgspec import Struct

from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import TesterError
from wiremap.reading.adapters import pick_row, pick_square
from wiremap.reading.joined import is_joined, joined_pairs
from wiremap.reading.parts import Capacitance, ForeignVoltage
from wiremap.reading.reading import Ohm
from wiremap.tester import answers
from wiremap.tester.answers import Answer, FrameError, Voltage

T = TypeVar("T")
WATCHED_OHM = 1000.0  # joined for the tester's watch up to here
KIND_OF_VOLTAGE: dict[str, Literal["dc", "ac", "probing", "link", "cell"]] = {
    "DC": "dc",
    "AC": "ac",
    "PROBE": "probing",
    "LINK": "link",
    "CELL": "cell",
}


class View(Struct, frozen=True):
    """The cable's contacts, and for each (near, then far) the tester's contact (from 0) it is at, None = at none.

    sockets: the same as if the far plug were in the tester, whatever was said.
    """

    near: tuple[str, ...]
    far: tuple[str, ...]
    indices: tuple[int | None, ...]
    sockets: tuple[int | None, ...]
    size: int

    @property
    def contacts(self) -> tuple[Contact, ...]:
        """Return all contacts in matrix order, near ones first."""
        return (*map(near_contact, self.near), *map(far_contact, self.far))

    def check(self, count: int, answer: Answer) -> None:
        """Refuse an answer about another number of contacts than the tester has."""
        if count != self.size:
            raise FrameError(f"the tester scanned {count} contacts, and has {self.size}", raw=answer.raw)

    def resistances(self, answer: Answer) -> tuple[Ohm, ...]:
        """Return a scan of all the tester's contacts, a triangle row by row, ohms."""
        count, values = answers.triangle(answer)
        self.check(count, answer)
        return tuple(value if value is None or value == "open" else value / 1000 for value in values)

    def continuities(self, answer: Answer) -> tuple[Ohm, ...]:
        """Return a scan that tells joined from open and no ohms, a triangle row by row."""
        count, values = answers.joined_triangle(answer)
        self.check(count, answer)
        return values

    @property
    def nothing(self) -> tuple[Ohm, ...]:
        """Return the triangle of a scan that was refused."""
        return (None,) * (self.size * (self.size - 1) // 2)

    def square(self, triangle: Sequence[Ohm]) -> tuple[tuple[Ohm, ...], ...]:
        """Return a scan as the square of the cable's contacts.

        Where the far plug was said not to be in the tester, far contacts are not measured unless something arrives.
        """
        square = _full(triangle, self.size, 0.0)
        whole, count = pick_square(square, self.sockets, 0.0), len(self.near)
        if any(a < count <= b for a, b in joined_pairs(whole, WATCHED_OHM)):
            return whole
        return pick_square(square, self.indices, 0.0)

    def capacitance(
        self, pair: answers.Capacitances, single: answers.Capacitances | None, double: answers.Capacitances | None
    ) -> Capacitance:
        """Return the scans of capacitance in the cable's contacts, picofarads."""

        def square(found: answers.Capacitances) -> tuple[tuple[float | None, ...], ...]:
            return pick_square(_full(_picofarads(found.values), self.size, None), self.indices, None)

        return Capacitance(
            two_terminal_pf=square(pair),
            single_pf=None if single is None else pick_row(_picofarads(single.values), self.indices),
            double_pf=None if double is None else square(double),
            pin_pf=None if pair.pin_ff is None else pair.pin_ff / 1000,
            screen_tied=pair.screen_tied,
            repeats=pair.repeats,
            sd_pf=None if pair.sd_ff is None or pair.repeats == 1 else pair.sd_ff / 1000,
        )

    def voltage(self, found: Voltage) -> ForeignVoltage:
        """Return a voltage by the cable's contact; TesterError when none leads there."""
        if found.contact not in self.indices:
            raise TesterError(
                f"there is voltage at the tester's contact {found.contact + 1}, which leads to no contact of the cable",
                "Unplug both ends of the cable and the adapter, and find what feeds it before going on.",
            )
        return ForeignVoltage(
            self.contacts[self.indices.index(found.contact)], found.millivolts, KIND_OF_VOLTAGE[found.kind]
        )

    def contact_number(self, contact: Contact) -> int | None:
        """Return a contact's number on the line (from 1); None when it leads to no contact of the tester."""
        index = self.indices[self.contacts.index(contact)] if contact in self.contacts else None
        return None if index is None else index + 1


def contradiction_in(rows: Sequence[Sequence[Ohm]], contacts: Sequence[Contact]) -> str | None:
    """Return what contradicts what in a scan, None = nothing: two contacts that are joined to a third are joined.

    rows: [i][j] over near, then far contacts. Joined here is what is joined for sure, below what the tester's watch
    takes for it; the resistance between the two is then at most the sum of the others (resistance distance).
    """
    sure = [[_surely_ohm(value) for value in row] for row in rows]
    for b, row in enumerate(sure):
        near = [a for a, ohm in enumerate(row) if ohm is not None and a != b]
        for a, c in combinations(near, 2):
            most = (row[a] or 0.0) + (row[c] or 0.0)
            direct = rows[a][c]
            if direct is not None and not is_joined(direct, most + WATCHED_OHM):
                shown = "open" if direct == "open" else f"{direct:g} ohm"
                return (
                    f"{contacts[a]} and {contacts[c]} are both joined to {contacts[b]}, yet between them it is {shown}"
                )
    return None


def _surely_ohm(value: Ohm) -> float | None:
    """Return the resistance of what is joined for sure, 0 where it is not known, None where it is not joined so."""
    if value == "joined":
        return 0.0
    return value if isinstance(value, int | float) and is_joined(value, WATCHED_OHM / 2) else None


def _full(values: Sequence[T], size: int, diagonal: T) -> list[list[T]]:
    """Return the square that belongs to an upper triangle given row by row."""
    rows = [[diagonal] * size for _ in range(size)]
    at = iter(values)
    for i in range(size):
        for j in range(i + 1, size):
            rows[i][j] = rows[j][i] = next(at)
    return rows


def _picofarads(femtofarads: Sequence[int | None]) -> list[float | None]:
    return [None if value is None else value / 1000 for value in femtofarads]
