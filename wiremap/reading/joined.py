"""Whether two contacts count as joined, decided here alone, and which contacts hang together then.

Who asks says up to how many ohms; limits.toml has the limits of judging with their reasons. Contacts are indices in the
order of the matrix that is given.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import combinations
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from wiremap.reading.reading import Ohm

T = TypeVar("T")
Joined = frozenset[tuple[int, int]] | None  # contacts (a, b), a < b; None = the tester refused, a voltage is there
MEANING = {None: math.nan, "open": math.inf, "joined": 0.0}


def ohms(rows: "Sequence[Sequence[Ohm]]") -> list[list[float]]:
    """Return a Reading's matrix as numbers, [n][n]: NaN = not measured, inf = open, 0 = joined, ohms unknown."""
    return [[MEANING[v] if v is None or isinstance(v, str) else v for v in row] for row in rows]


def is_joined(value: "Ohm", most_ohm: float) -> bool:
    """Whether what was measured between two contacts joins them: at most so many ohms, or joined with ohms unknown.

    Neither what is open (or infinite) does, nor what was not measured (None, NaN).
    """
    return value == "joined" or (isinstance(value, int | float) and value <= most_ohm)


def joined_pairs(rows: "Sequence[Sequence[Ohm]]", most_ohm: float) -> frozenset[tuple[int, int]]:
    """Return every two contacts (a, b), a < b, that are joined themselves, not through others."""
    return frozenset((a, b) for a, b in combinations(range(len(rows)), 2) if is_joined(rows[a][b], most_ohm))


def nets(count: int, joined: Iterable[tuple[int, int]]) -> list[int]:
    """Return for each of so many contacts the lowest contact of its net: the transitive closure of joined.

    After Warshall, the contacts that each contact reaches being one integer with a bit for each.
    """
    reach = [1 << contact for contact in range(count)]
    for a, b in joined:
        reach[a] |= 1 << b
        reach[b] |= 1 << a
    for pivot in range(count):
        through = reach[pivot]
        reach = [bits | through if bits >> pivot & 1 else bits for bits in reach]
    return [(bits & -bits).bit_length() - 1 for bits in reach]


def by_net(things: Iterable[T], labels: Iterable[int]) -> dict[int, list[T]]:
    """Return the things of each net, in their order, by its label; labels: of each thing, as `nets` gives them."""
    members: dict[int, list[T]] = {}
    for thing, label in zip(things, labels, strict=True):
        members.setdefault(label, []).append(thing)
    return members
