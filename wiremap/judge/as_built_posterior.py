"""The exact posterior over the orders of a plug, from the mixture of as_built_prior and what was seen.

A block is a set of near contacts and as many far contacts that share the same conductors without it being known
which belongs to which: a conductor that arrives is a block of one; open contacts, and what a short joins, are
larger ones. Within a block every assignment is possible, and the chances of all are added up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, permutations, product
from math import factorial

import numpy as np
from numpy.typing import NDArray

from wiremap.cable.colours import ColourSet
from wiremap.judge.as_built_evidence import EMPTY, Evidence, Reads, seen_as
from wiremap.judge.as_built_orders import FULL, Chances, Places, Rows, full_orders, ranks
from wiremap.judge.as_built_prior import Belief, Numbers, chances_of, is_full, table

Bools = NDArray[np.bool_]
Block = tuple[tuple[int, ...], tuple[int, ...]]
MOST_ROWS = 120_000
MOST_SHIFT_CHOICES = 24
PAIRS_WRONG_WHEN_LIKELY = 0.05


@dataclass(frozen=True)
class Posterior:
    """Chances of the orders of one plug, and of the other plug's where each goes with exactly one.

    rows: (R, contacts) conductor numbers, -1 = empty. chance: (R,), adding up to 1. other_rows: (R, contacts of
    the other plug), None where it is not determined. right: chance that this plug is as intended; other_right.
    """

    rows: Rows
    chance: Chances
    right: float
    other_rows: Rows | None
    other_right: float | None


@dataclass(frozen=True)
class _Question:
    """One belief and one evidence in numbers: what the two engines below share."""

    known: Belief
    colours: ColourSet
    evidence: Evidence

    @property
    def near_contacts(self) -> tuple[str, ...]:
        return self.known.near_plug.conductor_contacts

    @property
    def far_contacts(self) -> tuple[str, ...]:
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
        return np.where(fits, 1.0, 0.0 if self.evidence.pairs_sure else PAIRS_WRONG_WHEN_LIKELY)

    def near_factor(self, rows: Rows) -> Chances:
        """Return what eye and pairing say of near rows, shape (R,)."""
        return self.pairs_factor(rows) * self.reads_allow(rows, self.evidence.near_reads, self.near_contacts)

    def sound_factor(self, rows: Rows, end: str) -> Chances:
        """Return 1 where an end declared sound is as intended, 0 elsewhere, shape (R, B)."""
        intended = [plug.intended for plug in (self.known.near if end == "near" else self.known.far)]
        if end not in self.evidence.sound:
            return np.ones((len(rows), len(intended)))
        same = [(rows == np.array(order, dtype=np.int8)).all(axis=1) for order in intended]
        return np.stack(same, axis=1).astype(np.float64)


def _blocks(question: _Question) -> list[Block]:
    """Return the blocks of two plugs of eight: routes, shorts with as many contacts at both ends, and the rest."""
    near = {contact: place for place, contact in enumerate(question.near_contacts)}
    far = {contact: place for place, contact in enumerate(question.far_contacts)}
    blocks: list[Block] = [((near[a],), (far[b],)) for a, b in question.evidence.routes]
    for ours, theirs in question.evidence.groups:
        if len(ours) == len(theirs):
            blocks.append((tuple(sorted(near[c] for c in ours)), tuple(sorted(far[c] for c in theirs))))
    used_near = {place for ours, _ in blocks for place in ours}
    used_far = {place for _, theirs in blocks for place in theirs}
    rest = (
        tuple(place for place in near.values() if place not in used_near),
        tuple(place for place in far.values() if place not in used_far),
    )
    return [*blocks, rest] if rest[0] else blocks


def _carried(rows: Rows, blocks: list[Block]) -> Rows:
    """Return the far rows that go with near rows; within a block the conductors in rising order."""
    far = np.empty_like(rows)
    for ours, theirs in blocks:
        held = rows[:, ours]
        far[:, theirs] = held if len(ours) == 1 else np.sort(held, axis=1)
    return far


def _canonical(rows: Rows, blocks: list[Block]) -> Places:
    """Return the rank of each far row with the conductors of every block in rising order, shape (R,)."""
    sorted_rows = rows.copy()
    for _, theirs in blocks:
        if len(theirs) > 1:
            sorted_rows[:, theirs] = np.sort(rows[:, theirs], axis=1)
    return ranks(sorted_rows)


def _shift(order: Numbers, step: int) -> tuple[Numbers, int]:
    """Return a shifted order with the loose conductor standing in the empty contact, and that contact."""
    return ((order[-1], *order[:-1]), 0) if step > 0 else ((*order[1:], order[0]), len(order) - 1)


def _emptied(order: Numbers, contact: int) -> Numbers:
    return tuple(-1 if place == contact else number for place, number in enumerate(order))


@dataclass(frozen=True)
class _Extra:
    """Two orders of which one has an empty contact, and their chance; which of them is as intended."""

    near: Numbers
    far: Numbers
    chance: float
    near_right: bool
    far_right: bool


class _Full:
    """Two plugs of eight conductors: all 40 320 orders by table."""

    def __init__(self, question: _Question) -> None:
        self.question = question
        self.known = question.known
        self.blocks = _blocks(question)
        habits = self.known.habits
        opens = [c for c in range(FULL) if self._is_open("near", c)]
        self.open_count = len(opens)
        self.exact = all(len(ours) == 1 for ours, _ in self.blocks)
        rows = full_orders()
        evidence = question.evidence
        self.near = table(self.known.near, habits.theta, habits.flat)
        self.near = self.near * question.near_factor(rows)[:, None] * question.sound_factor(rows, "near")
        far = table(self.known.far, habits.theta, habits.flat)
        if evidence.far_reads or "far" in evidence.sound:
            far = far * question.reads_allow(rows, evidence.far_reads, question.far_contacts)[:, None]
            far = far * question.sound_factor(rows, "far")
        if not self.exact:
            place = _canonical(rows, self.blocks)
            far = np.stack([np.bincount(place, far[:, b], minlength=len(rows)) for b in range(far.shape[1])], axis=1)
        self.far = far
        self.weights = np.array([one.weight for one in self.known.intended])

    def _is_open(self, end: str, place: int) -> bool:
        evidence = self.question.evidence
        side = 0 if end == "near" else 1
        contacts = self.question.near_contacts if end == "near" else self.question.far_contacts
        joined = {route[side] for route in evidence.routes}
        joined |= {contact for group in evidence.groups for contact in group[side]}
        return contacts[place] not in joined

    def _agrees(self, near: Numbers, far: Numbers) -> bool:
        return all({near[a] for a in ours} == {far[f] for f in theirs} for ours, theirs in self.blocks)

    def _allowed(self, near: Numbers, far: Numbers, column: int) -> float:
        """Return what eye, pairing and declaration say of one pair of orders; -1 = an empty contact."""
        question = self.question
        ours = np.array([near], dtype=np.int8)
        theirs = np.array([far], dtype=np.int8)
        factor = float(question.near_factor(ours)[0] * question.sound_factor(ours, "near")[0, column])
        factor *= float(question.reads_allow(theirs, question.evidence.far_reads, question.far_contacts)[0])
        return factor * float(question.sound_factor(theirs, "far")[0, column])

    def solve(self) -> Posterior | None:
        """Return the posterior over the near plug's orders; None where nothing agrees with the evidence."""
        known = self.known
        rows = full_orders()
        far_rows = _carried(rows, self.blocks)
        broken = known.habits.broken**self.open_count
        joint = self.near * self.far[ranks(far_rows)]
        joint *= (1.0 - known.habit) * self.weights * broken
        for column, orders in enumerate(known.both):
            for near, far, chance in orders:
                if self._agrees(near, far):
                    scale = self.weights[column] * known.habit * chance * broken
                    joint[_rank(near), column] += scale * self._allowed(near, far, column)
        extra = self._shifts() if self.open_count else []
        total = float(joint.sum()) + sum(one.chance for one in extra)
        if total <= 0.0:
            return None
        right = sum(float(joint[_rank(plug.intended), column]) for column, plug in enumerate(known.near))
        right += sum(one.chance for one in extra if one.near_right)
        chance = joint.sum(axis=1)
        if extra:
            rows = np.concatenate([rows, np.array([one.near for one in extra], dtype=np.int8)])
            chance = np.concatenate([chance, [one.chance for one in extra]])
        if not self.exact:
            return Posterior(rows, chance / total, right / total, None, None)
        if extra:
            far_rows = np.concatenate([far_rows, np.array([one.far for one in extra], dtype=np.int8)])
        other_right = sum(
            float(joint[_rank(self._behind(plug.intended)), column]) for column, plug in enumerate(known.far)
        )
        other_right += sum(one.chance for one in extra if one.far_right)
        return Posterior(rows, chance / total, right / total, far_rows, other_right / total)

    def _behind(self, far: Numbers) -> Numbers:
        """Return a near order that goes with a far one; within a block, in rising order of contacts."""
        near = [0] * FULL
        for ours, theirs in self.blocks:
            for a, f in zip(ours, theirs, strict=True):
                near[a] = far[f]
        return tuple(near)

    def _shifts(self) -> list[_Extra]:
        found: list[_Extra] = []
        for column in range(len(self.known.intended)):
            for step in (1, -1):
                found += self._near_shifted(column, step)
                found += self._far_shifted(column, step)
                found += self._both_shifted(column, step)
        return [one for one in found if one.chance > 0.0]

    def _scale(self, column: int, shifted: float) -> float:
        habits = self.known.habits
        broken = habits.broken ** (self.open_count - 1)
        return float(self.weights[column] * (1.0 - self.known.habit) * (1.0 - habits.flat) * shifted / 2 * broken)

    def _opened(self, expected: dict[tuple[str, int], str]) -> float:
        """Return how much better the contacts that a shift leaves open explain where they were found open."""
        habits = self.known.habits
        factor = 1.0
        for one in self.question.evidence.opened:
            contacts = self.question.near_contacts if one.end == "near" else self.question.far_contacts
            place = expected.get((one.end, contacts.index(one.contact)))
            if place is not None:
                explained = 1.0 - habits.misplaced if one.place == place else habits.misplaced / 2
                factor *= explained / habits.place(one.place)
        return factor

    def _near_shifted(self, column: int, step: int) -> list[_Extra]:
        plug = self.known.near[column]
        full, empty = _shift(plug.intended, step)
        if plug.shifted == 0.0 or not self._is_open("near", empty):
            return []
        near = _emptied(full, empty)
        ours = np.array([near], dtype=np.int8)
        factor = float(self.question.near_factor(ours)[0] * self.question.sound_factor(ours, "near")[0, column])
        carried = _carried(np.array([full], dtype=np.int8), self.blocks)
        far: Numbers = tuple(int(number) for number in carried[0])
        loose = {("far", far.index(full[empty])): "near"} if self.exact else {}
        factor *= self._opened({("near", empty): "near", **loose})
        chance = self._scale(column, plug.shifted) * factor * float(self.far[ranks(carried)[0], column])
        return [_Extra(near, far, chance, False, far == self.known.far[column].intended)]

    def _far_shifted(self, column: int, step: int) -> list[_Extra]:
        plug = self.known.far[column]
        full, empty = _shift(plug.intended, step)
        choices = 1
        for ours, _ in self.blocks:
            choices *= factorial(len(ours))
        if plug.shifted == 0.0 or not self._is_open("far", empty) or choices > MOST_SHIFT_CHOICES:
            return []
        far = _emptied(full, empty)
        theirs = np.array([far], dtype=np.int8)
        question = self.question
        factor = float(question.reads_allow(theirs, question.evidence.far_reads, question.far_contacts)[0])
        factor *= float(question.sound_factor(theirs, "far")[0, column])
        found = []
        for arrangement in product(*(permutations(theirs) for _, theirs in self.blocks)):
            arranged = list(full)
            for (_, places), source in zip(self.blocks, arrangement, strict=True):
                for place, other in zip(places, source, strict=True):
                    arranged[place] = full[other]
            near = self._behind(tuple(arranged))
            loose = {("near", near.index(full[empty])): "far"} if self.exact else {}
            weight = self._opened({("far", empty): "far", **loose}) * float(self.near[_rank(near), column])
            chance = self._scale(column, plug.shifted) * factor * weight
            found.append(_Extra(near, far, chance, near == self.known.near[column].intended, False))
        return found

    def _both_shifted(self, column: int, step: int) -> list[_Extra]:
        known = self.known
        near_full, near_empty = _shift(known.near[column].intended, step)
        far_full, far_empty = _shift(known.far[column].intended, step)
        fits = self._is_open("near", near_empty) and self._is_open("far", far_empty)
        if not fits or not self._agrees(near_full, far_full):
            return []
        near, far = _emptied(near_full, near_empty), _emptied(far_full, far_empty)
        broken = known.habits.broken ** (self.open_count - 1)
        chance = self.weights[column] * known.habit * known.both_shifted[column] / 2 * broken
        factor = self._allowed(near, far, column)
        factor *= self._opened({("near", near_empty): "near", ("far", far_empty): "far"})
        return [_Extra(near, far, float(chance) * factor, False, False)]


class _Small:
    """Plugs of other sizes: every pair of orders written out."""

    def __init__(self, question: _Question) -> None:
        self.question = question
        self.known = question.known

    def _choices(self, end: str, count: int, occupied: set[int]) -> list[tuple[int, ...]]:
        """Return the sets of contacts that the conductors which do not arrive may be in."""
        side = 0 if end == "near" else 1
        contacts = self.question.near_contacts if end == "near" else self.question.far_contacts
        evidence = self.question.evidence
        joined = {contacts.index(route[side]) for route in evidence.routes}
        joined |= {contacts.index(contact) for group in evidence.groups for contact in group[side]}
        floating = [place for place in range(len(contacts)) if place not in joined]
        plugs = self.known.near if end == "near" else self.known.far
        expected = [place for place in floating if any(plug.intended[place] >= 0 for plug in plugs)]
        missing = count - len(occupied)
        if missing < 0:
            return []
        pool = expected if len(expected) >= missing else floating
        return [tuple(sorted((*occupied, *chosen))) for chosen in combinations(pool, missing)]

    def solve(self) -> Posterior | None:
        """Return the posterior over both plugs' orders; None where nothing agrees or there are too many rows."""
        pairs = self._written_out()
        if pairs is None:
            return None
        near, far = pairs
        known, question, evidence = self.known, self.question, self.question.evidence
        habits, size = known.habits, len(known.conductors)
        ours = chances_of(near, known.near, habits.theta, habits.flat, size)
        theirs = chances_of(far, known.far, habits.theta, habits.flat, size)
        weights = np.array([one.weight for one in known.intended])
        joint = ours * theirs * weights * (1.0 - known.habit)
        for column, orders in enumerate(known.both):
            for a, b, chance in orders:
                same = (near == np.array(a, dtype=np.int8)).all(axis=1) & (far == np.array(b, dtype=np.int8)).all(axis=1)
                joint[same, column] += weights[column] * known.habit * chance
        joint *= question.near_factor(near)[:, None] * question.sound_factor(near, "near")
        joint *= question.reads_allow(far, evidence.far_reads, question.far_contacts)[:, None]
        joint *= question.sound_factor(far, "far")
        total = float(joint.sum())
        if total <= 0.0:
            return None
        right = self._right(near, "near", joint) / total
        other_right = self._right(far, "far", joint) / total
        return Posterior(near, joint.sum(axis=1) / total, right, far, other_right)

    def _right(self, rows: Rows, end: str, joint: Chances) -> float:
        plugs = self.known.near if end == "near" else self.known.far
        return sum(
            float(joint[(rows == np.array(plug.intended, dtype=np.int8)).all(axis=1), column].sum())
            for column, plug in enumerate(plugs)
        )

    def _written_out(self) -> tuple[Rows, Rows] | None:
        """Return (near rows, far rows), line by line together, of everything that agrees with what is joined."""
        near_names, far_names = self.question.near_contacts, self.question.far_contacts
        size = len(self.known.conductors)
        evidence = self.question.evidence
        fixed = [((near_names.index(a),), (far_names.index(b),)) for a, b in evidence.routes]
        occupied_near: set[int] = set()
        occupied_far: set[int] = set()
        for ours, theirs in evidence.groups:
            a, b = [near_names.index(c) for c in ours], [far_names.index(c) for c in theirs]
            if len(a) == len(b):
                fixed.append((tuple(a), tuple(b)))
            else:
                occupied_near.update(a)
                occupied_far.update(b)
        missing = size - sum(len(a) for a, _ in fixed)
        if missing < 0:
            return None
        colourings = list(permutations(range(size)))
        slots: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
        for near_rest, far_rest in product(
            self._choices("near", missing, occupied_near), self._choices("far", missing, occupied_far)
        ):
            blocks = [*fixed, (near_rest, far_rest)]
            for arrangement in product(*(permutations(b) for _, b in blocks)):
                slots.append((tuple(p for a, _ in blocks for p in a), tuple(p for b in arrangement for p in b)))
            if len(slots) * len(colourings) > MOST_ROWS:
                return None
        if not slots:
            return None
        colours = np.array(colourings, dtype=np.int8)
        near = np.full((len(slots), len(colours), len(near_names)), -1, dtype=np.int8)
        far = np.full((len(slots), len(colours), len(far_names)), -1, dtype=np.int8)
        for number, (a, b) in enumerate(slots):
            near[number][:, a] = colours
            far[number][:, b] = colours
        return near.reshape(-1, len(near_names)), far.reshape(-1, len(far_names))


def _rank(order: Numbers) -> int:
    return int(ranks(np.array([order], dtype=np.int8))[0])


def posterior(known: Belief, colours: ColourSet, evidence: Evidence) -> Posterior | None:
    """Return the posterior over the near plug's orders, and the far plug's where they are determined.

    None where no order agrees with the evidence, or where there are too many to write out.
    """
    question = _Question(known, colours, evidence)
    return _Full(question).solve() if is_full(known) else _Small(question).solve()
