"""Steady voltages of a resistor network, and how a network of resistors and capacitors settles to them."""

import sys
from array import array

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import TypeVar

    Function = TypeVar("Function")
    Row = Sequence[float]
    Rows = Sequence[Row]

MOST_SQUARES = 8  # squares of a step; longer waits take several of the longest

if sys.implementation.name != "micropython":
    from operator import mul

    class micropython:  # noqa: N801  the compiler's own word there, which no import gives
        """Stands in where nothing compiles to the machine's own code."""

        @staticmethod
        def native(function: "Function") -> "Function":
            """Leave a function as it is."""
            return function


def steady(links: "list[dict[int, float]]", ground: "list[float]", driven: "list[float]") -> "list[float]":
    """Return the voltage of every node.

    links: for each node what joins it to others, uS; used up. ground: what joins it to fixed voltages, uS, and
    driven: the sum of each such times its voltage, uA; both are changed. Nodes are taken out one after the other, which
    only adds and divides, so that milliohms beside gigohms lose nothing.
    """
    taken = []
    for node in range(len(links)):
        star = links[node]
        total = ground[node]
        for us in star.values():
            total += us
        taken.append((star, total))
        for one, us in star.items():
            others = links[one]
            del others[node]
            share = us / total
            ground[one] += share * ground[node]
            driven[one] += share * driven[node]
            for two, beyond in star.items():
                if two != one:
                    others[two] = others.get(two, 0.0) + share * beyond
    volts = [0.0] * len(links)
    for node in range(len(links) - 1, -1, -1):
        star, total = taken[node]
        current = driven[node]
        for one, us in star.items():
            current += us * volts[one]
        volts[node] = current / total
    return volts


def _product(a: "Rows", b: "Rows") -> "Rows":
    columns = list(zip(*b))
    return [array("d", [sum(map(mul, row, column)) for column in columns]) for row in a]


def _applied(matrix: "Rows", vector: "Row") -> "Row":
    return [sum(map(mul, row, vector)) for row in matrix]


def _cleared(rows: "list[array[float]]", at: int) -> None:
    """Take one row, divided by what it has there, off all others as often as they have of it."""
    pivot = rows[at][at]
    head = rows[at] = array("d", [value / pivot for value in rows[at]])
    for n, row in enumerate(rows):
        factor = row[at]
        if n != at and factor != 0.0:
            rows[n] = array("d", [value - factor * over for value, over in zip(row, head)])


@micropython.native
def _plain_product(a: "Rows", b: "Rows") -> "Rows":
    """Do what _product does, in the same order, as the MicroPython VM's compiler wants it."""
    size = len(a)
    found = []
    for row in a:
        made = array("d", row)
        j = 0
        while j < size:
            total = 0.0
            k = 0
            while k < size:
                total += row[k] * b[k][j]
                k += 1
            made[j] = total
            j += 1
        found.append(made)
    return found


@micropython.native
def _plain_applied(matrix: "Rows", vector: "Row") -> "Row":
    """Do what _applied does, likewise."""
    size = len(matrix)
    found = []
    for row in matrix:
        total = 0.0
        k = 0
        while k < size:
            total += row[k] * vector[k]
            k += 1
        found.append(total)
    return found


@micropython.native
def _plain_cleared(rows: "list[array[float]]", at: int) -> None:
    """Do what _cleared does, likewise."""
    head = rows[at]
    width = len(head)
    pivot = head[at]
    k = 0
    while k < width:
        head[k] = head[k] / pivot
        k += 1
    n = 0
    for row in rows:
        factor = row[at]
        if n != at and factor != 0.0:
            k = 0
            while k < width:
                row[k] = row[k] - factor * head[k]
                k += 1
        n += 1


product, applied, cleared = (
    (_plain_product, _plain_applied, _plain_cleared)
    if sys.implementation.name == "micropython"
    else (_product, _applied, _cleared)
)


def inverse(matrix: "Rows") -> "Rows":
    """Return the inverse of a square matrix whose diagonal outweighs the rest, as conductances and capacitances do."""
    size = len(matrix)
    rows = [array("d", list(row) + [1.0 if k == n else 0.0 for k in range(size)]) for n, row in enumerate(matrix)]
    for at in range(size):
        cleared(rows, at)
    return [array("d", list(row)[size:]) for row in rows]


class Settling:
    """How far off the steady state one is after a time, from how far off at first.

    rates: C^-1 G, per microsecond. step_us: the shortest time that is followed. A step is 1/(1 + x + x^2/2 + x^3/6 +
    x^4/24) of the rates x in it, which no rate makes swing; longer times are its squares, made when first asked for.
    """

    def __init__(self, rates: "Rows", step_us: int = 1) -> None:
        first = [array("d", [step_us * value for value in row]) for row in rates]
        second = product(first, first)
        third, fourth = product(second, first), product(second, second)
        size = range(len(rates))
        series = [
            [
                (1.0 if i == j else 0.0) + first[i][j] + second[i][j] / 2 + third[i][j] / 6 + fourth[i][j] / 24
                for j in size
            ]
            for i in size
        ]
        self._ladder = [inverse(series)]

    def after(self, off: "Row", steps: int) -> "Row":
        """Return how far off every node is after so many steps."""
        rung = 0
        while steps:
            if rung == MOST_SQUARES:
                times, steps = steps, 0
            else:
                times, steps = steps & 1, steps >> 1
            if rung == len(self._ladder):
                self._ladder.append(product(self._ladder[-1], self._ladder[-1]))
            for _ in range(min(times, 1000)):
                off = applied(self._ladder[rung], off)
            rung += 1
        return off
