"""The posterior for two plugs of eight conductors, over all 40 320 orders by table.

A block is a set of near contacts and as many far contacts that share the same conductors without it being known
which belongs to which: a conductor that arrives is a block of one; open contacts, and what a short joins, are
larger ones. Within a block every assignment is possible, and the chances of all are added up.
"""

from collections.abc import Iterator
from functools import lru_cache
from itertools import permutations, product
from math import factorial, prod

import numpy as np
from msgspec import Struct

from wiremap.judge.plugs.orders import FULL, Chances, Places, Rows, full_orders, rank, ranks
from wiremap.judge.plugs.prior import Numbers, table
from wiremap.judge.plugs.question import Bools, ConductorBlock, Posterior, Question

MOST_SHIFT_CHOICES = 24
MOST_ARRANGED = 3_000  # orders of both plugs that are written out where a short hides what belongs together


def _blocks(question: Question) -> list[ConductorBlock]:
    """Return the blocks of two plugs of eight: routes, shorts with as many contacts at both ends, and the rest."""
    near = {contact: place for place, contact in enumerate(question.near_contacts)}
    far = {contact: place for place, contact in enumerate(question.far_contacts)}
    blocks: list[ConductorBlock] = [((near[a],), (far[b],)) for a, b in question.evidence.routes]
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


def _carried(rows: Rows, blocks: list[ConductorBlock]) -> Rows:
    """Return the far rows that go with near rows; within a block the conductors in rising order."""
    far = np.empty_like(rows)
    for ours, theirs in blocks:
        if len(ours) == 1:
            far[:, theirs[0]] = rows[:, ours[0]]
        else:
            far[:, theirs] = _rising(rows, ours)
    return far


def _rising(rows: Rows, places: tuple[int, ...]) -> Rows:
    """Return the conductors in some contacts, in rising order, shape (R, places)."""
    if len(places) == 2:
        first, second = rows[:, places[0]], rows[:, places[1]]
        return np.stack([np.minimum(first, second), np.maximum(first, second)], axis=1)
    return np.sort(rows[:, places], axis=1)


@lru_cache(maxsize=8)
def _canonical(sides: tuple[tuple[int, ...], ...]) -> Places:
    """Return the rank of every order with the conductors of each set of contacts in rising order, shape (40320,)."""
    rows = full_orders()
    found = rows.copy(order="K")
    for places in sides:
        found[:, places] = _rising(rows, places)
    return ranks(found)


def _sorted(rows: Rows, blocks: list[ConductorBlock]) -> Rows:
    found = rows.copy(order="K")
    for _, theirs in blocks:
        if len(theirs) > 1:
            found[:, theirs] = _rising(rows, theirs)
    return found


def _shift(order: Numbers, step: int) -> tuple[Numbers, int]:
    """Return a shifted order with the loose conductor standing in the empty contact, and that contact."""
    return ((order[-1], *order[:-1]), 0) if step > 0 else ((*order[1:], order[0]), len(order) - 1)


def _emptied(order: Numbers, contact: int) -> Numbers:
    return tuple(-1 if place == contact else number for place, number in enumerate(order))


class _Extra(Struct, frozen=True):
    """Two orders of which one has an empty contact, and their chance; which of them is as intended."""

    near: Numbers
    far: Numbers
    chance: float
    near_right: bool
    far_right: bool


class FullEngine:
    """All orders of two plugs of eight, with what was seen of one cable."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.known = question.known
        self.blocks = _blocks(question)
        habits = self.known.habits
        self.opens = {"near": question.open_contacts("near"), "far": question.open_contacts("far")}
        self.open_count = len(self.opens["near"])
        self.exact = all(len(ours) == 1 for ours, _ in self.blocks)
        rows = full_orders()
        evidence = question.evidence
        self.near = table(self.known.near, habits.theta, habits.flat)
        if evidence.near_reads or evidence.pairs or "near" in evidence.sound:
            self.near = self.near * question.near_factor(rows)[:, None] * question.sound_factor(rows, "near")
        far = table(self.known.far, habits.theta, habits.flat)
        if evidence.far_reads or "far" in evidence.sound:
            far = far * question.far_factor(rows)[:, None] * question.sound_factor(rows, "far")
        self.far_alone = far
        if not self.exact:
            place = _canonical(tuple(sorted(theirs for _, theirs in self.blocks if len(theirs) > 1)))
            far = np.stack([np.bincount(place, far[:, b], minlength=len(rows)) for b in range(far.shape[1])], axis=1)
        self.far = far
        self.weights = np.array([one.weight for one in self.known.intended])

    def _agree(self, near: Rows, far: Rows) -> Bools:
        """Return which near and far orders go together by what is joined, shape (R,)."""
        carried = _carried(near, self.blocks)
        return np.asarray((carried == _sorted(far, self.blocks)).all(axis=1))

    def _allowed(self, near: Rows, far: Rows, column: int) -> Chances:
        """Return what eye, pairing and declaration say of near and far orders together, shape (R,)."""
        question = self.question
        ours = question.near_factor(near) * question.sound_factor(near, "near")[:, column]
        theirs = question.far_factor(far) * question.sound_factor(far, "far")[:, column]
        return ours * theirs

    def _habits_at_both(self) -> Iterator[tuple[int, Places, Places, Chances]]:
        """Yield for each intended order the near and far orders that one habit makes, as ranks, and their chances."""
        broken = self.known.habits.broken**self.open_count
        for column, orders in enumerate(self.known.both):
            near, far, near_ranks, far_ranks, chance = _as_rows(orders)
            share = chance * self._agree(near, far) * self._allowed(near, far, column)
            yield column, near_ranks, far_ranks, share * self.weights[column] * self.known.habit * broken

    def solve(self, together: bool = True) -> Posterior | None:
        """Return the posterior over the near plug's orders; None where nothing agrees with the evidence.

        together: whether the likeliest orders of both plugs are worked out where the far one is not determined.
        """
        known = self.known
        rows = full_orders()
        far_rows = _carried(rows, self.blocks)
        broken = known.habits.broken**self.open_count
        joint = self.far[ranks(far_rows)]
        joint *= self.near
        joint *= (1.0 - known.habit) * self.weights * broken
        for column, places, _, share in self._habits_at_both():
            np.add.at(joint[:, column], places, share)
        extra = self._shifts() if self.open_count else []
        total = float(joint.ravel() @ np.ones(joint.size)) + sum(one.chance for one in extra)
        if total <= 0.0:
            return None
        right = sum(float(joint[rank(plug.intended), column]) for column, plug in enumerate(known.near))
        right += sum(one.chance for one in extra if one.near_right)
        chance: Chances = joint @ np.ones(joint.shape[1])
        if extra:
            rows = np.concatenate([rows, np.array([one.near for one in extra], dtype=np.int8)])
            chance = np.concatenate([chance, np.array([one.chance for one in extra])])
        if not self.exact:
            likeliest = self._likeliest(joint, extra, total) if together else None
            return Posterior(rows, chance / total, right / total, None, None, likeliest)
        if extra:
            far_rows = np.concatenate([far_rows, np.array([one.far for one in extra], dtype=np.int8)])
        other_right = sum(
            float(joint[rank(self._behind(plug.intended)), column]) for column, plug in enumerate(known.far)
        )
        other_right += sum(one.chance for one in extra if one.far_right)
        return Posterior(rows, chance / total, right / total, far_rows, other_right / total)

    def _likeliest(self, joint: Chances, extra: list[_Extra], total: float) -> tuple[Numbers, Numbers, float] | None:
        """Return the likeliest orders of both plugs together, and their chance, of those likeliest at the near one."""
        arrangements = prod(factorial(len(ours)) for ours, _ in self.blocks)
        count = MOST_ARRANGED // arrangements
        if count < 1:
            return None
        best = np.argpartition(-joint.sum(axis=1), count)[:count] if count < len(joint) else np.arange(len(joint))
        near = np.repeat(full_orders()[best], arrangements, axis=0)
        far = _carried(near, self.blocks)
        for number, arranged in enumerate(product(*(permutations(theirs) for _, theirs in self.blocks))):
            for (ours, _), theirs in zip(self.blocks, arranged, strict=True):
                far[number::arrangements, theirs] = near[number::arrangements, ours]
        known = self.known
        near_ranks, far_ranks = ranks(near), ranks(far)
        alone = self.near[near_ranks] * self.far_alone[far_ranks] * self.weights
        chance = alone.sum(axis=1) * (1.0 - known.habit) * known.habits.broken**self.open_count
        where = {pair: place for place, pair in enumerate(zip(near_ranks.tolist(), far_ranks.tolist(), strict=True))}
        for _, nears, fars, shares in self._habits_at_both():
            for a, b, share in zip(nears.tolist(), fars.tolist(), shares.tolist(), strict=True):
                if share and (a, b) in where:
                    chance[where[a, b]] += share
        place = int(chance.argmax())
        found = [(_numbers(near[place]), _numbers(far[place]), float(chance[place]) / total)]
        found += [(one.near, one.far, one.chance / total) for one in extra]
        return max(found, key=lambda one: one[2])

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
                found += [self._each_shifted(column, step, other) for other in (1, -1)]
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
        if plug.shifted == 0.0 or empty not in self.opens["near"]:
            return []
        near = _emptied(full, empty)
        ours = np.array([near], dtype=np.int8)
        factor = float(self.question.near_factor(ours)[0] * self.question.sound_factor(ours, "near")[0, column])
        carried = _carried(np.array([full], dtype=np.int8), self.blocks)
        far = _numbers(carried[0])
        loose = {("far", far.index(full[empty])): "near"} if self.exact else {}
        factor *= self._opened({("near", empty): "near", **loose})
        chance = self._scale(column, plug.shifted) * factor * float(self.far[rank(far), column])
        return [_Extra(near, far, chance, False, far == self.known.far[column].intended)]

    def _far_shifted(self, column: int, step: int) -> list[_Extra]:
        plug = self.known.far[column]
        full, empty = _shift(plug.intended, step)
        choices = prod(factorial(len(ours)) for ours, _ in self.blocks)
        if plug.shifted == 0.0 or empty not in self.opens["far"] or choices > MOST_SHIFT_CHOICES:
            return []
        far = _emptied(full, empty)
        theirs = np.array([far], dtype=np.int8)
        factor = float(self.question.far_factor(theirs)[0] * self.question.sound_factor(theirs, "far")[0, column])
        nears = self._all_behind(full)
        chances = self.near[ranks(np.array(nears, dtype=np.int8)), column]
        found = []
        for near, chance in zip(nears, chances.tolist(), strict=True):
            loose = {("near", near.index(full[empty])): "far"} if self.exact else {}
            weight = self._scale(column, plug.shifted) * factor * self._opened({("far", empty): "far", **loose})
            found.append(_Extra(near, far, weight * chance, near == self.known.near[column].intended, False))
        return found

    def _all_behind(self, far: Numbers) -> list[Numbers]:
        """Return every near order that goes with a far one."""
        found = []
        for arrangement in product(*(permutations(theirs) for _, theirs in self.blocks)):
            arranged = list(far)
            for (_, places), source in zip(self.blocks, arrangement, strict=True):
                for place, other in zip(places, source, strict=True):
                    arranged[place] = far[other]
            found.append(self._behind(tuple(arranged)))
        return found

    def _both_shifted(self, column: int, step: int) -> list[_Extra]:
        known = self.known
        near_full, near_empty = _shift(known.near[column].intended, step)
        far_full, far_empty = _shift(known.far[column].intended, step)
        rows = [np.array([order], dtype=np.int8) for order in (near_full, far_full)]
        fits = near_empty in self.opens["near"] and far_empty in self.opens["far"]
        if not fits or not self._agree(*rows)[0]:
            return []
        near, far = _emptied(near_full, near_empty), _emptied(far_full, far_empty)
        broken = known.habits.broken ** (self.open_count - 1)
        chance = self.weights[column] * known.habit * known.both_shifted[column] / 2 * broken
        factor = float(self._allowed(np.array([near], dtype=np.int8), np.array([far], dtype=np.int8), column)[0])
        factor *= self._opened({("near", near_empty): "near", ("far", far_empty): "far"})
        return [_Extra(near, far, float(chance) * factor, False, False)]

    def _each_shifted(self, column: int, near_step: int, far_step: int) -> _Extra:
        """Return both plugs shifted, each by itself."""
        known = self.known
        near_plug, far_plug = known.near[column], known.far[column]
        near_full, near_empty = _shift(near_plug.intended, near_step)
        far_full, far_empty = _shift(far_plug.intended, far_step)
        near, far = _emptied(near_full, near_empty), _emptied(far_full, far_empty)
        broken = self._broken(near, far)
        if broken is None:
            return _Extra(near, far, 0.0, False, False)
        shifted = near_plug.shifted / 2 * far_plug.shifted / 2 * (1.0 - known.habits.flat) ** 2
        chance = self.weights[column] * (1.0 - known.habit) * shifted * known.habits.broken**broken
        ours, theirs = (np.array([row], dtype=np.int8) for row in (near, far))
        chance *= float(self._allowed(ours, theirs, column)[0])
        chance *= self._opened({("near", near_empty): "near", ("far", far_empty): "far"})
        return _Extra(near, far, float(chance), False, False)

    def _broken(self, near: Numbers, far: Numbers) -> int | None:
        """Return how many conductors in both plugs do not arrive; None where routes or shorts say otherwise."""
        evidence = self.question.evidence
        routes = self.blocks[: len(evidence.routes)]
        if evidence.groups or any(near[a] != far[b] or near[a] < 0 for (a,), (b,) in routes):
            return None
        return sum(near[place] >= 0 and near[place] in far for place in self.opens["near"])


@lru_cache(maxsize=32)
def _as_rows(orders: tuple[tuple[Numbers, Numbers, float], ...]) -> tuple[Rows, Rows, Places, Places, Chances]:
    """Return near orders, far orders, the ranks of both and chances as arrays, a row for each."""
    nears, fars, chance = zip(*orders, strict=True)
    near, far = np.array(nears, dtype=np.int8), np.array(fars, dtype=np.int8)
    return near, far, ranks(near), ranks(far), np.array(chance)


def _numbers(row: Rows) -> Numbers:
    return tuple(int(number) for number in row)
