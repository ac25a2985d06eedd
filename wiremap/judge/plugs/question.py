"""What both engines share: the posterior they return, and one belief and one evidence in numbers."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct

from wiremap.cable.colours import ColourSet
from wiremap.cable.mistakes import EMPTY
from wiremap.contact import End
from wiremap.judge.plugs.evidence import Evidence, Reads, seen_as
from wiremap.judge.plugs.orders import Chances, Rows
from wiremap.judge.plugs.prior import Belief

Bools = np.ndarray[Any, np.dtype[np.bool_]]
OrderRow = tuple[int, ...]
ConductorBlock = tuple[tuple[int, ...], tuple[int, ...]]


class Posterior(Struct, frozen=True):
    """Chances of the orders of one plug, and of the other plug's where each goes with exactly one.

    rows: (R, contacts) conductor numbers, -1 = empty. chance: (R,), adding up to 1. other_rows: (R, contacts of
    the other plug), None where it is not determined. right: chance that this plug is as intended; other_right.
    likeliest: (row, other row, chance) of both plugs together where the other is not determined, None = not worked
    out.
    """

    rows: Rows
    chance: Chances
    right: float
    other_rows: Rows | None
    other_right: float | None
    likeliest: tuple[OrderRow, OrderRow, float] | None = None


class Question(Struct, frozen=True):
    """One belief and one evidence in numbers: what the two engines below share."""

    known: Belief
    colours: ColourSet
    evidence: Evidence

    @property
    def near_contacts(self) -> tuple[str, ...]:
        """Return the near plug's contacts, the screen left out."""
        return self.known.near_plug.conductor_contacts

    @property
    def far_contacts(self) -> tuple[str, ...]:
        """Return the far plug's contacts, the screen left out."""
        return self.known.far_plug.conductor_contacts

    def reads_allow(self, rows: Rows, reads: Reads, contacts: Sequence[str]) -> Bools:
        """Return which rows agree with what was read, shape (R,)."""
        agree = np.ones(len(rows), dtype=bool)
        for contact, word in reads:
            allowed = np.zeros(len(self.known.conductors) + 1, dtype=bool)
            if word == EMPTY:
                allowed[-1] = True
            else:
                for name in seen_as(self.colours, word, self.known.conductors):
                    allowed[self.known.conductors.index(name)] = True
            agree &= allowed[rows[:, contacts.index(contact)]]
        return agree

    def pairs_factor(self, rows: Rows) -> Chances:
        """Return how well the measured pairing fits each near row, shape (R,)."""
        number = np.full(len(self.known.conductors) + 1, -1)
        for place, pair in enumerate(self.colours.pairs):
            for name in pair:
                if name in self.known.conductors:
                    number[self.known.conductors.index(name)] = place
        fits = np.ones(len(rows), dtype=bool)
        for a, b in self.evidence.pairs:
            first = number[rows[:, self.near_contacts.index(a)]]
            fits &= (first == number[rows[:, self.near_contacts.index(b)]]) & (first >= 0)
        return np.where(fits, 1.0, 0.0 if self.evidence.pairs_sure else self.known.habits.pairs_wrong)

    def near_factor(self, rows: Rows) -> Chances:
        """Return what eye and pairing say of near rows, shape (R,)."""
        return self.pairs_factor(rows) * self.reads_allow(rows, self.evidence.near_reads, self.near_contacts)

    def far_factor(self, rows: Rows) -> Chances:
        """Return what the eye says of far rows, shape (R,)."""
        return self.reads_allow(rows, self.evidence.far_reads, self.far_contacts).astype(np.float64)

    def sound_factor(self, rows: Rows, end: End) -> Chances:
        """Return 1 where an end declared sound is as intended, 0 elsewhere, shape (R, B)."""
        intended = [plug.intended for plug in (self.known.near if end == "near" else self.known.far)]
        if end not in self.evidence.sound:
            return np.ones((len(rows), len(intended)))
        same = [(rows == np.array(order, dtype=np.int8)).all(axis=1) for order in intended]
        return np.stack(same, axis=1).astype(np.float64)

    def open_contacts(self, end: End) -> tuple[int, ...]:
        """Return the places of the contacts at an end that nothing is joined to."""
        side = 0 if end == "near" else 1
        contacts = self.near_contacts if end == "near" else self.far_contacts
        joined = {route[side] for route in self.evidence.routes}
        joined |= {contact for group in self.evidence.groups for contact in group[side]}
        return tuple(place for place, contact in enumerate(contacts) if contact not in joined)
