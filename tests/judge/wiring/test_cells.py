import math

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.judge.run.nodal import two_terminal
from wiremap.cable.limits import limits
from wiremap.judge.wiring.cells import Cell, Resistor, cells, joints, without_resistors
from wiremap.reading.joined import nets

TERMINATOR = ((54.0, 66.0), (108.0, 132.0))


@pytest.mark.parametrize(
    ("ohm", "conductor", "other"),
    [
        (0.0, Cell.JOINED, Cell.JOINED),
        (200.0, Cell.JOINED, Cell.JOINED),
        (200.1, Cell.HIGH_RESISTANCE, Cell.LEAKAGE),
        (10_000.0, Cell.HIGH_RESISTANCE, Cell.LEAKAGE),
        (10_000.1, Cell.LEAKAGE, Cell.LEAKAGE),
        (999_999.0, Cell.LEAKAGE, Cell.LEAKAGE),
        (1_000_000.0, None, None),
        (math.inf, None, None),
        (math.nan, None, None),
    ],
)
def test_cells_by_ohms(ohm: float, conductor: Cell | None, other: Cell | None) -> None:
    """Up to 200 ohm joins; up to 10 kohm only an expected conductor is joined; up to 1 Mohm is leakage; above open."""
    found = cells([[ohm] * 3] * 3, (1, 0, -1), limits())
    assert found.get((0, 1)) == conductor
    assert found.get((0, 2)) == found.get((1, 2)) == other


def bus(four: float, five: float, near: float = math.inf, far: float = math.inf) -> NDArray[np.float64]:
    """Return the ohms between near 4, near 5, far 4, far 5: two conductors and a resistor across each end."""
    parts = [(0, 2, four), (1, 3, five), (0, 1, near), (2, 3, far)]
    return two_terminal(4, [part for part in parts if part[2] < math.inf])


def seen_with_resistors(matrix: NDArray[np.float64], near: bool = True, far: bool = True) -> list[int]:
    """Return the nets of the bus when a terminator is expected at these ends."""
    ohm = matrix.tolist()
    resistors = [Resistor(0, 1, TERMINATOR)] * near + [Resistor(2, 3, TERMINATOR)] * far
    found = without_resistors(ohm, cells(ohm, (2, 3, 0, 1), limits()), resistors)
    return nets(4, joints(found))


@pytest.mark.parametrize(
    "ohm",
    [
        bus(0.2, 0.2, near=120),
        bus(0.2, 0.2, far=60),
        bus(5.0, 5.0, near=120, far=120),
        bus(0.2, 62.0, near=60),
        bus(62.0, 0.2, far=60),
        bus(100.0, 0.2, near=60),
        bus(0.2, 500.0, near=120),
    ],
)
def test_an_expected_resistance_joins_nothing(ohm: NDArray[np.float64]) -> None:
    """A terminator of 60 or 120 ohm that is expected leaves the two conductors apart, poor contacts or not."""
    assert seen_with_resistors(ohm) == [0, 1, 0, 1]


@pytest.mark.parametrize(
    ("ohm", "labels"),
    [
        (bus(0.2, 0.2, near=0.1), [0, 0, 0, 0]),
        (bus(0.2, 0.2, near=40), [0, 0, 0, 0]),
        (bus(0.2, 0.2, near=80), [0, 0, 0, 0]),
        (bus(math.inf, 0.2, near=120), [0, 1, 2, 1]),
        (bus(math.inf, 0.2, far=120), [0, 1, 2, 1]),
        (bus(math.inf, math.inf, near=120), [0, 1, 2, 3]),
    ],
)
def test_other_resistances_join(ohm: NDArray[np.float64], labels: list[int]) -> None:
    """A short or a resistance that is not one of those expected joins, and an open conductor stays open."""
    assert seen_with_resistors(ohm) == labels


def test_a_resistance_at_the_other_end_is_no_excuse() -> None:
    """120 ohm between two contacts of which only the other end's may carry it joins where no conductor leads there."""
    ohm = bus(math.inf, math.inf, near=120)
    assert seen_with_resistors(ohm, near=False) == [0, 0, 2, 3]


def test_reversed_wires_with_a_terminator_are_still_seen() -> None:
    """With 4 and 5 exchanged and a terminator at the near end, near 4 is with far 5."""
    ohm = two_terminal(4, [(0, 3, 0.2), (1, 2, 0.2), (0, 1, 120.0)])
    assert seen_with_resistors(ohm) == [0, 1, 1, 0]
