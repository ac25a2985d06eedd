"""Cables as capacitances between the conductors at the jacks, for decks.

Farads a metre from the cross-sections of a four-pair cable, unscreened and with a foil, each conductor's capacitance
to its mate, to the nearer and the farther of the other pairs, and to what surrounds the cable: the room, or the foil.
"""

from collections.abc import Iterator
from dataclasses import dataclass

PAIRS = (("1", "2"), ("3", "6"), ("4", "5"), ("7", "8"))  # around the cable: the first is opposite the third


@dataclass(frozen=True)
class Sort:
    """Direct capacitances, pF a metre."""

    mate: float
    nearer: float
    opposite: float
    around: float


UTP = Sort(34.8, 5.61, 0.78, 3.44)
FOIL = Sort(27.2, 3.69, 0.54, 27.3)
# The same of the first conductor as the design's own decks have them: figures that are said are said of these.
SAID_UTP = Sort(35.13, 5.64, 0.78, 3.62)
SAID_FOIL = Sort(27.58, 3.72, 0.54, 27.76)


def direct(sort: Sort, a: str, b: str) -> float:
    """Return the direct capacitance between two conductors, pF a metre."""
    (first,) = (place for place, pair in enumerate(PAIRS) if a in pair)
    (second,) = (place for place, pair in enumerate(PAIRS) if b in pair)
    if first == second:
        return sort.mate
    return sort.opposite if abs(first - second) == 2 else sort.nearer


def cable(sort: Sort, metres: float, around: str, ohm: float = 1e-3, far: bool = True) -> str:
    """Return a cable between the jacks, its surroundings on a node; far: its far plug is in."""
    return "\n".join(_lines(sort, metres, around, ohm, far))


def _lines(sort: Sort, metres: float, around: str, ohm: float, far: bool) -> Iterator[str]:
    names = [name for pair in PAIRS for name in pair]
    for place, a in enumerate(names):
        yield f"c_{a}_around N{a} {around} {sort.around * metres}p"
        yield f"r_{a}_run N{a} {f'F{a}' if far else f'{a}_end'} {ohm}"
        for b in names[place + 1 :]:
            yield f"c_{a}_{b} N{a} N{b} {direct(sort, a, b) * metres}p"
