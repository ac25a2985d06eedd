"""The posterior for plugs of other sizes: every pair of orders written out."""

from itertools import combinations, permutations, product

import numpy as np

from wiremap.contact import End
from wiremap.judge.plugs.orders import Chances, Rows
from wiremap.judge.plugs.prior import chances_of
from wiremap.judge.plugs.question import ConductorBlock, Posterior, Question

MOST_SMALL_ORDERS = 120_000


class SmallEngine:
    """Every pair of orders of two plugs, with what was seen of one cable."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.known = question.known

    def _choices(self, end: End, count: int, occupied: set[int]) -> list[tuple[int, ...]]:
        """Return the sets of contacts that the conductors which do not arrive may be in."""
        floating = self.question.open_contacts(end)
        plugs = self.known.near if end == "near" else self.known.far
        expected = [place for place in floating if any(plug.intended[place] >= 0 for plug in plugs)]
        missing = count - len(occupied)
        if missing < 0:
            return []
        pool = expected if len(expected) >= missing else list(floating)
        return [tuple(sorted((*occupied, *chosen))) for chosen in combinations(pool, missing)]

    def solve(self) -> Posterior | None:
        """Return the posterior over both plugs' orders; None where nothing agrees or there are too many rows."""
        pairs = self._written_out()
        if pairs is None:
            return None
        near, far = pairs
        known, question = self.known, self.question
        habits, size = known.habits, len(known.conductors)
        ours = chances_of(near, known.near, habits.theta, habits.flat, size)
        theirs = chances_of(far, known.far, habits.theta, habits.flat, size)
        weights = np.array([one.weight for one in known.intended])
        joint = ours * theirs * weights * (1.0 - known.habit)
        for column, orders in enumerate(known.both):
            for a, b, chance in orders:
                same = (near == np.array(a, dtype=np.int8)).all(axis=1) & (far == np.array(b, dtype=np.int8)).all(
                    axis=1
                )
                joint[same, column] += weights[column] * known.habit * chance
        joint *= question.near_factor(near)[:, None] * question.sound_factor(near, "near")
        joint *= question.far_factor(far)[:, None]
        joint *= question.sound_factor(far, "far")
        total = float(joint.sum())
        if total <= 0.0:
            return None
        right = self._right(near, "near", joint) / total
        other_right = self._right(far, "far", joint) / total
        return Posterior(near, joint.sum(axis=1) / total, right, far, other_right)

    def _right(self, rows: Rows, end: End, joint: Chances) -> float:
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
        fixed: list[ConductorBlock] = [((near_names.index(a),), (far_names.index(b),)) for a, b in evidence.routes]
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
        slots: list[ConductorBlock] = []
        for near_rest, far_rest in product(
            self._choices("near", missing, occupied_near), self._choices("far", missing, occupied_far)
        ):
            blocks = [*fixed, (near_rest, far_rest)]
            for arrangement in product(*(permutations(b) for _, b in blocks)):
                slots.append((tuple(p for a, _ in blocks for p in a), tuple(p for b in arrangement for p in b)))
            if len(slots) * len(colourings) > MOST_SMALL_ORDERS:
                return None
        if not slots:
            return None
        colours = np.array(colourings, dtype=np.int8)
        near = np.full((len(slots), len(colours), len(near_names)), -1, dtype=np.int8)
        far = np.full((len(slots), len(colours), len(far_names)), -1, dtype=np.int8)
        for number, (near_places, far_places) in enumerate(slots):
            near[number][:, near_places] = colours
            far[number][:, far_places] = colours
        return near.reshape(-1, len(near_names)), far.reshape(-1, len(far_names))
