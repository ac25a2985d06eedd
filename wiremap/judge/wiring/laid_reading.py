"""A reading laid out on a pattern, once for every room that judges it: what was measured, and what it means.

All that is here goes by the index of `Layout`; a room that wants a matrix, a net or a contact takes it from here.
"""

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, TypeVar

from msgspec import Struct

from wiremap.cable.limits import Limits
from wiremap.cable.patterns import Pattern
from wiremap.contact import Contact
from wiremap.judge.wiring.cells import Cell, Cells, Ohms, cells, joints, without_resistors
from wiremap.judge.wiring.layout import Layout, lay_pattern
from wiremap.judge.wiring.terminators import Link, without_terminators
from wiremap.reading.joined import by_net, nets, ohms

if TYPE_CHECKING:
    from wiremap.reading.reading import Ohm, Reading

T = TypeVar("T")


class LaidReading(Struct, frozen=True, eq=False):
    """A reading in the order of its layout; what is measured is its reading's, what is meant by the limits'.

    rows: [n][n] as `Reading.resistance_ohm`. ohm: [n][n] the same as numbers, NaN = not measured, inf = open, 0 =
    joined, ohms unknown. cells: what each two contacts are to each other. wire_cells: the same without what resistors
    and terminators explain that belong between contacts; links: where terminators are. net: [n] the lowest contact of
    each contact's net, by wire_cells.
    """

    reading: "Reading"
    layout: Layout
    limits: Limits
    rows: "Sequence[Sequence[Ohm]]"
    ohm: Ohms
    cells: Cells
    wire_cells: Cells
    links: tuple[Link, ...]
    net: Sequence[int]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, LaidReading) and self._made_of == other._made_of

    def __hash__(self) -> int:
        return hash(self._made_of)

    @property
    def _made_of(self) -> "tuple[Reading, Layout, Limits]":
        return self.reading, self.layout, self.limits  # all else follows, with NaN in it, which equals nothing

    @property
    def step_ohm(self) -> float:
        """Return the smallest step of a conductor's resistance; an assumed one where nobody says which tester."""
        tester = self.reading.tester
        return self.limits.unknown_resolution_ohm if tester is None else tester.resolution_ohm

    @property
    def low_level_sd_ohm(self) -> float:
        """Return how far a conductor's resistance scatters at low level beyond its steps, ohms; 0.0 = nobody said."""
        tester = self.reading.tester
        return 0.0 if tester is None or tester.low_level_sd_ohm is None else tester.low_level_sd_ohm

    @property
    def conducts(self) -> bool:
        """Whether anything leaks, or a resistor or terminator sits, between contacts."""
        resistors = bool(self.layout.resistors) and self.wire_cells != self.cells
        return Cell.LEAKAGE in self.cells.values() or bool(self.links) or resistors

    @property
    def groups(self) -> tuple[tuple[int, ...], ...]:
        """Return the contacts net by net, alone or joined, both in order."""
        return tuple(map(tuple, by_net(range(len(self.net)), self.net).values()))

    @property
    def joined_contacts(self) -> tuple[frozenset[Contact], ...]:
        """Return the contacts net by net, alone or joined."""
        return tuple(frozenset(map(self.layout.contact, group)) for group in self.groups)


def in_order(rows: Sequence[Sequence[T]], order: Sequence[int]) -> Sequence[Sequence[T]]:
    """Return a matrix over a reading's contacts in the order of a layout; order: as `Layout.order`."""
    if list(order) == list(range(len(rows))):
        return rows
    return [[rows[i][j] for j in order] for i in order]


def lay_reading(reading: "Reading", pattern: Pattern, limits: Limits) -> LaidReading:
    """Lay a reading out on a pattern; UsageError where its contacts are not those of the pattern's plugs."""
    return laid_as(reading, lay_pattern(pattern, reading.near_contacts, reading.far_contacts), limits)


def laid_as(reading: "Reading", layout: Layout, limits: Limits) -> LaidReading:
    """Lay a reading out as a pattern that is laid on its contacts."""
    rows = in_order(reading.resistance_ohm, layout.order)
    return _meant(reading, layout, limits, rows, ohms(rows))


def near_end_only(laid: LaidReading) -> LaidReading:
    """Return a reading as it would be with nothing at the far end: everything there open."""
    near = laid.layout.near_places
    ohm = [
        [value if i in near and j in near else math.inf for j, value in enumerate(row)]
        for i, row in enumerate(laid.ohm)
    ]
    return _meant(laid.reading, laid.layout, laid.limits, laid.rows, ohm)


def _meant(
    reading: "Reading", layout: Layout, limits: Limits, rows: "Sequence[Sequence[Ohm]]", ohm: Ohms
) -> LaidReading:
    found = cells(ohm, layout.partner, limits)
    wires: Cells = found
    links: tuple[Link, ...] = ()
    if layout.resistors:
        wires = without_resistors(ohm, found, layout.resistors)
    elif layout.bus is not None:
        wires, links = without_terminators(ohm, found, layout.partner, layout.bus, layout.near_count, limits)
    return LaidReading(reading, layout, limits, rows, ohm, found, wires, links, nets(len(ohm), joints(wires)))
